"""Several shops side by side, always against the first: every difference is that of two full verdicts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from ductcalc.answers.check import Check, check
from ductcalc.answers.columns import Column, Columns, frame, within
from ductcalc.answers.compare.advice import Advice, Bands, ComparedShop, advice, key_of_case
from ductcalc.answers.compare.differences import Differences, differences
from ductcalc.answers.frames import ANSWER, POINT, POWER, SECTIONS
from ductcalc.answers.verdict import ALL_WELL, NO_ANSWER, CasePair, exit_code, pairs
from ductcalc.cases.case import Case
from ductcalc.cases.chances import Apart
from ductcalc.cases.choices import Ask
from ductcalc.cases.figures import CollectorAnswer, MachineAnswer, SectionAnswer
from ductcalc.cases.judged import Status
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import Findings
from ductcalc.model.collector import FilterState
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
There = Status | Literal["not in this shop"]
FILTERS: tuple[FilterState, ...] = ("loaded", "clean")


@dataclass(frozen=True)
class MachineLine:
    """A machine in a case of one variant, and its difference from the same in the first one.

    answer: None where there is none, `status` says why. slowest: the section of its way where chips are worst.
    Differences [m3/s, m/s] are None for the first variant and where one side is missing; that of the speed also when
    the slowest section is another one. apart: the common band of its air over the first one's, with the loaded filter.
    """

    case: str
    alone: bool
    filter: FilterState
    variant: str
    machine: str
    status: There
    answer: MachineAnswer | None
    slowest: SectionAnswer | None
    flow_difference_m3_s: float | None
    velocity_difference_m_s: float | None
    apart: Apart | None = None

    @property
    def inside(self) -> bool | None:
        """Whether the difference of its air lies inside the common band; None where there is none."""
        return None if self.apart is None else self.apart.inside


@dataclass(frozen=True)
class PointLine:
    """The collector's point in a case of one variant, and its differences from the first one (see MachineLine)."""

    case: str
    alone: bool
    filter: FilterState
    variant: str
    status: There
    collector: CollectorAnswer | None
    flow_difference_m3_s: float | None
    inlet_static_difference_pa: float | None
    blower_difference_pa: float | None
    power_difference_w: float | None


MACHINES: Columns[MachineLine] = (
    Column("case", lambda line: line.case),
    Column("filter", lambda line: line.filter),
    Column("machine", lambda line: line.machine),
    Column("variant", lambda line: line.variant),
    Column("status", lambda line: line.status),
    *within(MachineLine, lambda line: line.answer, ANSWER),
    Column("flow_difference", lambda line: line.flow_difference_m3_s, "flow"),
    Column("inside_band", lambda line: line.inside),
    Column("section", lambda line: line.slowest and line.slowest.section),
    *within(MachineLine, lambda line: line.slowest, SECTIONS[3:5]),
    Column("velocity_difference", lambda line: line.velocity_difference_m_s, "speed"),
    Column("section_word", lambda line: line.slowest and line.slowest.word),
)
POINTS: Columns[PointLine] = (
    Column("case", lambda line: line.case),
    Column("filter", lambda line: line.filter),
    Column("variant", lambda line: line.variant),
    Column("status", lambda line: line.status),
    *within(PointLine, lambda line: line.collector, (*POINT[:4], POWER)),
    Column("flow_difference", lambda line: line.flow_difference_m3_s, "flow"),
    Column("inlet_static_difference", lambda line: line.inlet_static_difference_pa, "pressure"),
    Column("blower_difference", lambda line: line.blower_difference_pa, "pressure"),
    Column("power_difference", lambda line: line.power_difference_w, "power"),
)


