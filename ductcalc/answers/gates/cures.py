"""What would keep chips moving where no gate does: a smaller pipe, or a steady bleed of air; both solved again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ductcalc.answers.gates.helpers import HelperAnswer, own_wanted
from ductcalc.answers.gates.sets import places_of
from ductcalc.answers.gates.solved import SolvedSets
from ductcalc.answers.gates.verdicts import SetAnswer, Verdicts, verdicts
from ductcalc.catalog import sizes_sold
from ductcalc.model.model import Model, build_model
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.change import air_bleed, changed, section_at_most
from ductcalc.shop.hanging import spelled_out
from ductcalc.shop.settings import UnitSystem
from ductcalc.shop.shop import Shop

MOST_STEPS = 6


@dataclass(frozen=True)
class SmallerPipe:
    """Sections made smaller (section, bore [m] now, bore [m] then) in the order of the air, and the set solved again.

    spoils: machines that run well alone now and would not with it.
    """

    sections: tuple[tuple[str, float, float], ...]
    after: SetAnswer
    spoils: tuple[str, ...]


@dataclass(frozen=True)
class AirBleed:
    """A round hole that lets air in at the start of a section: its bore [m] and area [m2], and the set solved with it.

    It is the smallest of the holes that are usually cut (table `sizes`) after which nothing settles.
    spoils: machines that run well alone now and would not with it.
    """

    section: str
    bore_m: float
    after: SetAnswer
    spoils: tuple[str, ...]

    @property
    def area_m2(self) -> float:
        """Free area [m2]."""
        return float(bore_area(self.bore_m))


@dataclass(frozen=True)
class CureAnswer:
    """A set that no helper gate makes fine, and what else would keep its chips moving (None: that does not either).

    helped: the best helper gate, when there is one after which chips move though somebody goes short.
    alone_fine: whether each of its running machines is fine alone.
    """

    before: SetAnswer
    smaller: SmallerPipe | None
    bleed: AirBleed | None
    helped: HelperAnswer | None
    alone_fine: bool


def cures(judged: Verdicts, number: int, name: str | None, helped: HelperAnswer) -> CureAnswer:
    """Return what would keep a set's chips moving; `helped` is the best that gates can do."""
    running = places_of(judged.running[number])
    return CureAnswer(
        judged.answer(number, name),
        _smaller(judged, number),
        _bleed(judged, number),
        helped if helped.helpers else None,
        set(running) <= _fine_alone(judged.sets),
    )


def _fine_alone(sets: SolvedSets) -> set[int]:
    """Return the machines (by place) that are served alone while nothing settles."""
    alone = verdicts(sets, [1 << place for place in range(len(sets.machines))])
    return {int(place) for place in np.flatnonzero(alone.fine)}


def _spoiled(judged: Verdicts, now: Verdicts) -> tuple[str, ...]:
    """Return the machines that are fine alone before and not in the changed shop."""
    before, after = judged.sets, now.sets
    still = {after.machines[place] for place in _fine_alone(after)}
    fine = (before.machines[place] for place in sorted(_fine_alone(before)))
    return tuple(machine for machine in fine if machine not in still)


def _again(shop: Shop, model: Model, judged: Verdicts, number: int) -> Verdicts:
    """Solve the same set in a changed shop."""
    sets = SolvedSets(build_model(shop, model.junction, loading=model.loading))
    names = judged.sets.machines

    def same(mask: int) -> int:
        return sum(1 << sets.machines.index(names[place]) for place in places_of(mask))

    wanted = {sets.machines.index(names[place]): flow for place, flow in own_wanted(judged, number).items()}
    return verdicts(sets, [same(judged.open[number])], [same(judged.running[number])], [wanted])


def _settling_sections(judged: Verdicts, number: int) -> list[int]:
    sets = judged.sets
    flow = sets.section_flow_m3_s[judged.rows[number]][:, None]
    ranks = sets.judge.ranks(sets.named_ports([judged.running[number]]))
    return [int(section) for section in np.flatnonzero(sets.judge.settles(flow, ranks)[:, 0])]


def _smaller(judged: Verdicts, number: int) -> SmallerPipe | None:
    """Take the next size down of what is wider wherever chips settle, solve again, and repeat while it still does.

    Steps that turn out not to be needed are taken back.
    """
    now, place = judged, number
    steps: dict[int, float] = {}
    for _ in range(MOST_STEPS):
        settling = _settling_sections(now, place)
        if not settling:
            return _least_steps(judged, number, steps) if steps else None
        for section in settling:
            bore = max((loss.widest_m for loss in now.sets.model.sections[section].body), default=0.0)
            smaller = _next_down(bore, judged.sets.model.shop.first_units)
            if smaller is None:
                return None
            steps[section] = smaller
        now, place = _narrowed(judged, number, steps), 0
        if not now.solved[0]:
            return None
    return None


def _narrowed(judged: Verdicts, number: int, steps: Mapping[int, float]) -> Verdicts:
    """Solve a set again with sections (by number) that are nowhere wider than a bore [m]."""
    model = judged.sets.model
    names = [(model.sections[section], size) for section, size in steps.items()]
    changes = [section_at_most(section.run, _number(section.name), size) for section, size in names]
    return _again(changed(spelled_out(model.shop), changes), model, judged, number)


def _least_steps(judged: Verdicts, number: int, steps: dict[int, float]) -> SmallerPipe:
    for section in sorted(steps):
        fewer = {other: size for other, size in steps.items() if other != section}
        if fewer:
            tried = _narrowed(judged, number, fewer)
            if tried.solved[0] and not tried.settling[0]:
                steps = fewer
    now, sections = _narrowed(judged, number, steps), judged.sets.model.sections
    told = ((sections[n].name, max(loss.widest_m for loss in sections[n].body), steps[n]) for n in sorted(steps))
    return SmallerPipe(tuple(told), now.answer(0), _spoiled(judged, now))


def _number(section_name: str) -> int:
    """Return the number of a section within its run."""
    return int(section_name.rsplit(" ", 1)[1])


def _unit(system: UnitSystem) -> str:
    return "in" if system == "inch" else "mm"


def _next_down(bore_m: float, system: UnitSystem) -> float | None:
    return max((size for size in sizes_sold("spiral", _unit(system)) if size < bore_m * 0.99), default=None)


def _bleed(judged: Verdicts, number: int) -> AirBleed | None:
    """Find the smallest hole ahead of the settling stretch after which nothing settles; a larger one may starve it."""
    model = judged.sets.model
    settling = _settling_sections(judged, number)
    first = next((s for s in settling if model.tree.wye_above[s] >= 0), None)
    if first is None:
        return None
    section = model.sections[first]
    for bore in sizes_sold("air hole", _unit(model.shop.first_units)):
        if bore > section.start_bore_m:
            return None
        cut = air_bleed(section.run, _number(section.name), float(bore_area(bore)))
        tried = _again(changed(model.shop, [cut]), model, judged, number)
        if tried.solved[0] and not tried.settling[0]:
            return AirBleed(section.name, bore, tried.answer(0), _spoiled(judged, tried))
    return None
