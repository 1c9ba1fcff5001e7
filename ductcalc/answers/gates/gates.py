"""What may be open together: singles, pairs, named sets, the largest sets and what forbids the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from math import comb
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.gates.cures import CureAnswer, cures
from ductcalc.answers.gates.forgotten import (
    LeakAnswer,
    LeftOpenAnswer,
    TightAnswer,
    leaks,
    left_open,
    tightest,
)
from ductcalc.answers.gates.helpers import MOST_HELPERS, HelperAnswer, best_helpers
from ductcalc.answers.gates.sets import (
    MOST_FOR_ALL,
    clashes,
    count_possible,
    every_mask,
    has_proper_subset,
    mask_of,
    masks_up_to,
    maximal,
    minimal,
    places_of,
    possible,
)
from ductcalc.answers.gates.solved import Progress, SolvedSets
from ductcalc.answers.gates.told import Told, told
from ductcalc.answers.gates.verdicts import SetAnswer, Verdicts, verdicts
from ductcalc.cases.case import AuditAnswer
from ductcalc.cases.choices import named_sets, no_machine
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import findings_in
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import MadeSections
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas

MOST_CURES = 12
MOST_HELPED = 2
MOST_SETS = 250_000
"""Most sets that are solved for --together; a minute's work in a shop of forty machines."""

Masks = NDArray[np.int64]
NO_MASKS = np.array([], dtype=np.int64)
NO_EXTREMES: tuple[Masks, Masks, Masks, int] = (NO_MASKS, NO_MASKS, NO_MASKS, 0)


@dataclass(frozen=True)
class Gates:
    """All that was learned of a shop's gate sets (loaded filter).

    singles: each machine alone. shown: places (in `judged`) of the sets of two to `most_together` machines. named:
    named sets, judged in `named_judged`. possible_sets: how many sets could be open at once, solved or not.
    sharing: pairs that share a hose. helped, uncured: sets in which chips settle, with the best helper gates, or
    with what else would cure them. never_served: machines short in every set; needs_company: alone they let chips
    settle, with a helper they do not. largest: maximal sets with everybody served; forbidden: minimal sets in which
    somebody is short. exact: True when these two come from every possible set; exceptions: sets that hold a forbidden
    one and are served nevertheless; no_answer: sets of which nothing is known, past the blower's points;
    unsettled: sets for which no flow was found that passes the audit. audit: the greatest residuals of all others.
    largest_fine: maximal sets with everybody served and nothing settling.
    not_looked_into: sets in which chips settle past the help of any gate, and for which no other cure was tried.
    findings: unasked warnings.
    """

    shop: str
    machines: tuple[str, ...]
    solved_sets: int
    possible_sets: int
    most_together: int
    exact: bool
    singles: tuple[SetAnswer, ...]
    shown: tuple[int, ...]
    named: tuple[SetAnswer, ...]
    sharing: tuple[tuple[str, str], ...]
    helped: tuple[HelperAnswer, ...]
    uncured: tuple[CureAnswer, ...]
    not_looked_into: int
    never_served: tuple[str, ...]
    needs_company: tuple[tuple[str, tuple[str, ...]], ...]
    largest: tuple[SetAnswer, ...]
    largest_fine: tuple[SetAnswer, ...]
    forbidden: tuple[tuple[str, ...], ...]
    exceptions: int
    no_answer: int
    left_open: tuple[LeftOpenAnswer, ...]
    leaks: tuple[LeakAnswer, ...]
    tightest: TightAnswer | None
    told: Told
    judged: Verdicts
    named_judged: Verdicts | None
    findings: Findings = NOTHING_SEEN
    unsettled: int = 0
    audit: AuditAnswer | None = None

    @property
    def changes(self) -> tuple[str, ...]:
        """What was changed of the shop as a what-if, in words."""
        return self.judged.sets.model.shop.changes

    @cached_property
    def together(self) -> tuple[SetAnswer, ...]:
        """Sets of two to `most_together` machines, small ones first."""
        return tuple(self.judged.answer(number) for number in self.shown)

    @property
    def all_well(self) -> bool:
        """Whether every machine alone and every named set is served and nothing settles."""
        return all(answer.word == "fine" for answer in (*self.singles, *self.named))

    @property
    def unanswered(self) -> tuple[SetAnswer, ...]:
        """Machines alone and named sets without an answer."""
        return tuple(answer for answer in (*self.singles, *self.named) if answer.word == "no answer")

    def pair(self, one: str, other: str) -> SetAnswer | None:
        """Return the verdict on two machines, None when they share a hose, are the same, or pairs are not shown."""
        keys = [key_of(name) for name in self.machines]
        mask = mask_of({keys.index(key_of(one)), keys.index(key_of(other))})
        return next((self.judged.answer(n) for n in self.shown if self.judged.open[n] == mask), None)

    def frame(self) -> pandas.DataFrame:
        """Return every solved set as a pandas table: a boolean column per machine, air, speeds, word."""
        from ductcalc.answers.frames import gates_frame

        return gates_frame(self)


