"""Rows that cost a machine more than a tenth of its air beyond what is usual."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from ductcalc.catalog import default_style, fact, is_adapter
from ductcalc.errors import Place
from ductcalc.findings.changes import collector_changed, resized
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import Phrase, length, say, share, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.hoses import is_long
from ductcalc.findings.subject import Subject
from ductcalc.findings.written import length_meant
from ductcalc.shop.change import Change, cell_value, together
from ductcalc.shop.standing import PlacedPiece, standing


class _Odd(NamedTuple):
    """What is beyond the usual in a row: in words, what to do, and the piece's fields as they usually are."""

    what: Phrase
    cure: Phrase
    usual: dict[str, Any]


def costly_rows(subject: Subject) -> Iterator[Observation]:
    """See rows with lengths, counts, builds or coefficients of their own, weighed against a usual row in their place.

    Pipe and hose with a k of their own are told as that.
    """
    for one in subject.pieces:
        odd = [] if one.piece.traits.has_length and one.piece.k is not None else list(_oddities(subject, one))
        if not odd:
            continue
        usual = {field: value for each in odd for field, value in each.usual.items()}
        place, label = (one.run.name, one.piece.kind, one.number), f"{one.run.name}: a usual {one.piece.kind}"
        yield Observation(
            one.piece.place,
            f"{one.piece.traits.word} in {one.run.name}",
            _joined([each.what for each in odd], " and "),
            _joined([each.cure for each in odd], "; "),
            together(label, [cell_value(*place, field, value, label) for field, value in usual.items()]),
            watch=subject.watch_piece(one),
        )


def _joined(phrases: Sequence[Phrase], between: str) -> Phrase:
    return tuple(part for n, phrase in enumerate(phrases) for part in ((between,) * bool(n) + phrase))


def _oddities(subject: Subject, one: PlacedPiece) -> Iterator[_Odd]:
    looks = {"pipe": _odd_pipe, "flex": _odd_hose, "elbow": _odd_elbow, "gate": _odd_gate}
    if one.piece.kind in looks:
        yield from looks[one.piece.kind](subject, one)
    if one.piece.k is not None and one.piece.kind not in ("port", "other", "collector"):
        what = say("a k of {} of its own", f"{one.piece.k:g}")
        yield _Odd(what, say("look at the k, or leave it blank"), {"k": None})


def _odd_pipe(subject: Subject, one: PlacedPiece) -> Iterator[_Odd]:
    long, usual = one.piece.length_m or 0.0, fact("findings", "usual pipe").value
    if long > usual and not length_meant(one.piece, subject.shop.system):
        cure = say("look at the length: {} would be much for a small shop", length(usual))
        yield _Odd(say("{} of pipe in one row", length(long)), cure, {"length_m": usual})
    if one.piece.roughness_m is not None:
        cure = say("look at the roughness, or leave it blank")
        yield _Odd(say("a roughness of its own"), cure, {"roughness_m": None})


def _odd_hose(subject: Subject, one: PlacedPiece) -> Iterator[_Odd]:
    """Yield what is odd of a hose; the bends of one that is too long are told with that."""
    count, usual = one.piece.count or 0, fact("findings", "usual hose bends").value
    if count > usual and not is_long(subject, one):
        cure = say("pull it straight: {} bends would do", f"{usual:g}")
        what = say("{} of hose with {} bends", length(one.piece.length_m or 0.0), count)
        yield _Odd(what, cure, {"count": int(usual)})
    factor = one.piece.factor or 0.0
    if factor > fact("hose", "factor").high:
        cure = say("pull it straight, or leave the factor blank")
        yield _Odd(say("a hose of {} times the friction of pipe", f"{factor:g}"), cure, {"factor": None})


def _odd_elbow(subject: Subject, one: PlacedPiece) -> Iterator[_Odd]:
    count, usual = one.piece.count or 1, fact("findings", "usual elbows").value
    if count > usual:
        cure = say("look at the count, or find a straighter way: {} turns would be many", f"{usual:g}")
        yield _Odd(say("{} elbows of {} in one row", count, size(one.bore_m)), cure, {"count": int(usual)})
    build = default_style("elbow")
    if one.piece.k is None and (one.piece.radius is not None or one.piece.style not in (None, build)):
        radius = "" if one.piece.radius is None else f" of R/D {one.piece.radius:g}"
        what = say("{} elbows{}", one.piece.style or build or "", radius)
        yield _Odd(what, say("take {} elbows of the usual radius", build or ""), {"style": build, "radius": None})


def _odd_gate(subject: Subject, one: PlacedPiece) -> Iterator[_Odd]:
    """Yield what is odd of a gate: part open though its machine is short."""
    opening, above = one.piece.opening, subject.ports_above[subject.section_number[one.name]]
    if opening is not None and any(subject.grade_of(port) in ("just short", "short") for port in above):
        yield _Odd(say("a gate that is {} open", share(opening)), say("open it"), {"opening": None})


def narrow_ends(subject: Subject) -> Iterator[Observation]:
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


def _end(subject: Subject, place: Place | None, what: Phrase, wide_m: float, change: Change) -> Observation:
    cure = say("look at its size: {} would fit", size(wide_m))
    return Observation(place, subject.collector.name, what, cure, change, watch=subject.watch_worst())


RULES = (
    Rule(
        "costly row",
        "a row of pipe, hose, elbows or a gate that takes a tenth of a machine's air beyond what is usual",
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
