"""Finds a good design by steps: all single and double steps of a round are solved in one call. Nothing is audited here.

Designs are ranked by what is wanted, most wanted first: no set worse than written; as many of the sets wanted first as
can be that may run, then of the others; the grades of those that may not; sets that lack more air than a calculation
can tell; mains where the air is too fast and drops wider than their port; and of equal ones the least cost, where a
change of size must be worth its taper. On the way there what sets lack counts too, so that steps lead somewhere; in the
end no pipe is bought for a lack that stays.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from math import inf

import numpy as np

from ductcalc.answers.size.cost import Costs
from ductcalc.answers.size.stretches import Design, Plan
from ductcalc.arrays import Flags, Floats, Grades
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import JUST_SHORT, OK, JudgedCases, limits
from ductcalc.cases.variants import outcomes
from ductcalc.catalog import fact
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import SectionCache
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.hanging import hang
from ductcalc.shop.standing import SAME_M

Key = tuple[float, ...]
Progress = Callable[[int, int], None]
Ranking = Callable[["TriedDesign"], Key]
ROUNDS = 8
ALL_PAIRS = 1000
"""Up to so many double steps are tried whole; of more only those of stretches that meet at a wye."""

GRAIN = 0.05
"""Share of a wish in steps of which a lack is told apart: finer no calculation of ducts is; our judgement."""

LESS_AIR = 0.1
"""Share of its air that the poorest machine of a set that may not run may lose: no verdict is finer; our judgement."""

EARNED = 0.02
"""Share of the cost that other sizes must save where they bring nothing else; our judgement."""

UNANSWERED = 3
WORTH = 1e-9


@dataclass(frozen=True)
class TriedDesign:
    """A design and what it comes to, each (sets,): which sets may run, the least share of what that takes in air and
    speed, what they lack of all that is wanted, which are worse than as written.

    key: its rank; less is better. guide: its rank on the way. cost: without what its changes of size must be worth.
    """

    design: Design
    key: Key
    guide: Key
    may_run: Flags
    share: Floats
    lack: Floats
    worse: Flags
    cost: float

    @property
    def brings(self) -> Key:
        """Its rank without the grades of sets that may not run, and without its price."""
        return (*self.key[:3], *self.key[5:-1])


SETS_OF_KEY = 6
"""Parts of a design's rank that tell how its sets stand; then come rules that are broken, and the price."""


