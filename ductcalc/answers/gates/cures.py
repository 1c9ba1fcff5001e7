"""What would keep chips moving where no gate does: a smaller pipe, or a steady bleed of air; both solved again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ductcalc.answers.gates.helpers import own_wanted
from ductcalc.answers.gates.sets import places_of
from ductcalc.answers.gates.solved import SolvedSets
from ductcalc.answers.gates.verdicts import SetAnswer, Verdicts, verdicts
from ductcalc.catalog import sizes_sold
from ductcalc.model.model import Model, build_model
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.change import with_air_bleed, with_section_size
from ductcalc.shop.settings import UnitSystem
from ductcalc.shop.shop import Shop

MOST_STEPS = 6
DOUBLINGS = 8


@dataclass(frozen=True)
class SmallerPipe:
    """Sections made smaller (section, bore [m] now, bore [m] then) and the set solved with them."""

    sections: tuple[tuple[str, float, float], ...]
    after: SetAnswer


@dataclass(frozen=True)
class AirBleed:
    """An opening that lets air in at the start of a section: its free area [m2], and the set solved with it."""

    section: str
    area_m2: float
    after: SetAnswer


@dataclass(frozen=True)
class CureAnswer:
    """A set that no helper gate cures, and what would (None: that does not either)."""

    before: SetAnswer
    smaller: SmallerPipe | None
    bleed: AirBleed | None


def cures(judged: Verdicts, number: int, name: str | None = None) -> CureAnswer:
    """Return what would keep a set's chips moving."""
    return CureAnswer(judged.answer(number, name), _smaller(judged, number), _bleed(judged, number))


def _again(shop: Shop, model: Model, judged: Verdicts, number: int) -> Verdicts:
    """Solve the same set in a changed shop."""
    changed = build_model(shop, model.junction, loading=model.loading)
    sets = SolvedSets(changed)
    names = judged.sets.machines

    def same(mask: int) -> int:
        return sum(1 << sets.machines.index(names[place]) for place in places_of(mask))

    wanted = {sets.machines.index(names[place]): flow for place, flow in own_wanted(judged, number).items()}
    return verdicts(sets, [same(judged.open[number])], [same(judged.running[number])], [wanted])


def _settling_sections(judged: Verdicts, number: int) -> list[int]:
    sets = judged.sets
    row = sets.row[judged.open[number]]
    flow = sets.section_flow_m3_s[row][:, None]
    ranks = sets.judge.ranks(sets.named_ports([judged.running[number]]))
    return [int(section) for section in np.flatnonzero(sets.judge.settles(flow, ranks)[:, 0])]


def _smaller(judged: Verdicts, number: int) -> SmallerPipe | None:
    """Take the next size down wherever chips settle, solve again, and repeat while it still does."""
    model = judged.sets.model
    shop, now, place = model.shop, judged, number
    sizes: dict[str, tuple[float, float]] = {}
    for _ in range(MOST_STEPS):
        settling = _settling_sections(now, place)
        if not settling:
            after = now.answer(place)
            return SmallerPipe(tuple((name, *pair) for name, pair in sizes.items()), after) if sizes else None
        for section in settling:
            found = now.sets.model.sections[section]
            bore = found.widest_m()
            smaller = _next_down(bore, model.shop.first_units)
            if smaller is None:
                return None
            name, number_in_run = found.name, int(found.name.rsplit(" ", 1)[1])
            sizes[name] = (sizes.get(name, (bore, bore))[0], smaller)
            shop = with_section_size(shop, found.run, number_in_run, smaller)
        now = _again(shop, model, judged, number)
        place = 0
        if not now.solved[0]:
            return None
    return None


def _next_down(bore_m: float, system: UnitSystem) -> float | None:
    sold = sizes_sold("spiral", "in" if system == "inch" else "mm")
    return max((size for size in sold if size < bore_m * 0.99), default=None)


def _bleed(judged: Verdicts, number: int) -> AirBleed | None:
    """Find the smallest opening ahead of the settling stretch after which nothing settles."""
    model = judged.sets.model
    settling = _settling_sections(judged, number)
    first = next((s for s in settling if model.tree.wye_above[s] >= 0), None)
    if first is None:
        return None
    section = model.sections[first]
    place = int(section.name.rsplit(" ", 1)[1])
    most = float(bore_area(section.start_bore_m))

    def solve(area: float) -> Verdicts:
        return _again(with_air_bleed(model.shop, section.run, place, area), model, judged, number)

    best = _halve(solve, most)
    return None if best is None else AirBleed(section.name, best[0], best[1].answer(0))


def _halve(solve: Callable[[float], Verdicts], most: float) -> tuple[float, Verdicts] | None:
    """Double a small opening until it cures (a large one may starve the machine again), then halve between."""
    low = high = 0.0
    found: Verdicts | None = None
    for area in (most / 2.0**step for step in range(DOUBLINGS, -1, -1)):
        tried = solve(area)
        if tried.solved[0] and not tried.settling[0]:
            high, found = area, tried
            break
        low = area
    if found is None:
        return None
    while high - low > 0.03 * high:
        middle = 0.5 * (low + high)
        tried = solve(middle)
        if tried.solved[0] and not tried.settling[0]:
            high, found = middle, tried
        else:
            low = middle
    return high, found
