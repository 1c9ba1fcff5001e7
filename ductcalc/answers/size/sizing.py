"""Which diameters: the lightest design found that serves what is wanted, a size up and down beside it, and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from ductcalc.answers.size.cost import Costs, Money
from ductcalc.answers.size.search import EARNED, SETS_OF_KEY, DesignSearch, Progress, TriedDesign, lacks_air
from ductcalc.answers.size.stretches import Design, Stretch, plan_of
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice, every_machine_alone, named_sets, no_machine, ports_named
from ductcalc.cases.judged import AIR, CHIPS, JudgedCases
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.cases.variants import outcomes
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import found_in
from ductcalc.model.model import Model, build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import SAME_M
from ductcalc.units.closed_list import UnitSystem

if TYPE_CHECKING:
    import pandas

Wish = Literal["sets first", "sets only", "alike"]
WhyNot = Literal["nothing to choose", "a set would be worse", "nothing gained"]
IDLE_REDUCER = "reducer to itself"
MOST_SIZED_ALONE = 40
"""Most machines that are taken each on its own."""

MOST_COLLISIONS = 4


@dataclass(frozen=True)
class Beside:
    """A stretch's next size [m] with what must follow it: added cost, and what it would do.

    sets_lost: sets with a worse grade than as chosen. lost: the first of them. kind: what decides, as a grade.
    """

    size_m: float
    added_cost: float | None
    sets_lost: int
    kind: str
    lost: Case | None


@dataclass(frozen=True)
class SizedStretch:
    """A stretch: bores [m] now and chosen, the sizes it may have, and what its next sizes would do.

    held: why it stays as written; it then has no other sizes. copies: how many runs are written by copying it.
    kept: of one that changes, what the size as written would do.
    """

    stretch: str
    title: str
    ends: tuple[str, str]
    run: str
    now_m: tuple[float, ...]
    chosen_m: tuple[float, ...]
    sizes_m: tuple[float, ...]
    held: str | None
    copies: int
    down: Beside | None
    up: Beside | None
    kept: Beside | None = None

    @property
    def changes(self) -> bool:
        """Whether it gets another size."""
        return self.chosen_m != self.now_m and any(abs(bore - self.chosen_m[0]) > SAME_M for bore in self.now_m)


@dataclass(frozen=True)
class Option:
    """A whole design: its cases with the loaded filter, and its cost (None: some of it has no price).

    worse: the first set that is worse than as written, and kind its worse grade.
    """

    cases: tuple[Case, ...]
    cost: float | None
    worse: Case | None = None
    kind: str = ""

    @property
    def may_run(self) -> int:
        """How many sets may run."""
        return sum(case.may_run for case in self.cases)


@dataclass(frozen=True)
class Collision:
    """A set that may not run as chosen, and the nearest that the search came to it.

    then: the set there. sizes: the stretches that differ there from what is chosen, by title, with their bores [m].
    loser: when it may run there, the first set that is worse there than as written, or that may
    run as chosen and not there, and kind its worse grade; None when nothing tried lets the set run.
    """

    now: Case
    then: Case
    loser: Case | None
    kind: str
    sizes: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Sizing:
    """The sizes chosen for all stretches together. sized: the shop with them. units: in which it is written.

    now, then: every set looked at, as written and as chosen, loaded filter. cost_kind: `weight` [kg] or `money`.
    down, up: what machines share a size down and up. why_not: why the sizes stay as written. breaks: rules that what
    is written breaks. solved: how many designs were tried. wish: which sets were wanted first. findings: unasked
    warnings of the shop as sized. idle_reducers: rows of reducers that change nothing with these sizes.
    """

    shop: str
    units: UnitSystem
    junction: Junction
    sized: Shop
    stretches: tuple[SizedStretch, ...]
    now: tuple[Case, ...]
    then: tuple[Case, ...]
    cost_kind: Money
    cost_now: float | None
    cost_then: float | None
    down: Option | None
    up: Option | None
    why_not: WhyNot | None
    breaks: tuple[str, ...]
    collisions: tuple[Collision, ...]
    solved: int
    wish: Wish
    unpriced: tuple[str, ...]
    remarks: tuple[str, ...]
    changes: tuple[str, ...]
    findings: Findings = NOTHING_SEEN
    idle_reducers: tuple[int, ...] = ()

    @property
    def found(self) -> bool:
        """Whether every set looked at may run."""
        return all(case.may_run for case in self.then)

    @property
    def fine_now(self) -> bool:
        """Whether that is so as written."""
        return all(case.may_run for case in self.now)

    def frame(self) -> pandas.DataFrame:
        """Return a row for each stretch as a pandas table, SI units in the column names."""
        import pandas

        return pandas.DataFrame([_row(stretch) for stretch in self.stretches])


def _row(one: SizedStretch) -> dict[str, object]:
    row: dict[str, object] = {"stretch": one.stretch, "run": one.run, "now_m": max(one.now_m)}
    row |= {"chosen_m": max(one.chosen_m), "held": one.held}
    for name, side in (("down", one.down), ("up", one.up)):
        row[f"{name}_m"] = None if side is None else side.size_m
        row[f"{name}_verdict"] = None if side is None else side.kind
        row[f"{name}_set"] = None if side is None or side.lost is None else side.lost.name
        row[f"{name}_sets_lost"] = None if side is None else side.sets_lost
        row[f"{name}_added_cost"] = None if side is None else side.added_cost
    return row


def size(
    shop: Shop,
    keep: Iterable[str] = (),
    sets_only: bool = False,
    junction: Junction | None = None,
    progress: Progress | None = None,
    also_alone: bool = False,
) -> Sizing:
    """Choose diameters for all stretches together out of the sizes sold and used.

    Wanted first are the named sets, then every machine alone; `sets_only`: the sets alone; `also_alone`: all alike.
    keep: runs that stay as written. progress: called with rounds done and in all.
    Raises InputError when the shop has no collector, no machine or set to size for, or no run of a name to keep.
    """
    model = build_model(shop, junction)
    collector_of(model)
    choices = wanted_sets(model, sets_only)
    wish: Wish = "sets only" if sets_only else "alike" if also_alone or not named_sets(model) else "sets first"
    used = np.asarray(model.opening.state(ports_named(model, choices)).live.any(axis=1))
    plan = plan_of(model, keep, used)
    costs, remarks = Costs.of(plan, model)
    now = solve_choices(model, choices, ("loaded",))
    named = {choice.name for choice in named_sets(model)}
    first = np.array([wish != "sets first" or choice.name in named for choice in choices])
    search = DesignSearch(plan, choices, first, now.judged, costs)
    best = search.best(progress)
    best = None if best is None else search.as_it_hangs(best)
    return _Telling(model, search, best, read_cases(now)).answer(wish, (*shop.remarks, *remarks))


def wanted_sets(model: Model, sets_only: bool) -> tuple[Choice, ...]:
    """Return every machine alone and every named set, or the named sets; raises InputError when there are none.

    Of more machines than can be taken each on its own, only the named sets.
    """
    named, alone = named_sets(model), every_machine_alone(model)
    if sets_only and not named:
        raise InputError([Problem("no set is named", "write [gates.sets] in shop.toml, or leave --sets-only out")])
    if sets_only or (named and len(alone) > MOST_SIZED_ALONE):
        return named
    if not alone:
        raise no_machine(model)
    if len(alone) > MOST_SIZED_ALONE:
        hint = "name the sets that matter under [gates.sets]"
        raise InputError([Problem(f"{len(alone)} machines are too many to size for each on its own", hint)])
    return (*alone, *named)


@dataclass
class _Telling:
    """Solves in full, and audits, all that is told of a search."""

    model: Model
    search: DesignSearch
    best: TriedDesign | None
    now: tuple[Case, ...]

    def answer(self, wish: Wish, remarks: tuple[str, ...]) -> Sizing:
        plan, costs, why_not = self.search.plan, self.search.costs, self._why_not()
        design = plan.written if self.best is None or why_not else self.best.design
        sized = self.model.shop if why_not else plan.hung(design)
        chosen = self.model if why_not else build_model(sized, self.model.junction)
        then = self.now if why_not else self._cases(chosen)
        found = found_in(chosen, self.search.choices, then)
        idle = [] if why_not else [one for one in found.all if one.rule == IDLE_REDUCER]
        whole = (None if self.best is None else plan.whole(design, steps) for steps in (-1, 1))
        down, up = (None if one is None else self._option(one) for one in whole)
        return Sizing(
            shop=sized.name,
            units=sized.system,
            junction=self.model.junction,
            sized=sized,
            stretches=tuple(self._stretches(design, then[0].judged, why_not is not None)),
            now=self.now,
            then=then,
            cost_kind=costs.kind,
            cost_now=costs.of_model(self.model),
            cost_then=costs.of_model(chosen),
            down=down,
            up=up,
            why_not=why_not,
            breaks=plan.breaks(),
            collisions=tuple(self._collisions(design, then)),
            solved=len(self.search.tried),
            wish=wish,
            unpriced=costs.unpriced(chosen),
            remarks=remarks,
            changes=sized.changes,
            findings=replace(found, all=tuple(one for one in found.all if one not in idle)),
            idle_reducers=tuple(one.row for one in idle if one.row is not None),
        )

    def _why_not(self) -> WhyNot | None:
        best, written, plan = self.best, self.search.written, self.search.plan
        if best is None or not plan.free:
            return "nothing to choose"
        if best.worse.any():
            return "a set would be worse"
        if best.key[0] > 0.0 or not (best.may_run | written.may_run).any():
            return "nothing gained"
        moved = any(abs(b - best.design[n]) > SAME_M for n in plan.free for b in plan.stretches[n].now_m)
        dear = best.key[-1] > written.key[-1] * (1.0 - EARNED)
        little = best.key[:-1] == written.key[:-1] and dear
        if dear and best.key[:SETS_OF_KEY] >= written.key[:SETS_OF_KEY]:
            return "nothing gained"
        return None if moved and (plan.breaks() or not little) else "nothing gained"

    def _cases(self, model: Model) -> tuple[Case, ...]:
        return read_cases(solve_choices(model, self.search.choices, ("loaded",)))

    def _option(self, design: Design) -> Option:
        model = self.search.model(design)
        cases, cost = self._cases(model), self.search.costs.of_model(model)
        worse = self.search.grades(cases[0].judged)[2]
        lost = [(n, kind) for n, kind in self._lost(cases[0].judged, self.search.now) if worse[n]]
        return Option(cases, cost, *((cases[lost[0][0]], lost[0][1]) if lost else ()))

    def _stretches(self, design: Design, chosen: JudgedCases, stays: bool) -> Iterator[SizedStretch]:
        """Yield every stretch with its next sizes, all solved and audited in one call."""
        plan, search = self.search.plan, self.search
        steps = {(n, way): step for n in plan.free for way in (-1, 1) if (step := plan.step(design, n, way))}
        for number in plan.free:
            wider = design[number] < plan.written[number] - SAME_M
            kept = plan.taken_back(design, [number])[0 if wider else 1]
            if kept is not None and kept[number] != design[number]:
                steps[number, 0] = kept
        models = [search.model(step) for step in steps.values()]
        found = outcomes(models, search.choices, audited=True)
        cost = search.costs.of_model(chosen.model)
        beside = {
            key: self._beside(design, step, key[0], judged, chosen, cost)
            for (key, step), judged in zip(steps.items(), found, strict=True)
        }
        for number, stretch in enumerate(plan.stretches):
            size_m = (design[number],) if stretch.sizes_m and not stays else stretch.now_m
            sides = (beside.get((number, way)) for way in (-1, 1, 0))
            yield _sized_stretch(stretch, size_m, *sides)

    def _beside(
        self, design: Design, step: Design, number: int, judged: JudgedCases, chosen: JudgedCases, cost: float | None
    ) -> Beside:
        lost = self._lost(judged, chosen)
        then = self.search.costs.of_model(judged.model)
        added = None if cost is None or then is None else then - cost
        if not lost:
            lacking = ~chosen.may_run
            faster = self.search.too_fast(step, lacking) > self.search.too_fast(design, lacking)
            return Beside(step[number], added, 0, "too fast" if faster else "no worse", None)
        worst, kind = lost[0]
        return Beside(step[number], added, len(lost), kind, Case(judged, worst, self.search.choices[worst].name))

    def _lost(self, judged: JudgedCases, chosen: JudgedCases) -> list[tuple[int, str]]:
        """Return sets with a worse grade than as chosen, and that grade; first those that may not run any more."""
        air, chips, _ = self.search.grades(judged)
        had_air, had_chips, _ = self.search.grades(chosen)
        lost = np.flatnonzero((air > had_air) & lacks_air(judged, air) | (chips > had_chips)).tolist()
        kinds = ((CHIPS[chips[n]] if chips[n] > had_chips[n] else AIR[air[n]]) if judged.solved[n] else "no answer"
                 for n in lost)  # fmt: skip
        runs = chosen.may_run & ~judged.may_run
        told = zip(lost, kinds, strict=True)
        return sorted(told, key=lambda one: (not runs[one[0]], -int(air[one[0]] + chips[one[0]]), one[0]))

    def _collisions(self, chosen: Design, then: Sequence[Case]) -> Iterator[Collision]:
        """Yield what stands against sets that may not run: of all that was tried what comes nearest, audited."""
        order = sorted(range(len(then)), key=lambda n: (not self.search.first[n], n))
        lacking = [n for n in order if then[n].solved and not then[n].may_run][:MOST_COLLISIONS]
        tried = list(self.search.tried.values())
        if not tried:
            return
        nearest = [self._nearest(tried, n) for n in lacking]
        models = [self.search.model(one.design) for one in nearest]
        for n, one, judged in zip(lacking, nearest, outcomes(models, self.search.choices, audited=True), strict=True):
            lost = self._lost(judged, then[0].judged) if one.may_run[n] else []
            lost.sort(key=lambda loser, worse=one.worse: not worse[loser[0]])  # type: ignore[misc]
            names = [choice.name for choice in self.search.choices]
            loser = Case(judged, lost[0][0], names[lost[0][0]]) if lost else None
            if judged.solved[n]:
                other = tuple(self._otherwise(chosen, one.design))
                yield Collision(then[n], Case(judged, n, names[n]), loser, lost[0][1] if lost else "", other)

    def _otherwise(self, chosen: Design, other: Design) -> Iterator[tuple[str, float]]:
        """Yield the stretches that another design gives another bore, those that several machines share first."""
        plan = self.search.plan
        moved = [n for n in plan.free if abs(chosen[n] - other[n]) > SAME_M]
        for number in sorted(moved, key=lambda n: not plan.stretches[n].shared):
            yield plan.stretches[number].title, other[number]

    @staticmethod
    def _nearest(tried: Sequence[TriedDesign], number: int) -> TriedDesign:
        return min(tried, key=lambda one: (not one.may_run[number], one.lack[number], one.key))


def _sized_stretch(
    stretch: Stretch, chosen_m: tuple[float, ...], down: Beside | None, up: Beside | None, kept: Beside | None
) -> SizedStretch:
    return SizedStretch(
        stretch=stretch.name,
        title=stretch.title,
        ends=stretch.ends,
        run=stretch.run,
        now_m=stretch.now_m,
        chosen_m=chosen_m,
        sizes_m=stretch.sizes_m,
        held=stretch.held,
        copies=stretch.copies,
        down=down,
        up=up,
        kept=kept,
    )


def exit_code(sizing: Sizing) -> int:
    """Return 0 when every set may run with these sizes, 3 when one has no answer, else 1."""
    if sizing.found:
        return 0
    return 3 if any(not case.solved for case in sizing.then) else 1
