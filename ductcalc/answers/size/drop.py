"""Four, five or six inch for this drop: one run at every size sold, all else as written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ductcalc.answers.size.reasons import Judged, Verdict, judged
from ductcalc.answers.size.sizing import wanted_sets
from ductcalc.answers.size.stretches import Plan, plan_of, run_named, same_bores
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import AIR, CHIPS, MOVES, NO_ANSWER, OK, AirGrade, ChipGrade, set_word
from ductcalc.cases.solving import collector_of
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import findings_in
from ductcalc.model.model import Model, build_model
from ductcalc.shop.change import changed, section_size
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop
from ductcalc.units.closed_list import UnitSystem

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class DropSize:
    """The run at one size [m]. poorest: the running port with the least of its air, over the sets that use the run.

    slowest: the section that is worst for its chips over these sets (None: no chips pass). fine: sets in which
    everybody is served and nothing settles. air, chips: the worst grades of these sets. unanswered: sets without an
    answer, with the cases that tell why. now: the run has this size as written.
    """

    size_m: float
    poorest: Verdict | None
    slowest: Verdict | None
    sets: int
    fine: int
    served: int
    air: AirGrade
    chips: ChipGrade
    unanswered: tuple[Case, ...]
    now: bool

    @property
    def all_fine(self) -> bool:
        """Whether every set that uses the run is fine."""
        return self.fine == self.sets

    @property
    def word(self) -> str:
        """Its words."""
        return NO_ANSWER if self.unanswered else set_word(self.air, self.chips)


@dataclass(frozen=True)
class DropSizing:
    """A run at each size sold. machines: whose air passes it. sets: the sets that use it. best: None when none is fine.

    nearest: the size with which most sets are fine, of equal ones that with least lacking; None when no set has an
    answer at any size.
    """

    shop: str
    units: UnitSystem
    run: str
    now_m: tuple[float, ...]
    machines: tuple[str, ...]
    sets: tuple[str, ...]
    sizes: tuple[DropSize, ...]
    nearest: DropSize | None
    remarks: tuple[str, ...]
    changes: tuple[str, ...]
    findings: Findings = NOTHING_SEEN

    @property
    def best(self) -> DropSize | None:
        """The smallest size with which every set that uses the run is fine, None when there is none."""
        return next((size for size in self.sizes if size.all_fine), None)

    def frame(self) -> pandas.DataFrame:
        """Return a row for each size as a pandas table, SI units in the column names."""
        from ductcalc.answers.size.frame import drop_frame

        return drop_frame(self)


def size_drop(shop: Shop, run: str, sets_only: bool = False, junction: Junction | None = None) -> DropSizing:
    """Try one run at every size in which its pipe and hose are sold.

    Judged by every machine alone and every named set that uses it, with `sets_only` by named sets.
    Raises InputError for an unknown run, one without anything to size, and one that no set uses.
    """
    model = build_model(shop, junction)
    collector_of(model)
    plan = plan_of(shop)
    key = run_named(plan.shop, run)
    mine = tuple(stretch for stretch in plan.stretches if key == run_named(plan.shop, stretch.run) and stretch.sizes_m)
    if not mine:
        hint = "name the run that it copies" if _copies(plan, key) else "take a run with pipe or hose"
        raise InputError([Problem(f'nothing in run "{run}" has a size to choose', hint, given=run)])
    sections = {section for stretch in mine for section in stretch.sections}
    machines = tuple(m for m in model.machines if any(sections & set(model.path(p)) for p in _ports(model, m)))
    choices = tuple(c for c in wanted_sets(model, sets_only) if any(c.runs(machine) for machine in machines))
    if not choices:
        hint = _unused_hint(model, sections, machines)
        raise InputError([Problem(f'no wanted set uses run "{run}"', hint, given=run)])
    common = sorted(set(mine[0].sizes_m).intersection(*(stretch.sizes_m for stretch in mine[1:])))
    tried = {size: _tried(plan, [(s.run, s.number) for s in mine], size, choices, model) for size in common}
    now = tuple(dict.fromkeys(bore for stretch in mine for bore in stretch.now_m))
    sizes = tuple(_size(size, found, same_bores(now, size)) for size, found in tried.items())
    return DropSizing(
        shop=shop.name,
        units=shop.system,
        run=mine[0].run,
        now_m=now,
        machines=machines,
        sets=tuple(choice.name for choice in choices),
        sizes=sizes,
        nearest=min(
            (size for size in sizes if len(size.unanswered) < size.sets),
            key=lambda size: (-size.fine, float(tried[size.size_m].missing.max())),
            default=None,
        ),
        remarks=shop.remarks,
        changes=shop.changes,
        findings=findings_in(model, choices),
    )


def _unused_hint(model: Model, sections: set[int], machines: tuple[str, ...]) -> str:
    """Return what to do about a run that no wanted set uses: its machines are switched off, or in no named set."""
    if machines:
        return f"leave --sets-only out, or name a set with {machines[0]} under [gates.sets]"
    off = [port.machine for n, port in enumerate(model.ports) if port.off and sections & set(model.path(n))]
    if off:
        return f"{off[0]} is off: write the air that it wants under flow, or name a run that is used"
    return "no machine's air passes it: name a run that is used"


def _copies(plan: Plan, key: str) -> bool:
    return any(run_named(plan.shop, run.name) == key and run.pieces[0].kind == "like" for run in plan.shop.runs)


def _ports(model: Model, machine: str) -> list[int]:
    return [number for number, port in enumerate(model.ports) if port.machine == machine and not port.off]


def _tried(
    plan: Plan, stretches: list[tuple[str, int]], size_m: float, choices: tuple[Choice, ...], model: Model
) -> Judged:
    shop = changed(plan.shop, [section_size(run, number, size_m) for run, number in stretches])
    return judged(build_model(shop, model.junction), choices)


def _size(size_m: float, found: Judged, now: bool) -> DropSize:
    """Read one size: its poorest port and slowest section over all sets with an answer."""
    judged, answered = found.cases, np.flatnonzero(found.solved).tolist()
    poorest = min(answered, key=lambda n: judged.case_share[n], default=None)
    worst = min(answered, key=lambda n: (-judged.case_chips[n], judged.case_settling_share[n]), default=None)
    return DropSize(
        size_m=size_m,
        poorest=None if poorest is None else found.poorest(poorest),
        slowest=None if worst is None else found.slowest(worst),
        sets=judged.count,
        fine=int(judged.well.sum()),
        served=int(judged.served.sum()),
        air=AIR[judged.case_air[answered].max(initial=OK)],
        chips=CHIPS[judged.case_chips[answered].max(initial=MOVES)],
        unanswered=tuple(case for case in read_cases(found.batch) if not case.solved),
        now=now,
    )


def exit_code(drop: DropSizing) -> int:
    """Return 0 when a size makes every set that uses the run fine, 3 when no size has all answers, else 1."""
    if drop.best is not None:
        return 0
    return 3 if all(size.unanswered for size in drop.sizes) else 1