def gates(shop: Shop, together: int = 2, junction: Junction | None = None, progress: Progress | None = None) -> Gates:
    """Solve gate sets and return what may be open together.

    Up to 16 machines every possible set is solved, beyond that all sets of up to `together` machines.
    Raises InputError when the shop has no collector or cannot be hung together, and for more than `MOST_SETS` sets.
    """
    model = build_model(shop, junction)
    sets = SolvedSets(model, progress)
    count, clash = len(sets.machines), clashes(model)
    exact = count <= MOST_FOR_ALL
    if not exact:
        _refuse_too_many(count, together)
    shown = possible(masks_up_to(count, max(1, min(together, count))), clash)
    masks = possible(every_mask(count), clash) if exact else shown
    if not count:
        raise no_machine(model)
    judged = verdicts(sets, masks)
    place = {mask: number for number, mask in enumerate(masks)}
    singles = tuple(judged.answer(place[1 << p]) for p in range(count))
    named, named_judged = _named(model, sets)
    few = [place[mask] for mask in shown if mask.bit_count() <= MOST_HELPED]
    helped, uncured, left = _help(judged, few, clash, named_judged)
    largest, largest_fine, forbidden, exceptions = _extremes(judged, count) if exact else NO_EXTREMES
    perhaps = judged.served | ~judged.solved
    ever = np.array([mask for mask, good in zip(masks, perhaps, strict=True) if good], dtype=np.int64)
    return Gates(
        shop=shop.name,
        machines=sets.machines,
        solved_sets=len(masks),
        possible_sets=len(masks) if exact else count_possible(count, clash),
        most_together=min(together, count),
        exact=exact,
        singles=singles,
        shown=tuple(place[mask] for mask in shown if mask.bit_count() > 1),
        named=named,
        sharing=tuple((sets.machines[a], sets.machines[b]) for a, b in clash),
        helped=helped,
        uncured=uncured,
        not_looked_into=left,
        never_served=tuple(m for p, m in enumerate(sets.machines) if not (ever >> p & 1).any()),
        needs_company=_company(singles, helped),
        largest=tuple(judged.answer(place[int(m)]) for m in _by_size(largest)),
        largest_fine=tuple(judged.answer(place[int(m)]) for m in _by_size(largest_fine)),
        forbidden=tuple(tuple(sets.machines[p] for p in places_of(int(m))) for m in _by_size(forbidden)[::-1]),
        exceptions=exceptions,
        no_answer=int(np.count_nonzero(~judged.solved)),
        left_open=left_open(sets, clash),
        leaks=leaks(sets),
        tightest=tightest(sets),
        told=told(sets),
        unsettled=sets.unsettled,
        audit=sets.audit,
        judged=judged,
        named_judged=None if named_judged is None else named_judged[0],
        findings=findings_in(model),
    )


def _by_size(masks: NDArray[np.int64]) -> list[int]:
    return sorted((int(mask) for mask in masks), key=lambda mask: (-mask.bit_count(), mask))


