"""Hoses that are too long or too thin."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import fact, is_adapter
from ductcalc.findings.phrase import length, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.neighbours import bore_after, bore_before
from ductcalc.findings.sighting import Sighting
from ductcalc.findings.sizes import resized
from ductcalc.findings.subject import Subject
from ductcalc.shop.change import Change, cell_value, together
from ductcalc.shop.standing import Standing


def long_hoses(subject: Subject) -> Iterator[Sighting]:
    """See every hose longer than a machine that stays put needs."""
    metric = " metric" if subject.shop.system == "metric" else ""
    enough = fact("findings", f"long hose{metric}").value
    for one in subject.of_kind("flex"):
        long = one.piece.length_m or 0.0
        if long <= enough * (1.0 + 1e-9) or one.piece.k is not None:
            continue
        bends = one.piece.count
        coil = f" with {bends} bends" if bends is not None and bends > 1 else ""
        yield Sighting(
            one.piece.place,
            f"hose in {one.run.name}",
            say("{} of hose{}, and {} would do", length(long), coil, length(enough)),
            say("cut the hose to {}, or put pipe in place of the rest", length(enough)),
            _cut(one, enough),
            watch=subject.watch_piece(one),
        )


def _cut(one: Standing, enough_m: float) -> Change:
    run, label = one.run.name, f"{one.run.name}: hose {one.number} of {enough_m:.4g} m"
    steps = [cell_value(run, "flex", one.number, "length_m", enough_m, label)]
    if one.piece.rise_m is not None and one.piece.length_m:
        rise = one.piece.rise_m * enough_m / one.piece.length_m
        steps.append(cell_value(run, "flex", one.number, "rise_m", rise, label))
    return together(label, steps)


def thin_hoses(subject: Subject) -> Iterator[Sighting]:
    """See every hose that is smaller than what is on both sides of it."""
    for one in subject.of_kind("flex"):
        before, after = bore_before(one), bore_after(one)
        if before is None or after is None:
            continue
        wide = min(before, after)
        if wide <= one.bore_m or is_adapter(wide, one.bore_m):
            continue
        yield Sighting(
            one.piece.place,
            f"hose in {one.run.name}",
            say("a {} hose between {} and {}", size(one.bore_m), size(before), size(after)),
            say("hang a {} hose there", size(wide)),
            resized(one.run.name, [one.place], wide, f"{one.run.name}: hose {one.number} as wide as its neighbours"),
            watch=subject.watch_piece(one),
        )


RULES = (
    Rule("long hose", "a hose longer than a machine that stays put needs", "cut it", "practice", long_hoses),
    Rule("thin hose", "a hose smaller than both its neighbours", "a hose as wide as they are", "practice", thin_hoses),
)
