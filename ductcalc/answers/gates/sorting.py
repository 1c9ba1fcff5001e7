"""Machines sorted by what may be done with each of them alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.cases.case import Case
from ductcalc.cases.judged import SETTLES, SHORT

ALL_WELL, NOT_WELL, NO_ANSWER = 0, 1, 3


@dataclass(frozen=True, slots=True)
class Sorted:
    """Machines alone, each in one: may run; may with a helper's gate; settling past cure; short; unanswered."""

    may_run: tuple[Case, ...]
    company: tuple[HelperAnswer, ...]
    settling: tuple[Case, ...]
    short: tuple[Case, ...]
    unanswered: tuple[Case, ...]


class PastGates(NamedTuple):
    """Cases that no gate cures: sets whose machines may run one after the other, and those with no way out by gates."""

    one_by_one: tuple[Case, ...]
    no_gate: tuple[Case, ...]


class SizeCount(NamedTuple):
    """How many sets of so many machines there are, may run, are short, let chips settle, have no answer."""

    machines: int
    sets: int
    may_run: int
    short: int
    settles: int
    no_answer: int


def sorted_singles(gates: Gates) -> Sorted:
    """Sort the machines of a shop."""
    helped = helped_by_name(gates)
    company = tuple(helped[case.name] for case in gates.singles if case.name in helped and helped[case.name].cured)
    saved = {answer.before.name for answer in company}
    refused = [case for case in gates.singles if case.solved and not case.may_run and case.name not in saved]
    return Sorted(
        tuple(case for case in gates.singles if case.may_run),
        company,
        tuple(case for case in refused if case.air != "short"),
        tuple(case for case in refused if case.air == "short"),
        tuple(case for case in gates.singles if not case.solved),
    )


def helped_by_name(gates: Gates) -> dict[str, HelperAnswer]:
    """Return what helps each machine that lets chips settle on its own, by its name."""
    names = {answer.name for answer in gates.singles}
    return {h.before.name: h for h in gates.helped if h.before.name in names and len(h.before.asked) == 1}


def worth_telling(gates: Gates) -> tuple[HelperAnswer, ...]:
    """Return the helpers that cure: of machines alone and named sets, then those of pairs."""
    pairs = {", ".join(h.before.asked) for h in gates.helped if len(h.before.asked) > 1}
    cured = [h for h in gates.helped if h.cured]
    return (*(h for h in cured if h.before.name not in pairs), *(h for h in cured if h.before.name in pairs))


def past_gates(gates: Gates) -> PastGates:
    """Return the named sets and machines alone whose chips settle and whom no other gate lets run."""
    cured = {one.before.name for one in gates.helped if one.cured}
    alone = {case.name for case in gates.singles if case.may_run}
    judged = (*gates.named, *gates.singles) if len(gates.machines) > 1 else ()
    left = [c for c in judged if c.solved and c.chips == "settles" and c.name not in cured]
    in_turn = {case.name for case in left if len(case.running) > 1 and set(case.running) <= alone}
    split = (tuple(c for c in left if c.name in in_turn), tuple(c for c in left if c.name not in in_turn))
    return PastGates(*split)


def exit_code(gates: Gates) -> int:
    """Return 0 when every machine alone and every named set is fine, 1 when not, 3 when one has no answer."""
    if gates.unanswered:
        return NO_ANSWER
    return ALL_WELL if gates.well else NOT_WELL


def counts_by_size(gates: Gates) -> tuple[SizeCount, ...]:
    """Count the shown sets of three machines and more by their size."""
    judged = gates.asked.judged
    found: dict[int, list[int]] = {}
    for number in gates.shown:
        found.setdefault(gates.asked.opened[number].bit_count(), []).append(number)
    return tuple(
        SizeCount(
            size,
            len(numbers),
            int(judged.may_run[numbers].sum()),
            int((judged.solved & (judged.case_air == SHORT))[numbers].sum()),
            int((judged.solved & (judged.case_chips == SETTLES))[numbers].sum()),
            int((~judged.solved)[numbers].sum()),
        )
        for size, numbers in found.items()
        if size > 2
    )


def groups_that_may_run(gates: Gates, most: int) -> tuple[int, tuple[Case, ...]]:
    """Return how many shown sets of three machines and more may run, and the first of them, largest first."""
    asked = gates.asked
    groups = [n for n in gates.shown if asked.opened[n].bit_count() > 2 and asked.judged.may_run[n]]
    groups.sort(key=lambda number: -asked.opened[number].bit_count())
    return len(groups), tuple(asked.case(number) for number in groups[:most])


def poorest(cases: Sequence[Case]) -> Case | None:
    """Return the case with the least air for what is wanted."""
    solved = [case for case in cases if case.solved]
    return min(solved, key=lambda case: float(case.judged.case_share[case.column]), default=None)
