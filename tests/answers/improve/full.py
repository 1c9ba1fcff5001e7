"""Changes solved by whole checks of changed shops: the slow way that shares nothing with the search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import ductcalc
from ductcalc.answers.improve.candidate import Candidate, in_order
from ductcalc.answers.improve.candidates import candidates
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.improve import Improve
from ductcalc.cases.case import Case
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.cases.choices import Choice, default_choices
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from ductcalc.shop.change import changed
from ductcalc.shop.hanging import spelled_out

SECOND = " second port"


def offered(shop: Shop, answer: Improve) -> tuple[Candidate, ...]:
    """Return every single change that is tried for an answer's subject."""
    model = build_model(spelled_out(shop))
    return candidates(model, answer.subject.choice, settling=bool(answer.case.settling))


def shop_with(shop: Shop, group: Sequence[Candidate]) -> Shop:
    """Return the shop as written with changes made one after the other."""
    return changed(shop, [one.change for one in in_order(group)])


def uses(choice: Choice, group: Sequence[Candidate]) -> list[Choice]:
    """Return what is open in place of a choice: gates opened or shut besides, or one machine at a time."""
    machines, helpers = list(choice.machines), list(choice.helpers)
    for one in group:
        if one.kind == "helper gate":
            machines.append(one.machine or "")
            helpers.append(one.machine or "")
        elif one.kind == "helper shut":
            machines.remove(one.machine or "")
            helpers.remove(one.machine or "")
    if any(one.kind == "one at a time" for one in group):
        alone = [machine for machine in machines if machine not in helpers]
        return [Choice(machine, (machine,), (), choice.wanted_m3_s) for machine in alone]
    return [replace(choice, machines=tuple(machines), helpers=tuple(helpers))]


def cases_with(
    shop: Shop, group: Sequence[Candidate], choices: Sequence[Choice], junction: object = None
) -> list[Case]:
    """Return cases of a whole check of the changed shop, with the filter that the changes leave."""
    clean = any(one.kind == "clean filter" for one in group)
    cases = ductcalc.check(shop_with(shop, group), choices, junction).cases  # type: ignore[arg-type]
    return [case for case in cases if case.filter == ("clean" if clean else "loaded")]


def own_cases(shop: Shop, group: Sequence[Candidate], answer: Improve, junction: object = None) -> list[Case]:
    """Return the subject's case, or those that stand in its place."""
    return cases_with(shop, group, uses(answer.subject.choice, group), junction)


def worst(cases: Sequence[Case]) -> Case:
    """Return the case that stands worst: without an answer, chips settling, the poorest port."""
    return min(cases, key=lambda case: (case.solved, not case.settling, least_share(case) or 0.0))


def every_case(shop: Shop, group: Sequence[Candidate], answer: Improve) -> list[Case]:
    """Return every wanted case, the subject's by the worst of those that stand in its place."""
    choices = default_choices(build_model(shop))
    mine = [n for n, choice in enumerate(choices) if choice.name == answer.subject.choice.name]
    found = cases_with(shop, group, choices)
    for n in mine:
        found[n] = worst(own_cases(shop, group, answer))
    return found


def port_airs(case: Case) -> dict[tuple[str, str], tuple[float, float]]:
    """Return air and wish of each running port; one that was put beside another counts with it."""
    found: dict[tuple[str, str], tuple[float, float]] = {}
    for machine in case.machines:
        for port in machine.ports if machine.asked and machine.runs else ():
            key = machine.machine, port.run.removesuffix(SECOND)
            flow, wanted = found.get(key, (0.0, 0.0))
            found[key] = flow + port.flow_m3_s, wanted + port.wanted_m3_s
    return found


def least_share(case: Case) -> float | None:
    """Return what the poorest running port gets of what it wants."""
    return min(flow / wanted for flow, wanted in port_airs(case).values()) if case.solved else None


def least_pace(case: Case) -> float:
    """Return how near to settling a case is at its slowest section."""
    return min((pace(one) for one in case.sections if one.word in ("moves", "slow", "settles")), default=9.0)


def told(answer: Improve) -> list[Gain]:
    """Return every change and group of changes that is told."""
    return [*answer.gains, *answer.pairs.told, *answer.threes.told]


def groups(found: Sequence[Candidate], size: int) -> list[tuple[Candidate, ...]]:
    """Return every group of so many changes that do not change one thing twice."""
    return [
        group
        for group in combinations(found, size)
        if not any(one.touches & other.touches for one, other in combinations(group, 2))
    ]


def worse_in(one: Case, two: Case) -> set[str]:
    """Return in what a case is worse than before, machine by machine and section by section."""
    if not one.solved or (two.may_run and not one.may_run):
        return set()
    if not two.solved:
        return {"no answer"}
    band = 0.1 if one.air == "short" else LEAST_BAND
    found = set()
    for machine in two.machines:
        before = one.machine(machine.machine)
        if not machine.runs:
            continue
        order = ("ok", "just short", "short")
        if order.index(machine.grade) > (order.index(before.grade) if before.runs else 0):
            found.add(machine.grade)
        elif machine.word == "short" and poorest_share(machine) < poorest_share(before) * (1.0 - band):
            found.add("less air")
    for section in two.sections:
        was = section_before(one, two, section)
        if section.word == "settles" and (was is None or was.word != "settles"):
            found.add("settles")
        elif section.word == "settles" and was is not None and pace(section) < pace(was) * (1.0 - band):
            found.add("slower")
    return found


def poorest_share(machine: MachineAnswer) -> float:
    """Return what a machine's poorest port gets of what it wants."""
    return min(port.flow_m3_s / port.wanted_m3_s for port in machine.ports)


def pace(section: SectionAnswer) -> float:
    """Return how near to settling a section is: speed over the one below which chips settle, the lesser of two."""
    needed, rising = section.needed_velocity_m_s or 1.0, section.riser_velocity_m_s
    flat = section.velocity_m_s / (3500 / 3937 * needed)
    return flat if rising is None else min(flat, rising / (3700 / 3937 * needed))


def section_before(one: Case, two: Case, section: SectionAnswer) -> SectionAnswer | None:
    """Return what a section was: a wye right behind the first port of its run moves all numbers on by one."""
    then = [s.section for s in two.sections if s.run == section.run]
    before = [s for s in one.sections if s.run == section.run]
    place = then.index(section.section) - (len(then) - len(before))
    return before[max(0, place)] if before else None