@dataclass
class DesignSearch:
    """What has been tried. first: which choices are wanted first (choices,). now: the shop as written, judged."""

    plan: Plan
    choices: Sequence[Choice]
    first: Flags
    now: JudgedCases
    costs: Costs
    tried: dict[Design, TriedDesign] = field(default_factory=dict)
    made: SectionCache = field(default_factory=SectionCache)
    written: TriedDesign = field(init=False)

    def __post_init__(self) -> None:
        """Rank the shop as written, whatever rules it breaks."""
        self.written = self._judge(self.plan.written, self.now.model, self.now)

    def model(self, design: Design) -> Model:
        """Return the model of a design."""
        shop = self.plan.hung(design)
        return build_model(shop, self.now.model.junction, hanging=hang(shop, sound=True), made=self.made)

    def best(self, progress: Progress | None = None) -> TriedDesign | None:
        """Return the best design found from a start by speed and from what is written; None when none can be hung."""
        starts = [start for start in (self._by_speed(), self._as_written()) if start is not None]
        around = [self.plan.whole(start, steps) for start in starts for steps in (-1, 1)]
        if not self.solve([*starts, *(one for one in around if one is not None)]):
            return None
        for start in (min(self.tried.values(), key=_guide), self.tried[starts[-1]]):
            self._settled(start, _guide, progress)
        return self._settled(min(self.tried.values(), key=_key), _key, progress)

    def as_it_hangs(self, best: TriedDesign) -> TriedDesign:
        """Return the design without changes that bring nothing: what hangs stays unless that costs `EARNED`.

        How a set stands that may not run either way is nothing to buy pipe for, nor is a limit that it crosses by less
        than a calculation can tell.
        """
        goal = best
        while True:
            moved = self._moved(best.design)
            found = self.solve(design for design in self._taken_back(best.design) if self._moved(design) < moved)
            good = [one for one in found if self.as_good(one, goal)]
            if not good:
                return best
            best = min(good, key=lambda one: (self._moved(one.design), one.key))

    def as_good(self, one: TriedDesign, goal: TriedDesign) -> bool:
        """Whether a design brings what another one does and costs no more, both as far as a calculation can tell."""
        unsure = goal.may_run & ~one.may_run & (goal.share <= one.share * (1.0 + limits().near))
        worse, first, others, *rest = one.brings
        brings = worse, first - float((unsure & self.first).sum()), others - float((unsure & ~self.first).sum()), *rest
        return brings <= goal.brings and one.cost <= goal.cost + EARNED * self.written.cost

    def _moved(self, design: Design) -> int:
        """Count the stretches that are not as written."""
        pairs = zip(design, self.plan.stretches, strict=True)
        return sum(any(abs(bore - now) > SAME_M for now in stretch.now_m) for bore, stretch in pairs if stretch.sizes_m)

    def _taken_back(self, design: Design) -> Iterator[Design]:
        """Yield the design with a stretch as written again, with all of a run, with all; others follow the rules."""
        plan = self.plan
        moved = [n for n in plan.free if abs(design[n] - plan.written[n]) > SAME_M]
        of_run: dict[str, list[int]] = {}
        for number in moved:
            of_run.setdefault(plan.stretches[number].run, []).append(number)
        groups = (*([number] for number in moved), *of_run.values(), moved)
        for numbers in filter(None, groups):
            yield from filter(None, plan.taken_back(design, numbers))

    def solve(self, designs: Iterable[Design]) -> list[TriedDesign]:
        """Return what designs come to; those not tried before are solved in one call."""
        wished = list(dict.fromkeys(designs))
        new = [design for design in wished if design not in self.tried]
        models = [self.model(design) for design in new]
        for design, model, found in zip(new, models, outcomes(models, self.choices), strict=True):
            self.tried[design] = self._judge(design, model, found)
        return [self.tried[design] for design in wished]

    def grades(self, found: JudgedCases) -> tuple[Grades, Grades, Flags]:
        """Return grades of air and chips, and which sets are worse than as written; (sets,) each.

        A set that may run and could not is never worse, nor is one that lacks less air than a calculation can tell. One
        that may run neither way is worse only where it falls short, its chips settle, or its poorest machine loses more
        than `LESS_AIR` of its air and no set wanted first may run for it.
        """
        air = np.where(found.solved, found.case_air, UNANSWERED)
        chips = np.where(found.solved, found.case_chips, UNANSWERED)
        now_air = np.where(self.now.solved, self.now.case_air, UNANSWERED)
        now_chips = np.where(self.now.solved, self.now.case_chips, UNANSWERED)
        gained = found.may_run & ~self.now.may_run
        had, has = np.minimum(self.now.case_share, 1.0), np.minimum(found.case_share, 1.0)
        starved = (has < (1.0 - LESS_AIR) * had) & ~found.may_run & (not (gained & self.first).any())
        lacking = (air > now_air) & np.where(self.now.may_run, lacks_air(found, air), air > JUST_SHORT)
        return air, chips, (lacking | (chips > now_chips) | starved) & ~gained

    def _judge(self, design: Design, model: Model, found: JudgedCases) -> TriedDesign:
        air, chips, worse = self.grades(found)
        lacking = ~found.may_run
        air_share, speed_share = found.case_share, found.case_settling_share
        share = np.minimum(air_share / limits().just_short, speed_share)
        lack = np.where(found.solved, np.maximum(1.0 - np.minimum(air_share, speed_share), 0.0), 2.0)
        coarse = np.where(lacking, np.ceil(lack / GRAIN - WORTH), 0.0)
        cost = self.costs.of_model(model)
        price = 0.0 if cost is None else cost + self.costs.changes(design)
        groups = (self.first, ~self.first)
        sets = [inf if cost is None else worse.sum(), *(lacking[group].sum() for group in groups)]
        last = [
            (~lacking & lacks_air(found, air)).sum(),
            self.too_fast(design, lacking) + self._over_port(design),
            round(price, 9),
        ]
        grades = np.where(lacking, air + chips, 0)
        key, guide = (
            tuple(float(one) for one in (*sets, *(part[group].sum() for group in groups), *last))
            for part in (grades, coarse)
        )
        return TriedDesign(design, key, guide, found.may_run, share, lack, worse, cost or 0.0)

    def _by_speed(self) -> Design | None:
        """Return ports' sizes in drops, and in all else the largest size that the largest set's air still runs fast in.

        Source: table `parts`, main speed, its low end, for dry chips; other dust in proportion.
        """
        flow, needed = self._wanted.max(axis=1), self.now.needed_m_s.max(axis=1)
        share = fact("parts", "main speed").low / fact("transport", "dry chips").value
        design = list(self.plan.written)
        for number in self.plan.free:
            stretch = self.plan.stretches[number]
            least = share * max(needed[s] for s in stretch.sections)
            air = max(flow[s] for s in stretch.sections)
            fast = [size for size in stretch.sizes_m if least and air / float(bore_area(size)) >= least]
            design[number] = stretch.sizes_m[0] if stretch.port_m or not fast else fast[-1]
        return self.plan.upward(design)

    @cached_property
    def _wanted(self) -> Floats:
        """Air [m3/s] that each set wants through each section (sections, sets)."""
        model, judged = self.now.model, self.now
        flow = np.zeros((model.tree.size, judged.count))
        np.add.at(flow, model.opening.port_section, np.where(judged.taking, judged.wanted_m3_s, 0.0))
        for _, outlet, streams, _ in model.tree.walk:
            for stream in streams:
                flow[outlet] += flow[stream]
        return flow

    def too_fast(self, design: Design, lacking: Flags) -> int:
        """Count stretches behind wyes in which a set that may run has its air faster than a main should have it."""
        flow, most = self._wanted[:, ~lacking].max(axis=1, initial=0.0), fact("parts", "main speed").high
        mains = (number for number in self.plan.free if not self.plan.stretches[number].port_m)
        flows = ((max(flow[s] for s in self.plan.stretches[n].sections), float(bore_area(design[n]))) for n in mains)
        return sum(bool(air > most * area) for air, area in flows)

    def _over_port(self, design: Design) -> int:
        """Count drops that are wider than their port."""
        drops = (number for number in self.plan.free if self.plan.stretches[number].port_m)
        return sum(design[number] > self.plan.stretches[number].sizes_m[0] + SAME_M for number in drops)

    def _as_written(self) -> Design | None:
        """Return what is written, each stretch in the nearest size that may hang there."""
        design = list(self.plan.written)
        for number in self.plan.free:
            design[number] = min(self.plan.stretches[number].sizes_m, key=lambda size: abs(size - design[number]))
        return self.plan.upward(design)

    def _settled(self, best: TriedDesign, rank: Ranking, progress: Progress | None) -> TriedDesign:
        """Step to better designs until no step is better: the best of each round, and the best ones taken together."""
        for number in range(ROUNDS):
            found = self.solve(self._steps(best.design))
            better = sorted((one for one in found if rank(one) < rank(best)), key=rank)
            if progress is not None:
                progress(number + 1, ROUNDS)
            if not better:
                break
            best = min(better[0], *self.solve(self._merged(best.design, better)), key=rank)
        return best

    def _steps(self, design: Design) -> Iterator[Design]:
        """Yield every design one step off, and those two steps off."""
        free, plan = self.plan.free, self.plan
        singles = {(n, way): found for n in free for way in (-1, 1) if (found := plan.step(design, n, way)) is not None}
        yield from singles.values()
        pairs = list(combinations(free, 2))
        if 4 * len(pairs) > ALL_PAIRS:
            pairs = self._meeting()
        for one, two in pairs:
            for first, second in ((-1, -1), (-1, 1), (1, -1), (1, 1)):
                half = singles.get((one, first))
                found = None if half is None else plan.step(half, two, second)
                if found is not None and found != design:
                    yield found
        for number in free:
            for way in (-1, 1):
                found = None if (number, way) not in singles else plan.step(singles[number, way], number, way)
                if found is not None:
                    yield found

    def _meeting(self) -> list[tuple[int, int]]:
        """Return pairs of free stretches that meet at a wye."""
        free = set(self.plan.free)
        into: dict[int, list[int]] = {}
        for start, to, _ in self.plan.joints:
            into.setdefault(to, []).append(start)
        groups = ((to, *starts) for to, starts in into.items())
        pairs = ((one, two) for group in groups for one, two in combinations(sorted(group), 2))
        return list(dict.fromkeys(pair for pair in pairs if free.issuperset(pair)))

    def _merged(self, base: Design, better: Sequence[TriedDesign]) -> Iterator[Design]:
        """Yield the best steps of a round taken together, one more each time, as far as they move other stretches."""
        bores = list(base)
        moved: set[int] = set()
        for one in better:
            mine = {n for n, (now, then) in enumerate(zip(base, one.design, strict=True)) if abs(now - then) > SAME_M}
            if mine & moved:
                continue
            moved |= mine
            for number in mine:
                bores[number] = one.design[number]
            found = self.plan.upward(bores)
            if found is not None:
                yield found


def lacks_air(found: JudgedCases, air: Grades) -> Flags:
    """Return which sets (sets,) get less air than they want by more than a calculation can tell; air: their grades."""
    return (air > OK) & (found.case_share < 1.0 - limits().near)


def _key(tried: TriedDesign) -> Key:
    return tried.key


def _guide(tried: TriedDesign) -> Key:
    return tried.guide
