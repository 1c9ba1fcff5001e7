"""Machines sorted by what may be done with each of them alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.answers.gates.verdicts import SetAnswer, SetWord

ALL_WELL, NOT_WELL, NO_ANSWER = 0, 1, 3
WORDS: tuple[SetWord, ...] = ("fine", "settles", "short", "short and settles", "no answer")


@dataclass(frozen=True, slots=True)
class Sorted:
    """Machines alone, each in one of these: fine; fine with a helper's gate; settling past cure; short; unanswered."""

    fine: tuple[SetAnswer, ...]
    company: tuple[HelperAnswer, ...]
    settling: tuple[SetAnswer, ...]
    short: tuple[SetAnswer, ...]
    unanswered: tuple[SetAnswer, ...]


@dataclass(frozen=True, slots=True)
class SizeCount:
    """Sets of so many machines: how many in all, and how many by each word."""

    machines: int
    sets: int
    by_word: tuple[tuple[SetWord, int], ...]


def sorted_singles(gates: Gates) -> Sorted:
    """Sort the machines of a shop."""
    helped = helped_by_name(gates)
    settling = [a for a in gates.singles if a.word == "settles"]
    company = [helped[a.name] for a in settling if a.name in helped and helped[a.name].cured]
    saved = {answer.before.name for answer in company}
    return Sorted(
        tuple(a for a in gates.singles if a.word == "fine"),
        tuple(company),
        tuple(a for a in settling if a.name not in saved),
        tuple(a for a in gates.singles if a.word in ("short", "short and settles")),
        tuple(a for a in gates.singles if a.word == "no answer"),
    )


def helped_by_name(gates: Gates) -> dict[str, HelperAnswer]:
    """Return what helps each machine that lets chips settle on its own, by its name."""
    names = {answer.name for answer in gates.singles}
    return {h.before.name: h for h in gates.helped if h.before.name in names and len(h.before.machines) == 1}


def worth_telling(gates: Gates) -> tuple[HelperAnswer, ...]:
    """Return the helpers that cure: of machines alone and named sets, then those of pairs."""
    pairs = {", ".join(h.before.open) for h in gates.helped if len(h.before.open) > 1}
    cured = [h for h in gates.helped if h.cured]
    return (*(h for h in cured if h.before.name not in pairs), *(h for h in cured if h.before.name in pairs))


def exit_code(gates: Gates) -> int:
    """Return 0 when every machine alone and every named set is fine, 1 when not, 3 when one has no answer."""
    if gates.unanswered:
        return NO_ANSWER
    return ALL_WELL if gates.all_well else NOT_WELL


def counts_by_size(gates: Gates) -> tuple[SizeCount, ...]:
    """Count the words of the shown sets of three machines and more, by their size."""
    found: dict[int, dict[SetWord, int]] = {}
    for number in gates.shown:
        size = gates.judged.open[number].bit_count()
        if size > 2:
            words = found.setdefault(size, dict.fromkeys(WORDS, 0))
            words[gates.judged.word(number)] += 1
    return tuple(SizeCount(size, sum(words.values()), tuple(words.items())) for size, words in found.items())


def fine_groups(gates: Gates, most: int) -> tuple[int, tuple[SetAnswer, ...]]:
    """Return how many shown sets of three machines and more are fine, and the first of them, largest first."""
    groups = [n for n in gates.shown if gates.judged.open[n].bit_count() > 2 and gates.judged.word(n) == "fine"]
    groups.sort(key=lambda number: -gates.judged.open[number].bit_count())
    return len(groups), tuple(gates.judged.answer(number) for number in groups[:most])


def poorest_fine(answers: Sequence[SetAnswer]) -> SetAnswer | None:
    """Return the machine alone that has the least air to spare."""
    solved = [answer for answer in answers if answer.machines]
    return min(solved, key=lambda answer: answer.machines[0].poorest.share, default=None)
