"""Hoses that are too long or too thin."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import fact
from ductcalc.findings.phrase import length, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.neighbours import narrow_stretches
from ductcalc.findings.sighting import Sighting
from ductcalc.findings.sizes import resized
from ductcalc.findings.subject import Subject
from ductcalc.findings.written import length_meant
from ductcalc.shop.change import Change, cell_value, together
from ductcalc.shop.standing import Standing


def long_hoses(subject: Subject) -> Iterator[Sighting]:
    """See every hose longer than a machine that stays put needs."""
    for one in subject.of_kind("flex"):
        long, enough = one.piece.length_m or 0.0, _enough(subject, one)
        if long <= enough * (1.0 + 1e-9) or one.piece.k is not None or length_meant(one.piece, subject.shop.system):
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


def _enough(subject: Subject, one: Standing) -> float:
    """Return the length of hose [m] that would do: more where it goes from machine to machine."""
    shared = sum(piece.kind == "port" for piece in one.run.pieces) > 1
    metric = subject.shop.system == "metric"
    return fact("findings", f"long {'shared ' if shared else ''}hose{' metric' if metric else ''}").value


def _cut(one: Standing, enough_m: float) -> Change:
    run, label = one.run.name, f"{one.run.name}: hose {one.number} of {enough_m:.4g} m"
    steps = [cell_value(run, "flex", one.number, "length_m", enough_m, label)]
    if one.piece.rise_m is not None and one.piece.length_m:
        rise = one.piece.rise_m * enough_m / one.piece.length_m
        steps.append(cell_value(run, "flex", one.number, "rise_m", rise, label))
    return together(label, steps)


def thin_hoses(subject: Subject) -> Iterator[Sighting]:
    """See every hose that is smaller than what is on both sides of it."""
    for narrow in narrow_stretches(subject):
        one = next((one for one in narrow.pieces if one.piece.kind == "flex"), None)
        if one is None:
            continue
        wide = narrow.wide_m
        yield Sighting(
            one.piece.place,
            f"hose in {one.run.name}",
            say("a {} hose between {} and {}", size(one.bore_m), size(narrow.before_m), size(narrow.after_m)),
            say("hang a {} hose there", size(wide)),
            resized(one.run.name, narrow.places, wide, f"{one.run.name}: hose {one.number} as wide as its neighbours"),
            watch=subject.watch_piece(one),
        )


RULES = (
    Rule("long hose", "a hose longer than its machine or machines need", "cut it", "practice", long_hoses),
    Rule("thin hose", "a hose smaller than both its neighbours", "a hose as wide as they are", "practice", thin_hoses),
)
