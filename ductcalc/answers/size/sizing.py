"""Which diameters: the sizing that serves every wanted set at the least cost, and why each size."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.size.cost import Costs, Money, costs_of
from ductcalc.answers.size.proof import Progress, Proof, proven_best
from ductcalc.answers.size.reasons import Judged, Neighbour, judged, neighbour
from ductcalc.answers.size.search import Search
from ductcalc.answers.size.stretches import plan_of
from ductcalc.answers.size.trials import Trials
from ductcalc.answers.size.wishes import Giving, givings
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice, every_machine_alone, named_sets, no_machine, ports_named
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import found_in
from ductcalc.model.model import Model, build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop
from ductcalc.units.closed_list import UnitSystem

if TYPE_CHECKING:
    import pandas

MOST_SIZED_ALONE = 40
"""Most machines that are taken each on its own: beyond it the search would take many minutes."""


@dataclass(frozen=True)
class SizedStretch:
    """A stretch: bores [m] now and chosen, what each costs [kg or money], and what its next sizes would do.

    held: why it stays as written; it then has no other sizes. down, up: None at the ends of what is sold.
    copies: how many runs are written by copying it.
    """

    stretch: str
    run: str
    now_m: tuple[float, ...]
    chosen_m: tuple[float, ...]
    sizes_m: tuple[float, ...]
    held: str | None
    copies: int
    down: Neighbour | None
    up: Neighbour | None


@dataclass(frozen=True)
class Sizing:
    """The sizes chosen for all stretches together. sized: the shop with them. units: in which it is written.

    now, then: every wanted set with the loaded filter, as written and as chosen. cost_kind: `weight` [kg] or `money`;
    cost_now is None when something of it has no price. bound: no sizing that satisfies everything costs less (None:
    none does). proven: no sizing is better. impossible: proven that none satisfies everything, which it is not where a
    set that must give has no answer at some sizes. possible: how many sizings there are. solved: how many cases were
    solved. giving: sets that must give (those that lack most). unpriced: kinds of parts without a price. findings:
    unasked warnings of the shop as sized.
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
    cost_then: float
    bound: float | None
    proven: bool
    impossible: bool
    possible: int
    solved: int
    giving: tuple[Giving, ...]
    sets_only: bool
    unpriced: tuple[str, ...]
    remarks: tuple[str, ...]
    changes: tuple[str, ...]
    findings: Findings = NOTHING_SEEN

    @property
    def found(self) -> bool:
        """Whether every wanted set is served and nothing settles in any of them."""
        return all(case.well for case in self.then)

    @property
    def fine_now(self) -> bool:
        """Whether that is so as written."""
        return all(case.well for case in self.now)

    def frame(self) -> pandas.DataFrame:
        """Return a row for each stretch as a pandas table, SI units in the column names."""
        from ductcalc.answers.size.frame import sizing_frame

        return sizing_frame(self)


def size(
    shop: Shop,
    keep: Iterable[str] = (),
    sets_only: bool = False,
    junction: Junction | None = None,
    progress: Progress | None = None,
) -> Sizing:
    """Choose diameters for all stretches together out of the sizes sold.

    Wanted are every machine alone and every named set, with `sets_only` the named sets. keep: runs that stay as
    written. progress: called with rounds done and in all.
    Raises InputError when the shop has no collector, no machine or set to size for, or no run of a name to keep.
    """
    model = build_model(shop, junction)
    collector_of(model)
    choices = wanted_sets(model, sets_only)
    used = np.asarray(model.opening.state(ports_named(model, choices)).live.any(axis=1))
    plan, costs, remarks = costs_of(shop, plan_of(shop, keep, used))
    trials = Trials.of(plan, choices, junction)
    search = Search(trials, costs)
    proof = proven_best(search, progress)
    return _answer(shop, model, trials, costs, proof, search.solved, sets_only, remarks)


def wanted_sets(model: Model, sets_only: bool) -> tuple[Choice, ...]:
    """Return every machine alone and every named set, or the named sets; raises InputError when there are none."""
    named = named_sets(model)
    if sets_only:
        if not named:
            raise InputError([Problem("no set is named", "write [gates.sets] in shop.toml, or leave --sets-only out")])
        return named
    alone = every_machine_alone(model)
    if not alone:
        raise no_machine(model)
    if len(alone) > MOST_SIZED_ALONE:
        hint = "name the sets that matter under [gates.sets] and take --sets-only"
        raise InputError([Problem(f"{len(alone)} machines are too many to size for each on its own", hint)])
    return (*alone, *named)


def _answer(
    shop: Shop,
    model: Model,
    trials: Trials,
    costs: Costs,
    proof: Proof,
    solved: int,
    sets_only: bool,
    remarks: Sequence[str],
) -> Sizing:
    plan, places = trials.plan, proof.best.places
    sized = plan.with_sizes(places)
    chosen = judged(build_model(sized, model.junction), trials.choices)
    short = [chosen.verdict(int(number)) for number in np.flatnonzero(chosen.missing > 0.0)]
    giving = givings(trials, costs, short, places)
    then = read_cases(chosen.batch)
    return Sizing(
        shop=shop.name,
        units=shop.system,
        junction=model.junction,
        sized=sized,
        stretches=tuple(_stretch(trials, costs, places, number, chosen) for number in range(len(plan.stretches))),
        now=read_cases(solve_choices(model, trials.choices, ("loaded",))),
        then=then,
        cost_kind=costs.kind,
        cost_now=costs.now,
        cost_then=proof.best.cost,
        bound=proof.bound,
        proven=proof.proven,
        impossible=proof.impossible and all(one.unanswered is None for one in giving),
        possible=plan.possible,
        solved=solved,
        giving=giving,
        sets_only=sets_only,
        unpriced=costs.unpriced,
        remarks=(*shop.remarks, *remarks),
        changes=shop.changes,
        findings=found_in(build_model(sized, model.junction), trials.choices, then),
    )


def _stretch(
    trials: Trials, costs: Costs, places: NDArray[np.intp], number: int, chosen: Judged
) -> SizedStretch:
    plan, place = trials.plan, int(places[number])
    stretch = plan.stretches[number]
    size_m = plan.size_m(number, place)

    def beside(other: int) -> Neighbour | None:
        if not 0 <= other < len(stretch.sizes_m):
            return None
        moved = places.copy()
        moved[number] = other
        added = float(costs.of(moved[None, :])[0] - costs.of(places[None, :])[0])
        tried = judged(build_model(plan.with_sizes(moved), trials.model.junction), trials.choices)
        return neighbour(chosen, tried, stretch.sizes_m[other], added)

    return SizedStretch(
        stretch=stretch.name,
        run=stretch.run,
        now_m=stretch.now_m,
        chosen_m=stretch.now_m if size_m is None else (size_m,),
        sizes_m=stretch.sizes_m,
        held=stretch.held,
        copies=len(stretch.sections) - 1,
        down=beside(place - 1),
        up=beside(place + 1),
    )


def exit_code(sizing: Sizing) -> int:
    """Return 0 when a sizing that satisfies all was found, 3 when a set has no answer in the best one, else 1."""
    if sizing.found:
        return 0
    return 3 if any(not case.solved for case in sizing.then) else 1
