"""Which machines may run together as far as speed tells, at the wanted flows: before there is a blower's curve."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.need.need import CaseNeed, case_need, deciding_of
from ductcalc.cases.choices import Choice, clash, every_machine_alone, named_sets, no_machine, usable_machines
from ductcalc.cases.solving import needing, solve_held
from ductcalc.errors import InputError, Problem
from ductcalc.model.model import Model, build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

MOST_SETS = 4000
"""Most sets that are solved."""


@dataclass(frozen=True)
class SpeedGates:
    """Every machine alone, every set of up to so many machines and every named set, at the wanted flows.

    pairs: sets of two, by their machines. deciding: the sets that no other one covers, highest pressure first.
    sharing: pairs on one hose, never open together.
    """

    shop: str
    junction: Junction
    machines: tuple[str, ...]
    sets: tuple[CaseNeed, ...]
    deciding: tuple[CaseNeed, ...]
    sharing: tuple[tuple[str, str], ...]
    always_open: tuple[str, ...]
    remarks: tuple[str, ...]
    changes: tuple[str, ...]

    def pair(self, one: str, other: str) -> CaseNeed | None:
        """Return a set of two machines, None where they share a hose."""
        names = {one, other}
        return next((need for need in self.sets if len(need.case.asked) == 2 and set(need.case.asked) == names), None)

    @property
    def asked(self) -> tuple[CaseNeed, ...]:
        """Every machine alone and every named set: those that the exit code is about."""
        plain = {", ".join(need.case.asked) for need in self.sets if len(need.case.asked) > 1}
        return tuple(need for need in self.sets if need.case.name not in plain)

    @property
    def exit_code(self) -> int:
        """0 when no chips settle in a machine alone or a named set, 1 when some do, 3 when one has no answer."""
        if not all(need.solved for need in self.asked):
            return 3
        return 1 if any(need.case.chips == "settles" for need in self.asked) else 0


SETS: Columns[CaseNeed] = (
    Column("case", lambda need: need.case.name),
    Column("open", lambda need: need.case.asked),
    Column("flow", lambda need: need.flow_m3_s, "flow", "air"),
    Column("static", lambda need: need.static_pa, "pressure", "suction", 2),
    Column("fan_static", lambda need: need.fan_static_pa, "pressure"),
    Column("rated_static", lambda need: need.rated_static_pa, "pressure", "fan static"),
    Column("chips", lambda need: need.case.chips),
    Column("slowest_section", lambda need: need.case.slowest and need.case.slowest.section),
    Column("speed", lambda need: need.case.slowest and need.case.slowest.deciding_velocity_m_s, "speed", "slowest", 1),
    Column("least", lambda need: need.case.slowest and need.case.slowest.settling_velocity_m_s, "speed", "least", 0),
)


def gates_by_speed(shop: Shop, together: int = 2, junction: Junction | None = None) -> SpeedGates:
    """Return what sets of up to so many machines come to at their wanted flows; no collector is needed.

    Parts that nobody wrote are rated as `need` rates them: for the largest of the named sets and machines alone.
    Raises InputError when no machine can be opened, and for more sets than can be told.
    """
    model = build_model(shop, junction)
    machines = usable_machines(model)
    if not machines:
        raise no_machine(model)
    choices, sharing = _choices(model, machines, together)
    batch = solve_held(needing(model, (*every_machine_alone(model), *named_sets(model))), choices)
    sets = tuple(case_need(batch, number) for number in range(len(choices)))
    return SpeedGates(
        shop.name,
        model.junction,
        machines,
        sets,
        deciding_of(sets),
        sharing,
        model.always_open,
        shop.remarks,
        shop.changes,
    )


def _choices(
    model: Model, machines: tuple[str, ...], together: int
) -> tuple[tuple[Choice, ...], tuple[tuple[str, str], ...]]:
    """Return the sets, and the pairs that share a hose."""
    sharing = tuple(pair for pair in combinations(machines, 2) if clash(model, pair))
    found = [*every_machine_alone(model), *named_sets(model)]
    for count in range(2, min(together, len(machines)) + 1):
        for some in combinations(machines, count):
            if len(found) > MOST_SETS:
                said = f"sets of up to {together} of {len(machines)} machines are too many"
                raise InputError([Problem(said, "ask for fewer with --together")])
            if not clash(model, some):
                found.append(Choice(", ".join(some), some))
    return tuple(found), sharing
