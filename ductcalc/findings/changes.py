"""Changes that rules try: the next size that is sold, another collector."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import inf

from ductcalc.catalog import is_adapter, sizes_for
from ductcalc.findings.subject import Subject
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.change import Change
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Run
from ductcalc.shop.shop import Collector, Shop
from ductcalc.shop.standing import in_run, run_named, standing


def next_up(shop: Shop, bore_m: float) -> float | None:
    """Return the next larger size [m] sold; None beyond the largest."""
    return next((size for size in sizes_for(shop) if size > bore_m and not is_adapter(size, bore_m)), None)


def resized(run: str, places: Sequence[int], size_m: float, label: str) -> Change:
    """Give the pieces at some places of a run another bore [m]."""
    chosen = set(places)

    def apply(shop: Shop) -> Shop:
        pieces = [
            replace(one.piece, size_m=size_m) if one.place in chosen else one.piece
            for one in standing(run_named(shop, run))
        ]
        return in_run(shop, run, pieces)

    return Change(label, apply)


def drop_places(run: Run) -> list[int]:
    """Return the places of a run's first pieces that have the bore of its port: port, hose, gate, up to the step."""
    found: list[int] = []
    for one in standing(run):
        other = isinstance(one.bore_m, Rectangle) or one.bore_m > run_bore(run) * 1.0001
        if one.piece.traits.ends_stretch or one.piece.kind == "reducer" or other:
            break
        found.append(one.place)
    return found


def _bore_behind(subject: Subject, run: Run) -> float:
    """Return the bore [m] of the duct that a run's drop leads into: what follows in the run, else the wye it joins.

    A drop that is all there is up to the collector has no main to fit.
    """
    behind = run.pieces[len(drop_places(run)) :]
    if not behind:
        joined, place = subject.joined_at[key_of(run.name)]
        behind = joined.pieces[place:]
    bore = behind[0].size_m
    assert bore is not None
    return inf if behind[0].kind == "collector" else bore


def run_bore(run: Run) -> float:
    """Return the bore [m] that a spelled out run starts with."""
    bore = run.pieces[0].size_m
    assert bore is not None
    return bore


def widened_drop(subject: Subject, name: str) -> tuple[Change, float] | None:
    """Return the change that gives a run's port and what follows in its bore the next size, and that size [m].

    None where nothing larger is sold, or where it would be wider than the duct that it leads into.
    """
    run = run_named(subject.shop, name)
    size_m = next_up(subject.shop, run_bore(run))
    if size_m is None or size_m > _bore_behind(subject, run) * 1.0001:
        return None
    return resized(run.name, drop_places(run), size_m, f"{run.name}: port and hose of {1000.0 * size_m:.4g} mm"), size_m


def collector_changed(subject: Subject, label: str, change: Callable[[Collector], Collector]) -> Change:
    """Return a change of the collector at which the ducts end."""
    name = key_of(subject.collector.collector.name)

    def apply(shop: Shop) -> Shop:
        return replace(shop, collectors=tuple(change(c) if key_of(c.name) == name else c for c in shop.collectors))

    return Change(label, apply)
