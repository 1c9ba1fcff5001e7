"""Four, five or six inch for this drop: one run at every size sold, all else as written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ductcalc.answers.size.sizing import wanted_sets
from ductcalc.answers.size.stretches import narrower, plan_of, run_named
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.figures import PortAnswer, SectionAnswer
from ductcalc.cases.judged import AIR, CHIPS, NO_ANSWER, AirGrade, ChipGrade, set_word
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.catalog import sizes_for
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import findings_in
from ductcalc.model.model import Model, build_model
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import SAME_M
from ductcalc.units.closed_list import UnitSystem

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class DropSize:
    """The run at one size [m], in every set that uses it. now: as written. under_port: smaller than its port."""

    size_m: float
    cases: tuple[Case, ...]
    now: bool
    under_port: bool

    @property
    def answered(self) -> tuple[Case, ...]:
        """Sets with an answer."""
        return tuple(case for case in self.cases if case.solved)

    @property
    def unanswered(self) -> tuple[Case, ...]:
        """Sets without one."""
        return tuple(case for case in self.cases if not case.solved)

    @property
    def poorest(self) -> tuple[Case, PortAnswer] | None:
        """The running port with the least of its air, and its set."""
        asked = ((case, machine) for case in self.answered for machine in case.asked_machines if machine.runs)
        found = ((case, machine.poorest) for case, machine in asked)
        return min(found, key=lambda one: one[1].share, default=None)

    @property
    def slowest(self) -> tuple[Case, SectionAnswer] | None:
        """The section that is worst for its chips, and its set; None where no chips pass."""
        found = [(case, slow) for case in self.answered if (slow := case.slowest) is not None]
        return min(found, key=lambda one: (-CHIPS.index(one[0].chips or "moves"), one[1].settling_share), default=None)

    @property
    def air(self) -> AirGrade:
        """The worst grade of air of these sets."""
        return max((case.air or "ok" for case in self.answered), key=AIR.index, default="ok")

    @property
    def chips(self) -> ChipGrade:
        """The worst grade of chips of these sets."""
        return max((case.chips or "moves" for case in self.answered), key=CHIPS.index, default="moves")

    @property
    def word(self) -> str:
        """Its words."""
        return NO_ANSWER if self.unanswered else set_word(self.air, self.chips)

    @property
    def sets(self) -> int:
        """How many sets use the run."""
        return len(self.cases)

    @property
    def fine(self) -> int:
        """Sets in which everybody is served and nothing settles."""
        return sum(case.well for case in self.cases)

    @property
    def served(self) -> int:
        """Sets in which everybody that runs gets its air."""
        return sum(case.air == "ok" for case in self.answered)

    @property
    def all_fine(self) -> bool:
        """Whether every set that uses the run is fine."""
        return self.fine == self.sets


@dataclass(frozen=True)
class DropSizing:
    """A run at each size sold. machines: whose air passes it. sets: the sets that use it."""

    shop: str
    units: UnitSystem
    run: str
    now_m: tuple[float, ...]
    machines: tuple[str, ...]
    sets: tuple[str, ...]
    sizes: tuple[DropSize, ...]
    remarks: tuple[str, ...]
    changes: tuple[str, ...]
    findings: Findings = NOTHING_SEEN

    @property
    def best(self) -> DropSize | None:
        """The smallest size from its port's on with which every set that uses the run is fine, None without one."""
        return next((size for size in self.sizes if size.all_fine and not size.under_port), None)

    @property
    def nearest(self) -> DropSize | None:
        """The size with which most sets are fine, of equal ones that with the least lack; None without any answer."""
        some = (size for size in self.sizes if size.answered)
        return max(some, key=lambda size: (not size.under_port, size.fine, _least(size)), default=None)

    def frame(self) -> pandas.DataFrame:
        """Return a row for each size as a pandas table, SI units in the column names."""
        import pandas

        return pandas.DataFrame([_row(size) for size in self.sizes])


def _least(size: DropSize) -> float:
    air, speed = size.poorest, size.slowest
    return min(1.0 if air is None else air[1].share, 1.0 if speed is None else speed[1].settling_share)


def _row(size: DropSize) -> dict[str, object]:
    poor, slow = size.poorest, size.slowest
    return {
        "size_m": size.size_m,
        "machine": None if poor is None else poor[1].machine,
        "flow_m3_s": None if poor is None else poor[1].flow_m3_s,
        "wanted_m3_s": None if poor is None else poor[1].wanted_m3_s,
        "slowest_section": None if slow is None else slow[1].section,
        "velocity_m_s": None if slow is None else slow[1].deciding_velocity_m_s,
        "needed_m_s": None if slow is None else slow[1].needed_velocity_m_s,
        "settling_velocity_m_s": None if slow is None else slow[1].settling_velocity_m_s,
        "sets": size.sets,
        "fine": size.fine,
        "all_fine": size.all_fine,
    }


def size_drop(shop: Shop, run: str, sets_only: bool = False, junction: Junction | None = None) -> DropSizing:
    """Try one run at every size in which its pipe and hose are sold.

    Judged by every machine alone and every named set that uses it, with `sets_only` by named sets.
    Raises InputError for an unknown run, one without anything to size, and one that no set uses.
    """
    model = build_model(shop, junction)
    collector_of(model)
    plan = plan_of(model)
    key = run_named(plan.shop, run)
    mine = [number for number in plan.free if key_of(plan.stretches[number].run) == key]
    if not mine:
        copies = any(key_of(one.name) == key and one.pieces[0].kind == "like" for one in shop.runs)
        hint = "name the run that it copies" if copies else "take a run with pipe or hose"
        raise InputError([Problem(f'nothing in run "{run}" has a size to choose', hint, given=run)])
    stretches = [plan.stretches[number] for number in mine]
    machines, choices = _who(model, {s for stretch in stretches for s in stretch.sections}, sets_only)
    if not choices:
        hint = f"leave --sets-only out, or name a set with {machines[0]}" if machines else "name a run that is used"
        raise InputError([Problem(f'no wanted set uses run "{run}"', hint, given=run)])
    pieces = [hung.piece for s in stretches for hung in plan.hanging.sections[s.sections[0]].pieces]
    now = tuple(dict.fromkeys(bore for stretch in stretches for bore in stretch.now_m))
    port, sizes = max(stretch.port_m for stretch in stretches), []
    for size_m in sizes_for(shop, pieces):
        design = tuple(size_m if n in mine else bore for n, bore in enumerate(plan.written))
        cases = read_cases(solve_choices(build_model(plan.hung(design), junction), choices, ("loaded",)))
        same = all(abs(bore - size_m) < SAME_M for bore in now)
        sizes.append(DropSize(size_m, cases, same, narrower(size_m, port)))
    return DropSizing(
        shop=shop.name,
        units=shop.system,
        run=stretches[0].run,
        now_m=now,
        machines=machines,
        sets=tuple(choice.name for choice in choices),
        sizes=tuple(sizes),
        remarks=shop.remarks,
        changes=shop.changes,
        findings=findings_in(model, choices),
    )


def _who(model: Model, sections: set[int], sets_only: bool) -> tuple[tuple[str, ...], tuple[Choice, ...]]:
    """Return the machines whose air passes some sections, and the wanted sets in which one of them runs."""
    passing = (p.machine for n, p in enumerate(model.ports) if not p.off and sections & set(model.path(n)))
    machines = tuple(dict.fromkeys(passing))
    return machines, tuple(c for c in wanted_sets(model, sets_only) if any(c.runs(machine) for machine in machines))
