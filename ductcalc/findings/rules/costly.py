"""Rows that cost a machine more than a tenth of its air beyond what is usual."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ductcalc.catalog import fact, is_adapter
from ductcalc.errors import Place
from ductcalc.findings.in_use import collector_changed
from ductcalc.findings.phrase import Phrase, length, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.hoses import is_long
from ductcalc.findings.sighting import Sighting
from ductcalc.findings.sizes import resized
from ductcalc.findings.subject import Subject
from ductcalc.findings.written import length_meant
from ductcalc.shop.change import Change, cell_value
from ductcalc.shop.standing import PlacedPiece, standing


def costly_rows(subject: Subject) -> Iterator[Sighting]:
    """See straight pipe, elbows and hose bends beyond what a small shop has, weighed against what is usual."""
    for one in subject.pieces:
        found = _long_pipe(subject, one) or _many_elbows(one) or _bent_hose(subject, one)
        if found is None or one.piece.k is not None:
            continue
        what, cure, field, usual = found
        change = cell_value(one.run.name, one.piece.kind, one.number, field, usual, f"{one.run.name}: a usual {field}")
        name = f"{one.piece.traits.word} in {one.run.name}"
        yield Sighting(one.piece.place, name, what, cure, change, watch=subject.watch_piece(one))


Found = tuple[Phrase, Phrase, str, float]


def _long_pipe(subject: Subject, one: PlacedPiece) -> Found | None:
    long, usual = one.piece.length_m or 0.0, fact("findings", "usual pipe").value
    if one.piece.kind != "pipe" or long <= usual or length_meant(one.piece, subject.shop.system):
        return None
    cure = say("look at the length: {} would be much for a small shop", length(usual))
    return say("{} of pipe in one row", length(long)), cure, "length_m", usual


def _many_elbows(one: PlacedPiece) -> Found | None:
    count, usual = one.piece.count or 1, fact("findings", "usual elbows").value
    if one.piece.kind != "elbow" or count <= usual:
        return None
    cure = say("look at the count, or find a straighter way: {} turns would be many", f"{usual:g}")
    return say("{} elbows of {} in one row", count, size(one.bore_m)), cure, "count", int(usual)


def _bent_hose(subject: Subject, one: PlacedPiece) -> Found | None:
    """Return what is said of a hose with many bends; one that is too long as well is told as that."""
    count, usual = one.piece.count or 0, fact("findings", "usual hose bends").value
    if one.piece.kind != "flex" or count <= usual or is_long(subject, one):
        return None
    cure = say("pull it straight: {} bends would do", f"{usual:g}")
    return say("{} of hose with {} bends", length(one.piece.length_m or 0.0), count), cure, "count", int(usual)


def narrow_ends(subject: Subject) -> Iterator[Sighting]:
    """See an inlet, outlet or outlet duct of the collector that is narrower than the duct that arrives there."""
    last = next((run for run in subject.written_runs if run.is_last), None)
    if last is None:
        return
    *_, before, end = standing(last)
    arrives = before.bore_m
    if _is_narrower(end.bore_m, arrives):
        what = say("its inlet is {}, and the duct that arrives is {}", size(end.bore_m), size(arrives))
        change = resized(last.name, [end.place], arrives, "an inlet as wide as the duct")
        yield _end(subject, end.piece.place, what, arrives, change)
    outlet = subject.collector.collector.outlet_size_m
    if outlet is not None and _is_narrower(outlet, end.bore_m):
        what = say("its outlet is {}, and its inlet {}", size(outlet), size(end.bore_m))
        change = collector_changed(subject, "an outlet as wide", lambda c: replace(c, outlet_size_m=end.bore_m))
        yield _end(subject, Place("shop.toml", key="collector.outlet_size"), what, end.bore_m, change)
    for run in subject.shop.runs:
        narrow = [one for one in standing(run) if run.is_outlet and one.place and _is_narrower(one.bore_m, end.bore_m)]
        if narrow:
            what = say("its outlet duct is {}, and its inlet {}", size(narrow[0].bore_m), size(end.bore_m))
            change = resized(run.name, [one.place for one in narrow], end.bore_m, "an outlet duct as wide")
            yield _end(subject, narrow[0].piece.place, what, end.bore_m, change)


def _is_narrower(bore_m: float, than_m: float) -> bool:
    return bore_m < than_m and not is_adapter(bore_m, than_m)


def _end(subject: Subject, place: Place | None, what: Phrase, wide_m: float, change: Change) -> Sighting:
    cure = say("look at its size: {} would fit", size(wide_m))
    return Sighting(place, subject.collector.name, what, cure, change, watch=subject.watch_worst())


RULES = (
    Rule(
        "costly row",
        "a row of pipe, elbows or hose bends that takes a tenth of a machine's air beyond what is usual",
        "a shorter, straighter way",
        "practice",
        costly_rows,
        least="costly row",
    ),
    Rule(
        "narrow collector",
        "an inlet or outlet of the collector narrower than its duct that takes a tenth of a machine's air",
        "an end as wide as the duct",
        "practice",
        narrow_ends,
        least="costly row",
    ),
)