def _named(model: Model, sets: SolvedSets) -> tuple[tuple[SetAnswer, ...], tuple[Verdicts, tuple[str, ...]] | None]:
    """Judge the named sets; those with wanted flows of their own are judged by these."""
    choices = named_sets(model)
    if not choices:
        return (), None
    owner = {key_of(m): p for p, m in enumerate(sets.machines)}
    opened = [mask_of(owner[key_of(m)] for m in choice.machines) for choice in choices]
    running = [mask_of(owner[key_of(m)] for m in choice.machines if choice.runs(m)) for choice in choices]
    wanted = [{owner[key]: flow for key, flow in choice.wanted_m3_s.items()} for choice in choices]
    judged = verdicts(sets, opened, running, wanted)
    names = tuple(choice.name for choice in choices)
    return tuple(judged.answer(n, name) for n, name in enumerate(names)), (judged, names)


def _help(
    judged: Verdicts,
    numbers: Sequence[int],
    clash: Sequence[tuple[int, int]],
    named: tuple[Verdicts, tuple[str, ...]] | None,
) -> tuple[tuple[HelperAnswer, ...], tuple[CureAnswer, ...], int]:
    """Find helper gates for sets in which chips settle, and other cures for named sets and machines alone without.

    A helper that leaves somebody short is told, but other cures are looked for as well. Beyond 16 machines a pair is
    helped by one gate only: two would take as many solutions as all sets of four.
    """
    settling = [n for n in numbers if judged.solved[n] and judged.settling[n]]
    alone = [n for n in settling if judged.open[n].bit_count() == 1]
    pairs = [n for n in settling if judged.open[n].bit_count() > 1]
    many = len(judged.sets.machines) > MOST_FOR_ALL
    tried = list(best_helpers(judged, alone, clash, [None] * len(alone)))
    lost = [(judged, n, None, a) for n, a in zip(alone, tried, strict=True) if not a.cured]
    tried += best_helpers(judged, pairs, clash, [None] * len(pairs), 1 if many else MOST_HELPERS)
    if named is not None:
        own, names = named
        mine = [n for n in range(len(names)) if own.solved[n] and own.settling[n]]
        more = best_helpers(own, mine, clash, [names[n] for n in mine])
        tried += more
        by_name = [(own, n, names[n], a) for n, a in zip(mine, more, strict=True) if not a.cured]
        lost = [*by_name, *lost]  # type: ignore[list-item]
    made = MadeSections()
    found = tuple(cures(own, n, name, helped, made) for own, n, name, helped in lost[:MOST_CURES])
    return tuple(a for a in tried if a.helpers), found, len(lost) - len(found)


def _company(singles: Sequence[SetAnswer], helped: Sequence[HelperAnswer]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    by_name = {answer.before.name: answer.helpers for answer in helped if answer.cured}
    return tuple((a.name, by_name[a.name]) for a in singles if a.settling and a.name in by_name)


def _extremes(judged: Verdicts, count: int) -> tuple[Masks, Masks, Masks, int]:
    """Return maximal sets with everybody served, those with nothing settling too, minimal short ones, exceptions.

    Exceptions: how many sets are served though they hold a short one.
    """
    masks = np.array(judged.open, dtype=np.int64)
    allowed, fine, refused = (np.zeros(1 << count, dtype=bool) for _ in range(3))
    served = judged.solved & judged.served
    allowed[masks], fine[masks], refused[masks] = served, judged.fine, judged.solved & ~judged.served
    return maximal(allowed), maximal(fine), minimal(refused), int((allowed & has_proper_subset(refused)).sum())


def _refuse_too_many(machines: int, together: int) -> None:
    """Raise InputError when so many sets would be solved that nobody waits for them."""
    totals = list(accumulate(comb(machines, size) for size in range(1, min(together, machines) + 1)))
    if totals[-1] <= MOST_SETS:
        return
    most = max(size for size, total in enumerate(totals, start=1) if total <= MOST_SETS)
    raise InputError(
        [
            Problem(
                f"sets of up to {together} of {machines} machines are {totals[-1]:,}; at most {MOST_SETS:,} are solved",
                f"take --together {most} ({totals[most - 1]:,} sets), or name the larger sets in shop.toml",
                given=str(together),
            )
        ]
    )