@dataclass(frozen=True)
class Comparison:
    """Variants of a shop, or several shops, against the first.

    machines, points: case by case, loaded filter first, in each case machine by machine, variant by variant.
    only_in: variant's letter and a machine, or a named set in quotes, that not all variants have. differences: of every
    variant but the first from the first.
    """

    variants: tuple[ComparedShop, ...]
    machines: tuple[MachineLine, ...]
    points: tuple[PointLine, ...]
    only_in: tuple[tuple[str, str], ...]
    advice: Advice
    differences: tuple[Differences, ...]

    @property
    def exit_code(self) -> int:
        """0 when every variant is served and nothing settles, 3 when a case of one has no answer, else 1."""
        codes = [exit_code(variant.check) for variant in self.variants]
        return NO_ANSWER if NO_ANSWER in codes else max(codes, default=ALL_WELL)

    @property
    def findings(self) -> Findings:
        """Unasked warnings of all variants, each once."""
        every = [variant.check.findings for variant in self.variants]
        told = dict.fromkeys(found for one in every for found in one.all)
        return Findings(tuple(told), max(one.not_weighed for one in every), every[0].switched_off)

    def variant(self, letter: str) -> ComparedShop:
        """Return a variant by its letter."""
        return next(variant for variant in self.variants if variant.letter == letter)

    def frame(self, table: str = "machines") -> pandas.DataFrame:
        """Return `machines` or `points` as a pandas table in SI units, the unit in every column name.

        Raises ValueError for another name.
        """
        tables: dict[str, tuple[Columns[Any], tuple[Any, ...]]] = {
            "machines": (MACHINES, self.machines),
            "points": (POINTS, self.points),
        }
        if table not in tables:
            raise ValueError(f"{table!r} is not one of {', '.join(tables)}")
        columns, lines = tables[table]
        label = Column[Any]("label", lambda line: self.variant(line.variant).label)
        return frame((*columns, label), lines)


def compare(
    shop: Shop,
    others: Sequence[Shop],
    asks: Sequence[Ask] | None = None,
    junction: Junction | None = None,
    labels: Sequence[str] | None = None,
) -> Comparison:
    """Compare shops with a first one: every machine alone and every named set, or what is asked for.

    labels: what the shops are called, the first one's first; else their names. Machines and sets are the same when they
    bear the same name. Raises InputError for what `check` refuses in one of them, and without another shop.
    """
    shops = (shop, *others)
    if not others:
        raise InputError([Problem("there is nothing to compare with", "name another shop, or a change of this one")])
    if len(shops) > len(LETTERS):
        hint = "compare them in several commands, each with the same first one"
        raise InputError([Problem(f"{len(shops)} are too many to compare at once", hint)])
    called = tuple(labels) if labels is not None else _labels(shops)
    variants = tuple(
        ComparedShop(LETTERS[n], label, _checked(one, label, asks, junction))
        for n, (one, label) in enumerate(zip(shops, called, strict=True))
    )
    bands = Bands.of(variants)
    return Comparison(
        variants,
        tuple(_machine_lines(variants, bands)),
        tuple(_point_lines(variants)),
        _only_in(variants),
        advice(variants, bands),
        tuple(differences(variants[0], other) for other in variants[1:]),
    )


def _labels(shops: Sequence[Shop]) -> tuple[str, ...]:
    return tuple(f"{shop.name}, changed" if shop.changes else shop.name for shop in shops)


def _checked(shop: Shop, label: str, asks: Sequence[Ask] | None, junction: Junction | None) -> Check:
    """Return a shop's verdict; what it refuses names the shop."""
    try:
        return check(shop, asks, junction)
    except InputError as error:
        raise InputError(
            Problem(f"{label}: {p.message}", p.hint, p.place, p.given) for p in error.problems
        ) from None


@dataclass(frozen=True)
class _Row:
    """One case of all variants: the pair of each, None where a variant lacks it."""

    name: str
    alone: bool
    pairs: tuple[CasePair | None, ...]

    def cases(self, filter_state: FilterState) -> list[Case | None]:
        return [getattr(pair, filter_state) if pair else None for pair in self.pairs]


def _rows(variants: Sequence[ComparedShop]) -> list[_Row]:
    """Return all cases, those of the first variant first, each with what every variant says of it."""
    found = [{key_of_case(pair.loaded): pair for pair in pairs(variant.check)} for variant in variants]
    keys = dict.fromkeys(key for cases in found for key in cases)
    rows = []
    for key in keys:
        mine = tuple(cases.get(key) for cases in found)
        first = next(pair for pair in mine if pair is not None)
        rows.append(_Row(first.loaded.name, first.alone, mine))
    return rows


