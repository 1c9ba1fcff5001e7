"""What would keep chips moving where no gate does: a smaller pipe, or a steady bleed of air; both solved again."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np

from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.answers.gates.sets import AskedSets, GateSets, places_of
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import SETTLES, JudgedCases
from ductcalc.cases.variants import outcomes
from ductcalc.catalog import is_adapter, sizes_for, sizes_sold
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import ModelSection, SectionCache
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.change import Change, air_bleed, changed, section_at_most
from ductcalc.shop.hanging import HungPiece, hang, spelled_out
from ductcalc.shop.names import key_of
from ductcalc.shop.shop import Shop
from ductcalc.units.closed_list import UnitSystem

MOST_STEPS = 6
COARSE = 3
"""Of the list of holes each third is tried first."""


@dataclass(frozen=True)
class SmallerPipe:
    """Sections made smaller (section, bore [m] now, bore [m] then) in the order of the air, and the set solved again.

    spoils: machines that may run alone now and would not with it.
    """

    sections: tuple[tuple[str, float, float], ...]
    after: Case
    spoils: tuple[str, ...]


@dataclass(frozen=True)
class AirBleed:
    """A round hole that lets air in at the start of a section: its bore [m] and area [m2], and the set solved with it.

    It is the smallest of the holes that are usually cut (table `sizes`) after which nothing settles.
    spoils: machines that may run alone now and would not with it.
    """

    section: str
    bore_m: float
    after: Case
    spoils: tuple[str, ...]

    @property
    def area_m2(self) -> float:
        """Free area [m2]."""
        return float(bore_area(self.bore_m))


@dataclass(frozen=True)
class CureAnswer:
    """A set that no helper gate cures, and what else would keep its chips moving (None: that does not either).

    helped: the best helper gate, when there is one after which chips move though somebody goes short.
    alone_fine: whether each of its running machines may run alone.
    """

    before: Case
    smaller: SmallerPipe | None
    bleed: AirBleed | None
    helped: HelperAnswer | None
    alone_fine: bool


def cures(asked: AskedSets, number: int, name: str | None, helped: HelperAnswer, made: SectionCache) -> CureAnswer:
    """Return what would keep a set's chips moving; `helped` is the best that gates can do.

    made: sections of the shop's variants that were decided before.
    """
    running = places_of(asked.running[number])
    trial = _Trial(asked, number, made)
    return CureAnswer(
        asked.case(number, name),
        _smaller(trial),
        _bleed(trial),
        helped if helped.helpers else None,
        set(running) <= _well_alone(asked.store),
    )


@dataclass(frozen=True)
class _Trial:
    """A set of a shop that is tried with the shop changed: quickly many times, and in full what is shown."""

    asked: AskedSets
    number: int
    made: SectionCache

    @cached_property
    def shop(self) -> Shop:
        """The shop, spelled out, so that what is changed moves nothing else."""
        return spelled_out(self.asked.store.model.shop)

    @cached_property
    def choice(self) -> Choice:
        """The set as it is asked for."""
        asked, names = self.asked, self.asked.store.machines
        opened, running = asked.opened[self.number], asked.running[self.number]
        wanted = {key_of(names[place]): flow for place, flow in asked.wanted[self.number].items()}
        machines = tuple(names[place] for place in places_of(opened))
        helpers = tuple(names[place] for place in places_of(opened & ~running))
        return Choice("", machines, helpers, MappingProxyType(wanted))

    @cached_property
    def now(self) -> list[int]:
        """Where chips settle as the shop stands."""
        return _settling(self.asked.judged, self.number)

    def _model(self, group: Sequence[Change]) -> Model:
        """Build the shop with changes, which leave it as soundly hung as it was."""
        shop, model = changed(self.shop, group), self.asked.store.model
        return build_model(shop, model.junction, loading=model.loading, hanging=hang(shop, sound=True), made=self.made)

    def settling(self, groups: Sequence[Sequence[Change]]) -> list[tuple[Model, list[int]] | None]:
        """Return for each group of changes the model and where chips then settle; None without an answer."""
        models = [self._model(group) for group in groups]
        found = zip(models, outcomes(models, [self.choice]), strict=True)
        return [(m, _settling(judged, 0)) if judged.solved[0] else None for m, judged in found]

    def cures(self, groups: Sequence[Sequence[Change]]) -> list[bool]:
        """Return which groups of changes keep all chips moving."""
        return [found is not None and not found[1] for found in self.settling(groups)]

    def in_full(self, group: Sequence[Change]) -> AskedSets:
        """Solve the set in the changed shop again, audited."""
        asked, number, store = self.asked, self.number, GateSets(self._model(group))
        names = asked.store.machines

        def same(mask: int) -> int:
            return sum(1 << store.machines.index(names[place]) for place in places_of(mask))

        wanted = {store.machines.index(names[place]): flow for place, flow in asked.wanted[number].items()}
        return store.ask([same(asked.opened[number])], [same(asked.running[number])], [wanted])


def _settling(judged: JudgedCases, column: int) -> list[int]:
    """Return the sections (by number) in which chips settle in a case."""
    found: list[int] = np.flatnonzero(judged.chips[:, column] == SETTLES).tolist()
    return found


def _well_alone(store: GateSets) -> set[int]:
    """Return the machines (by place) that may run alone."""
    alone = store.ask([1 << place for place in range(len(store.machines))]).judged
    return {int(place) for place in np.flatnonzero(alone.may_run)}


def _spoiled(asked: AskedSets, now: AskedSets) -> tuple[str, ...]:
    """Return the machines that may run alone before and not in the changed shop."""
    before, after = asked.store, now.store
    still = {after.machines[place] for place in _well_alone(after)}
    well = (before.machines[place] for place in sorted(_well_alone(before)))
    return tuple(machine for machine in well if machine not in still)


def _smaller(trial: _Trial) -> SmallerPipe | None:
    """Take the next size down of what is wider wherever chips settle, solve again, and repeat while it still does.

    Steps that turn out not to be needed are taken back, where chips did not settle at first.
    """
    sections = trial.asked.store.model.sections
    steps: dict[int, float] = {}
    now: tuple[Model, list[int]] | None = trial.asked.store.model, trial.now
    for _ in range(MOST_STEPS):
        if now is None:
            return None
        model, settling = now
        if not settling:
            return _least_steps(trial, steps, trial.now)
        for section in settling:
            bore = model.sections[section].widest_m or 0.0
            smaller = _next_down(trial.shop, model.hanging.sections[section].pieces, bore)
            if smaller is None:
                return None
            steps[section] = smaller
        now = trial.settling([_changes(sections, steps)])[0]
    return None


def _changes(sections: Sequence[ModelSection], steps: Mapping[int, float]) -> list[Change]:
    """Return the changes that make sections (by number) nowhere wider than a bore [m]."""
    named = ((sections[number], size) for number, size in steps.items())
    return [section_at_most(section.run, _number(section.name), size) for section, size in named]


def _least_steps(trial: _Trial, steps: dict[int, float], needed: Sequence[int]) -> SmallerPipe | None:
    sections = trial.asked.store.model.sections
    while later := sorted(set(steps) - set(needed)):
        fewer = [{n: size for n, size in steps.items() if n != left_out} for left_out in later]
        enough = trial.cures([_changes(sections, some) for some in fewer])
        if not any(enough):
            break
        steps = fewer[enough.index(True)]
    now = trial.in_full(_changes(sections, steps))
    if not now.judged.solved[0] or now.judged.settling[0]:
        return None
    told = ((sections[n].name, sections[n].widest_m or 0.0, steps[n]) for n in sorted(steps))
    return SmallerPipe(tuple(told), now.case(0), _spoiled(trial.asked, now))


def _number(section_name: str) -> int:
    """Return the number of a section within its run."""
    return int(section_name.rsplit(" ", 1)[1])


def _unit(system: UnitSystem) -> str:
    return "in" if system == "inch" else "mm"


def _next_down(shop: Shop, pieces: Sequence[HungPiece], bore_m: float) -> float | None:
    sizes = sizes_for(shop, [hung.piece for hung in pieces])
    return max((size for size in sizes if size < bore_m and not is_adapter(size, bore_m)), default=None)


def _bleed(trial: _Trial) -> AirBleed | None:
    """Find the smallest hole ahead of the settling stretch after which nothing settles; a larger one may starve it."""
    model = trial.asked.store.model
    first = next((section for section in trial.now if model.tree.wye_above[section] >= 0), None)
    if first is None:
        return None
    section = model.sections[first]
    holes = [b for b in sizes_sold("air hole", _unit(trial.shop.first_units)) if b <= section.start_bore_m]

    def cut(bore: float) -> list[Change]:
        return [air_bleed(section.run, _number(section.name), float(bore_area(bore)))]

    place = _smallest(len(holes), lambda places: trial.cures([cut(holes[p]) for p in places]))
    if place is None:
        return None
    tried = trial.in_full(cut(holes[place]))
    if not tried.judged.solved[0] or tried.judged.settling[0]:
        return None
    return AirBleed(section.name, holes[place], tried.case(0), _spoiled(trial.asked, tried))


def _smallest(count: int, holds: Callable[[Sequence[int]], list[bool]]) -> int | None:
    """Return the first of so many places that holds: each third is tried, then those before the first that holds.

    Where none of these holds, all others are tried.
    """
    some = list(range(0, count, COARSE))
    found = next((place for place, good in zip(some, holds(some), strict=True) if good), None)
    rest = range(count) if found is None else range(max(found - COARSE + 1, 0), found)
    left = [place for place in rest if place not in some]
    return next((place for place, good in zip(left, holds(left), strict=True) if good), found)
