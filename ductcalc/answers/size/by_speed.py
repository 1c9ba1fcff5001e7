"""Which diameters before there is a blower's curve: by speed at the wanted flows, with the least fan duty."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.need.need import CaseNeed, case_need
from ductcalc.answers.size.sizing import wanted_sets
from ductcalc.answers.size.stretches import Design, Plan, plan_of
from ductcalc.cases.choices import ports_named
from ductcalc.cases.figures import SectionAnswer
from ductcalc.cases.solving import Batch, needing, solve_held
from ductcalc.catalog import is_adapter
from ductcalc.model.model import build_model
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import SAME_M
from ductcalc.units.closed_list import UnitSystem


@dataclass(frozen=True)
class SpeedStretch:
    """A stretch: bores [m] now and chosen; the section of it in which chips are nearest to settling as chosen.

    held: why it stays as written. case: the case of that section; both None where no chips pass.
    """

    stretch: str
    title: str
    run: str
    now_m: tuple[float, ...]
    chosen_m: tuple[float, ...]
    held: str | None
    slowest: SectionAnswer | None
    case: str | None

    @property
    def changes(self) -> bool:
        """Whether it gets another size."""
        return self.held is None and any(abs(bore - self.chosen_m[0]) > SAME_M for bore in self.now_m)


@dataclass(frozen=True)
class SpeedSizing:
    """Sizes chosen without a blower's curve. sized: the shop with them. units: in which it is written.

    now, then: what a blower must give for every set looked at, as written and as chosen.
    """

    shop: str
    units: UnitSystem
    junction: Junction
    sized: Shop
    stretches: tuple[SpeedStretch, ...]
    now: tuple[CaseNeed, ...]
    then: tuple[CaseNeed, ...]
    remarks: tuple[str, ...]
    changes: tuple[str, ...]

    @property
    def moves(self) -> bool:
        """Whether another size was chosen anywhere."""
        return any(stretch.changes for stretch in self.stretches)

    @property
    def exit_code(self) -> int:
        """0 when no chips settle in any set, 1 when some do, 3 when a set has no answer."""
        if not all(case.solved for case in self.then):
            return 3
        return 1 if any(case.case.chips == "settles" for case in self.then) else 0


STRETCHES: Columns[SpeedStretch] = (
    Column("stretch", lambda one: one.stretch),
    Column("title", lambda one: one.title, None, "stretch"),
    Column("run", lambda one: one.run),
    Column("now", lambda one: max(one.now_m), "size", "now"),
    Column("chosen", lambda one: max(one.chosen_m), "size", "then"),
    Column("speed", lambda one: one.slowest and one.slowest.deciding_velocity_m_s, "speed", "slowest", 2),
    Column("least", lambda one: one.slowest and one.slowest.settling_velocity_m_s, "speed", "least", 1),
    Column("slowest_set", lambda one: one.case, None, "with", 0),
    Column("held", lambda one: one.held),
)


def hardest(cases: Sequence[CaseNeed]) -> CaseNeed | None:
    """Return the case that asks the most fan static pressure; None where none has an answer."""
    solved = [case for case in cases if case.fan_static_pa is not None]
    return max(solved, key=lambda case: case.fan_static_pa or 0.0, default=None)


def size_by_speed(
    shop: Shop, keep: Iterable[str] = (), sets_only: bool = False, junction: Junction | None = None
) -> SpeedSizing:
    """Choose diameters by speed at the wanted flows; no collector is needed.

    Each stretch gets the largest size in which the air of the set that brings most through it still runs as fast as
    its chips need: of all sizes that keep that set moving, the one that asks least of the fan. The rules of
    `stretches.py` hold. Raises InputError when the shop has no machine or set to size for, or no run of a name to keep.
    """
    model = build_model(shop, junction)
    choices = wanted_sets(model, sets_only)
    plan = plan_of(model, keep, np.asarray(model.opening.state(ports_named(model, choices)).live.any(axis=1)))
    now = solve_held(needing(model, choices), choices)
    design = plan.upward(_fast_enough(plan, now)) or plan.written
    sized = plan.hung(design)
    then = solve_held(needing(build_model(sized, model.junction), choices), choices)
    return SpeedSizing(
        shop=sized.name,
        units=sized.system,
        junction=model.junction,
        sized=sized,
        stretches=tuple(_stretch(plan, number, design, then) for number in range(len(plan.stretches))),
        now=tuple(case_need(now, number) for number in range(len(choices))),
        then=tuple(case_need(then, number) for number in range(len(choices))),
        remarks=shop.remarks,
        changes=shop.changes,
    )


def _fast_enough(plan: Plan, batch: Batch) -> Design:
    """Return for each free stretch the largest size in which its most air runs fast enough, else the least size."""
    flow, needed = batch.solved.flow, batch.judged.needed_m_s
    design = list(plan.written)
    for number in plan.free:
        stretch = plan.stretches[number]
        rows = list(stretch.sections)
        most, least = float(flow[rows].max()), float(needed[rows].max())
        fast = [size for size in stretch.sizes_m if least and most / float(bore_area(size)) >= least]
        best = max(fast, default=stretch.sizes_m[0])
        # a size that an adapter alone parts from the one that hangs is no other size
        design[number] = stretch.written_m if is_adapter(best, stretch.written_m) else best
    return tuple(design)


def _stretch(plan: Plan, number: int, design: Design, batch: Batch) -> SpeedStretch:
    stretch, share = plan.stretches[number], batch.judged.settling_share
    rows = list(stretch.sections)
    row, column = np.unravel_index(int(share[rows].argmin()), share[rows].shape)
    moving = bool(np.isfinite(share[rows][row, column]))
    case = case_need(batch, int(column)).case if moving else None
    chosen = (design[number],) if stretch.sizes_m else tuple(stretch.now_m)
    return SpeedStretch(
        stretch.name,
        stretch.title,
        stretch.run,
        tuple(stretch.now_m),
        chosen,
        stretch.held,
        None if case is None or not case.solved else case.sections[rows[int(row)]],
        None if case is None else case.name,
    )
