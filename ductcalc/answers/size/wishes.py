"""Which wish must give when nothing satisfies everything: each set that is not fine, tried on its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.size.bound import power_of
from ductcalc.answers.size.cost import Costs
from ductcalc.answers.size.proof import ALL_NUMBERS, every_sizing
from ductcalc.answers.size.reasons import Judged, Verdict, judged
from ductcalc.answers.size.search import Search, Standing, best_found, starts_of
from ductcalc.answers.size.trials import UNANSWERED, Trials
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import air_grade
from ductcalc.model.model import build_model

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
MOST_NUMBERS = 500_000
"""What a search for one set alone may solve: under a second."""

MOST_GIVING = 8


@dataclass(frozen=True)
class Giving:
    """A set that is not fine as chosen, and the best that can be done for it alone, whatever the others get.

    now: what decides it as chosen. best: what decides it at its best. air: its poorest port when only air counts, at
    the sizes that leave this one best off. ports: how many ports run; with more than one, sizes could give a single
    port more at the cost of the others. fine: it could be fine by itself. most: every sizing was tried. proven: the
    blower's power rules it out. unanswered: a sizing without an answer, None when none was met; what such sizes give
    is not known, so nothing is proven then.
    """

    now: Verdict
    best: Verdict
    air: Verdict
    ports: int
    fine: bool
    most: bool
    proven: bool
    unanswered: Case | None

    @property
    def sure(self) -> bool:
        """Whether what no sizing does is proven: each was tried, and each has an answer."""
        return self.most and self.unanswered is None

    @property
    def has_air(self) -> bool:
        """Whether every running machine of the set can have its air when nothing else counts."""
        return self.air.kind == "short" and air_grade(self.air.flow_m3_s / self.air.wanted_m3_s) == "ok"


@dataclass
class AirSearch(Search):
    """A search that only looks for air: chips may settle. unanswered: the first sizing met without an answer."""

    unanswered: Places | None = field(default=None, init=False)

    def missing(self, places: Places) -> Floats:
        """Return the share of the wanted air that lacks (sizings, choices); more than enough counts as less."""
        self.solved += len(places) * len(self.trials.choices)
        marks = self.trials.marks(places)
        unsolved = ~marks.solved.all(axis=1)
        if self.unanswered is None and unsolved.any():
            self.unanswered = places[int(unsolved.argmax())]
        return np.where(marks.solved, np.maximum(1.0 - marks.air, 0.0), UNANSWERED)


def giving(trials: Trials, costs: Costs, now: Verdict, choice: Choice, start: Places) -> Giving:
    """Find the best sizings for one set alone, starting from those chosen for all."""
    alone = Trials(trials.plan, (choice,), trials.models)
    few = trials.plan.possible * trials.model.tree.size <= ALL_NUMBERS
    starts = (start, *starts_of(alone))

    def whole(places: Places) -> Judged:
        return judged(build_model(trials.plan.with_sizes(places), trials.model.junction), (choice,))

    def best(search: Search, starts: tuple[Places, ...]) -> Places:
        return (_best_of_all(search) if few else best_found(search, None, starts, 0)).places

    chosen = best(Search(alone, costs, grain=0.0, most=MOST_NUMBERS), starts)
    search = AirSearch(alone, costs, grain=0.0, most=MOST_NUMBERS)
    air = whole(best(search, (chosen, *starts)))
    found = min(whole(chosen), air, key=lambda one: float(one.missing[0]))
    unanswered = _without_answer(air if not air.solved[0] or search.unanswered is None else whole(search.unanswered))
    ruled_out = unanswered is None and bool((power_of(alone).least() > 1.0).any())
    return Giving(
        now=now,
        best=found.verdict(0),
        air=air.poorest(0),
        ports=int(np.isfinite(air.air[:, 0]).sum()),
        fine=bool(found.missing[0] == 0.0),
        most=few,
        proven=ruled_out,
        unanswered=unanswered,
    )


def _without_answer(found: Judged) -> Case | None:
    """Return the case when it has no answer."""
    (case,) = read_cases(found.batch)
    return None if case.solved else case


def _best_of_all(search: Search) -> Standing:
    places = every_sizing(search.trials.plan.ways)
    _, worst, _, cost = search.standings(places)
    return search.standing(places[np.lexsort((cost, worst))[0]])


def givings(trials: Trials, costs: Costs, verdicts: Sequence[Verdict], start: Places) -> tuple[Giving, ...]:
    """Return what must give, of the sets that lack most: what cannot have its air first, then by what lacks.

    start: the places chosen for all (stretches,).
    """
    by_name = {choice.name: choice for choice in trials.choices}
    worst = sorted(verdicts, key=lambda verdict: -verdict.missing)[:MOST_GIVING]
    found = [giving(trials, costs, verdict, by_name[verdict.case], start) for verdict in worst]
    return tuple(sorted(found, key=lambda one: (one.fine, one.has_air, -one.now.missing)))
