"""Changes solved by whole checks of changed shops: the slow way that shares nothing with the search."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import ductcalc
from ductcalc.answers.case import CaseAnswer
from ductcalc.answers.improve.candidate import Candidate, in_order
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.improve import Improve
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


def case_with(shop: Shop, candidates: Sequence[Candidate], ask: ductcalc.Ask, junction: object = None) -> CaseAnswer:
    """Return the case of a whole check of the changed shop, with the filter that the changes leave."""
    clean = any(one.kind == "clean filter" for one in candidates)
    cases = ductcalc.check(shop_with(shop, candidates), [ask], junction).cases  # type: ignore[arg-type]
    return next(case for case in cases if case.filter == ("clean" if clean else "loaded"))


def port_airs(case: CaseAnswer) -> dict[tuple[str, str], tuple[float, float]]:
    """Return air and wish of each running port; one that was put beside another counts with it."""
    found: dict[tuple[str, str], tuple[float, float]] = {}
    for machine in case.machines:
        for port in machine.ports if machine.asked and machine.runs else ():
            key = machine.machine, port.run.removesuffix(SECOND)
            flow, wanted = found.get(key, (0.0, 0.0))
            found[key] = flow + port.flow_m3_s, wanted + port.wanted_m3_s
    return found


def least_share(case: CaseAnswer) -> float | None:
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
