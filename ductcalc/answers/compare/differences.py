"""In what a variant differs from the first shop: verdicts that turn, the largest change, pieces, parts, warnings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import zip_longest
from typing import Any, Literal, NamedTuple

from ductcalc.answers.compare.advice import ComparedShop
from ductcalc.answers.parts.buying import PartKey, key_of_part
from ductcalc.answers.parts.uses import clamps, uses
from ductcalc.cases.case import Case
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.judged import AIR, CHIPS
from ductcalc.findings.finding import Finding
from ductcalc.model.model import Model
from ductcalc.shop.hanging import spelled_out
from ductcalc.shop.names import key_of
from ductcalc.shop.parts import PartName
from ductcalc.shop.piece import Piece, Run

SAME_M = 0.0005
"""Lengths [m] that differ by less are the same piece of duct."""
SETTINGS = "shop.toml"
FIELDS = (
    "style", "size_m", "length_m", "angles_deg", "count", "joins", "wanted", "drop", "inlet_m2", "material", "k",
    "radius", "factor", "roughness_m", "opening", "leak", "rise_m",
)  # fmt: skip


class Turned(NamedTuple):
    """A grade of a case that is another one than in the first shop. what: an answer at all, air, or chips."""

    case: Case
    what: Literal["answer", "air", "chips"]
    before: str
    after: str
    better: bool


class Largest(NamedTuple):
    """What changes most by its share, in which case: a machine's air, or the case's slowest section."""

    case: Case
    before: MachineAnswer | SectionAnswer
    after: MachineAnswer | SectionAnswer
    share: float


class PieceDifference(NamedTuple):
    """A piece that is not the same in both shops, None where one lacks it; number: among its kind in the run, from 1.

    fields: of a piece in both, its field with the first shop's value and the other's.
    """

    run: str
    number: int
    first: Piece | None
    other: Piece | None
    fields: tuple[tuple[str, Any, Any], ...]


@dataclass(frozen=True)
class ExtraPart:
    """A part of which the other shop takes more than the first (less: negative); pipe and hose by their length [m]."""

    name: PartName
    count: int
    length_m: float | None


@dataclass(frozen=True)
class Differences:
    """One variant against the first. gone, new: warnings; not_seen: warnings of the first that it cannot be told of
    whether they are gone, for want of an answer, or because they are switched off or not weighed there.

    collector: whether another collector, or something else of it, is written.
    """

    letter: str
    turned: tuple[Turned, ...]
    largest: Largest | None
    pieces: tuple[PieceDifference, ...]
    extra: tuple[ExtraPart, ...]
    collector: bool
    gone: tuple[Finding, ...]
    new: tuple[Finding, ...]
    not_seen: tuple[Finding, ...]


def differences(first: ComparedShop, other: ComparedShop) -> Differences:
    """Return in what a variant differs from the first one."""
    twins = other.by_key
    cases = [(case, twins[key]) for key, case in first.by_key.items() if key in twins]
    lost = _less(first, other)
    gone = [found for found in lost if _looked_for(found, other)]
    return Differences(
        other.letter,
        tuple(turn for pair in cases for turn in _turned(*pair)),
        _largest(cases),
        tuple(_pieces(first.model, other.model)),
        tuple(_extra(first.model, other.model)),
        _collector(first.model) != _collector(other.model),
        tuple(gone),
        tuple(_less(other, first)),
        tuple(found for found in lost if found not in gone),
    )


def _turned(first: Case, other: Case) -> Iterator[Turned]:
    if first.solved != other.solved:
        both = ("an answer", "no answer")
        yield Turned(other, "answer", both[not first.solved], both[not other.solved], other.solved)
    if first.air is None or first.chips is None or other.air is None or other.chips is None:
        return
    if first.air != other.air:
        yield Turned(other, "air", first.air, other.air, AIR.index(other.air) < AIR.index(first.air))
    if first.chips != other.chips:
        better = CHIPS.index(other.chips) < CHIPS.index(first.chips)
        yield Turned(other, "chips", first.chips, other.chips, better)


def _largest(cases: Sequence[tuple[Case, Case]]) -> Largest | None:
    found = [change for pair in cases if pair[0].solved and pair[1].solved for change in _changes(*pair)]
    most = max(found, key=lambda change: change.share, default=None)
    return most if most is not None and most.share > LEAST_BAND else None


def _changes(first: Case, other: Case) -> Iterator[Largest]:
    twins = {key_of(machine.machine): machine for machine in other.machines}
    for machine in (m for m in first.machines if m.runs and m.flow_m3_s > 0.0):
        twin = twins.get(key_of(machine.machine))
        if twin is not None:
            yield Largest(other, machine, twin, abs(twin.flow_m3_s / machine.flow_m3_s - 1.0))
    slow, then = first.slowest, other.slowest
    if slow is not None and then is not None:
        yield Largest(other, slow, then, abs(then.settling_share / slow.settling_share - 1.0))


def _pieces(first: Model, other: Model) -> Iterator[PieceDifference]:
    """Yield every piece that is not the same, run by run; both shops are spelled out, so that blank cells count."""
    ours, theirs = ({key_of(run.name): run for run in spelled_out(model.shop).runs} for model in (first, other))
    for key in dict.fromkeys([*ours, *theirs]):
        yield from _in_run(ours.get(key), theirs.get(key))


def _in_run(first: Run | None, other: Run | None) -> Iterator[PieceDifference]:
    mine, its = (tuple(_numbered(run)) for run in (first, other))
    name = (first or other or Run("", ())).name
    matcher = SequenceMatcher(None, [_kin(piece) for piece, _ in mine], [_kin(piece) for piece, _ in its], False)
    for tag, start, stop, begin, end in matcher.get_opcodes():
        for one, two in zip_longest(mine[start:stop], its[begin:end]):
            if tag == "equal":
                fields = tuple(_fields(one[0], two[0]))
                if fields:
                    yield PieceDifference(name, one[1], one[0], two[0], fields)
                continue
            if one is not None:
                yield PieceDifference(name, one[1], one[0], None, ())
            if two is not None:
                yield PieceDifference(name, two[1], None, two[0], ())


def _numbered(run: Run | None) -> Iterator[tuple[Piece, int]]:
    """Yield the pieces of a run, each with its number among its kind."""
    counts: Counter[str] = Counter()
    for piece in () if run is None else run.pieces:
        counts[piece.kind] += 1
        yield piece, counts[piece.kind]


def _kin(piece: Piece) -> tuple[object, ...]:
    """Return by what a piece is taken for the same one in both shops."""
    return piece.kind, tuple(map(key_of, piece.joins)), key_of(piece.machine or "") if piece.kind == "port" else ""


def _fields(first: Piece, other: Piece) -> Iterator[tuple[str, Any, Any]]:
    for field in FIELDS:
        one, two = getattr(first, field), getattr(other, field)
        near = field.endswith("_m") and one is not None and two is not None and abs(one - two) < SAME_M
        if one != two and not near:
            yield field, one, two


def _extra(first: Model, other: Model) -> Iterator[ExtraPart]:
    """Yield the parts that two shops do not take alike; what nobody buys as a part is left out."""
    ours, theirs = _needed(first), _needed(other)
    for key in dict.fromkeys([*theirs, *ours]):
        one, two = ours.get(key), theirs.get(key)
        name = (one or two or ExtraPart(PartName("other"), 0, None)).name
        count = (two.count if two else 0) - (one.count if one else 0)
        length = ((two.length_m if two else 0.0) or 0.0) - ((one.length_m if one else 0.0) or 0.0)
        if name.by_length and abs(length) >= SAME_M:
            yield ExtraPart(name, count, length)
        elif not name.by_length and count:
            yield ExtraPart(name, count, None)


def _needed(model: Model) -> dict[PartKey, ExtraPart]:
    used = list(uses(model))
    found: dict[PartKey, ExtraPart] = {}
    for use in (*used, *clamps(used, ())):
        if use.name.kind == "port":
            continue
        key = key_of_part(use.name)
        so_far = found.get(key, ExtraPart(use.name, 0, 0.0))
        length = (so_far.length_m or 0.0) + (use.source.length_m or 0.0)
        found[key] = ExtraPart(use.name, so_far.count + use.source.count, length)
    return found


def _collector(model: Model) -> tuple[object, ...]:
    """Return what was decided of a collector, without where it was written."""
    found = model.collector
    if found is None:
        return ()
    points = [(p.flow_m3_s, p.pressure_pa, p.power_w) for p in found.collector.blower]
    both = found.collector.advertised
    maxima = None if both is None else (both.flow_m3_s, both.pressure_pa)
    return found.basis, points, maxima, found.cyclone, found.filter_clean, found.filter_loaded


def _less(one: ComparedShop, other: ComparedShop) -> list[Finding]:
    """Return the warnings of the one that the other has not, told apart by rule and name."""
    known = {(found.rule, found.name) for found in other.check.findings.all}
    return [found for found in one.check.findings.all if (found.rule, found.name) not in known]


def _looked_for(found: Finding, other: ComparedShop) -> bool:
    """Whether a warning would be seen in the other shop if it were there still."""
    seen = other.check.findings
    switched_off = key_of(found.rule) in map(key_of, seen.switched_off)
    silent = found.caution and found.file == SETTINGS and not _speaks_of(found, other.model)
    return not (switched_off or seen.not_weighed or other.check.unanswered or silent)


def _speaks_of(found: Finding, model: Model) -> bool:
    """Whether another shop's settings say something of what a caution rests on, or it has no such machine."""
    settings = model.shop.settings
    if found.rule == "heater":
        return settings.room.heater or settings.room.exhaust == "indoors"
    said = {key_of(machine.name) for machine in settings.machines}
    return key_of(found.name) in said or key_of(found.name) not in map(key_of, model.machines)