def _machine_lines(variants: Sequence[ComparedShop], bands: Bands) -> Iterator[MachineLine]:
    for row in _rows(variants):
        for filter_state in FILTERS:
            cases = row.cases(filter_state)
            for machine in _machines_of(row, cases):
                yield from _lines_of(row, filter_state, cases, variants, machine, bands)


def _machines_of(row: _Row, cases: Sequence[Case | None]) -> tuple[str, ...]:
    """Return the machines to show in a case: asked for, or open beside them."""
    names: dict[str, str] = {}
    for case in cases:
        if case is None:
            continue
        shown = [m.machine for m in case.machines if m.asked or (m.open and not row.alone)]
        for name in shown or case.asked:
            names.setdefault(key_of(name), name)
    return tuple(names.values())


def _lines_of(
    row: _Row,
    filter_state: FilterState,
    cases: Sequence[Case | None],
    variants: Sequence[ComparedShop],
    machine: str,
    bands: Bands,
) -> Iterator[MachineLine]:
    before: MachineAnswer | None = None
    slow_before: SectionAnswer | None = None
    for number, (case, variant) in enumerate(zip(cases, variants, strict=True)):
        answer = _machine(case, machine)
        slow = case.slowest_on_way(answer.machine) if case is not None and answer is not None and answer.runs else None
        if number == 0:
            before, slow_before = answer, slow
        same = slow is not None and slow_before is not None and key_of(slow.section) == key_of(slow_before.section)
        yield MachineLine(
            row.name,
            row.alone,
            filter_state,
            variant.letter,
            machine,
            _status(case, answer),
            answer,
            slow,
            _difference(number, answer, before, "flow_m3_s"),
            _difference(number, slow, slow_before, "velocity_m_s") if same else None,
            _apart(bands, number, case, answer, before),
        )


def _apart(
    bands: Bands, number: int, case: Case | None, answer: MachineAnswer | None, before: MachineAnswer | None
) -> Apart | None:
    """Return the common band of a machine's air over that in the first variant, loaded filter."""
    drawn = case is not None and case.filter == "loaded" and number > 0
    if case is None or answer is None or before is None or not (drawn and answer.runs):
        return None
    return bands.apart(number, 0, key_of_case(case), answer.machine)


def _machine(case: Case | None, name: str) -> MachineAnswer | None:
    if case is None:
        return None
    return next((m for m in case.machines if key_of(m.machine) == key_of(name)), None)


def _status(case: Case | None, answer: object) -> There:
    if case is None or (case.solved and answer is None):
        return "not in this shop"
    return case.status


def _difference(number: int, answer: object, before: object, field: str) -> float | None:
    """Return a figure less the first variant's; None for the first itself and where one is missing."""
    values = getattr(answer, field, None), getattr(before, field, None)
    return None if number == 0 or values[0] is None or values[1] is None else float(values[0] - values[1])


def _point_lines(variants: Sequence[ComparedShop]) -> Iterator[PointLine]:
    for row in _rows(variants):
        for filter_state in FILTERS:
            cases = row.cases(filter_state)
            before = cases[0].collector if cases[0] is not None else None
            for number, (case, variant) in enumerate(zip(cases, variants, strict=True)):
                point = case.collector if case is not None else None
                yield PointLine(
                    row.name,
                    row.alone,
                    filter_state,
                    variant.letter,
                    _status(case, point),
                    point,
                    _difference(number, point, before, "flow_m3_s"),
                    _difference(number, point, before, "inlet_static_pa"),
                    _difference(number, point, before, "blower_pa"),
                    _difference(number, point, before, "power_w"),
                )


def _only_in(variants: Sequence[ComparedShop]) -> tuple[tuple[str, str], ...]:
    """Return what some variants have and others lack."""
    lacking = [row for row in _rows(variants) if None in row.pairs]
    return tuple(
        (variant.letter, row.name if row.alone else f'"{row.name}"')
        for number, variant in enumerate(variants)
        for row in lacking
        if row.pairs[number] is not None
    )
