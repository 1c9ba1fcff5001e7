"""Changes of the collector in use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ductcalc.findings.subject import Subject
from ductcalc.shop.change import Change
from ductcalc.shop.names import key_of
from ductcalc.shop.shop import Collector, Shop


def collector_changed(subject: Subject, label: str, change: Callable[[Collector], Collector]) -> Change:
    """Return a change of the collector at which the ducts end."""
    name = key_of(subject.collector.collector.name)

    def apply(shop: Shop) -> Shop:
        return replace(shop, collectors=tuple(change(c) if key_of(c.name) == name else c for c in shop.collectors))

    return Change(label, apply)
