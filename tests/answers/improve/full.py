"""Changes solved by whole checks of changed shops: the slow way that shares nothing with the search."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import ductcalc
from ductcalc.answers.improve.candidate import Candidate, in_order
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.improve import Improve
from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.shop import Shop
from ductcalc.shop.change import changed

SECOND = " second port"


def ask_of(answer: Improve) -> ductcalc.Ask:
    """Return the case of an answer as a person asks for it."""
    choice = answer.subject.choice
    return ductcalc.Ask.machines(*choice.machines) if answer.subject.alone else ductcalc.Ask.gate_set(choice.name)


def shop_with(shop: Shop, candidates: Sequence[Candidate]) -> Shop:
    """Return the shop as written with changes made one after the other."""
    return changed(shop, [one.change for one in in_order(candidates)])


def case_with(shop: Shop, candidates: Sequence[Candidate], ask: ductcalc.Ask, junction: object = None) -> Case:
    """Return the case of a whole check of the changed shop, with the filter that the changes leave."""
    clean = any(one.kind == "clean filter" for one in candidates)
    cases = ductcalc.check(shop_with(shop, candidates), [ask], junction).cases  # type: ignore[arg-type]
    return next(case for case in cases if case.filter == ("clean" if clean else "loaded"))


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


def told(answer: Improve) -> list[Gain]:
    """Return every change and group of changes that is told."""
    return [*answer.gains, *answer.pairs.told, *answer.threes.told]


def groups(candidates: Sequence[Candidate], size: int) -> list[tuple[Candidate, ...]]:
    """Return every group of so many changes that do not change one thing twice."""
    return [
        group
        for group in combinations(candidates, size)
        if not any(one.touches & other.touches for one, other in combinations(group, 2))
    ]


def worse_in(one: Case, two: Case, band: float) -> set[str]:
    """Return in what a case is worse than before, machine by machine and section by section."""
    if not one.solved:
        return set()
    if not two.solved:
        return {"no answer"}
    found = set()
    for machine in two.machines:
        before = one.machine(machine.machine)
        order = ("ok", "just short", "short")
        if machine.runs and order.index(machine.grade) > order.index(before.grade):
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
