"""What may be open together: singles, pairs, named sets, the largest sets and what forbids the rest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from math import comb
from typing import TYPE_CHECKING

import numpy as np

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
from ductcalc.answers.gates.school import School, school
from ductcalc.answers.gates.sets import (
    MOST_FOR_ALL,
    AskedSets,
    GateSets,
    Progress,
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
from ductcalc.answers.gates.told import Told, told
from ductcalc.arrays import Masks
from ductcalc.cases.case import Case
from ductcalc.cases.choices import named_sets, no_machine
from ductcalc.cases.figures import AuditAnswer
from ductcalc.cases.judged import SETTLES, SHORT
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import findings_in
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import SectionCache
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas

MOST_CURES = 12
MOST_HELPED = 2
MOST_SETS = 250_000
"""Most sets that are solved for --together; a minute's work in a shop of forty machines."""

NO_MASKS = np.array([], dtype=np.int64)
NO_EXTREMES: tuple[Masks, Masks, Masks, int] = (NO_MASKS, NO_MASKS, NO_MASKS, 0)


@dataclass(frozen=True)
class Gates:
    """All that was learned of a shop's gate sets (loaded filter).

    asked: all solved sets. singles: each machine alone. shown: places (in `asked`) of the sets of two to
    `most_together` machines. named: named sets, also as `named_asked`. possible_sets: how many sets could be open at
    once, solved or not. sharing: pairs that share a hose. helped, uncured: sets in which chips settle, with the best
    helper gates, or with what else would cure them. never_served: machines short in every set; needs_company: alone
    they let chips settle, with a helper they do not. largest: maximal sets in which nobody is short; forbidden: minimal
    sets in which somebody is. exact: True when these two come from every possible set; exceptions: sets that hold a
    forbidden one while nobody is short; no_answer: sets of which nothing is known, past the blower's points;
    unsettled: sets for which no flow was found that passes the audit. audit: the greatest residuals of all others.
    largest_fine: maximal sets that may run.
    not_looked_into: sets in which chips settle past the help of any gate, and for which no other cure was tried.
    school: what can be said without solving every set. findings: unasked warnings.
    """

    shop: str
    machines: tuple[str, ...]
    solved_sets: int
    possible_sets: int
    most_together: int
    exact: bool
    singles: tuple[Case, ...]
    shown: tuple[int, ...]
    named: tuple[Case, ...]
    sharing: tuple[tuple[str, str], ...]
    helped: tuple[HelperAnswer, ...]
    uncured: tuple[CureAnswer, ...]
    not_looked_into: int
    never_served: tuple[str, ...]
    needs_company: tuple[tuple[str, tuple[str, ...]], ...]
    largest: tuple[Case, ...]
    largest_fine: tuple[Case, ...]
    forbidden: tuple[tuple[str, ...], ...]
    exceptions: int
    no_answer: int
    left_open: tuple[LeftOpenAnswer, ...]
    leaks: tuple[LeakAnswer, ...]
    tightest: TightAnswer | None
    told: Told
    asked: AskedSets
    named_asked: AskedSets | None
    school: School
    findings: Findings = NOTHING_SEEN
    unsettled: int = 0
    audit: AuditAnswer | None = None

    @property
    def changes(self) -> tuple[str, ...]:
        """What was changed of the shop as a what-if, in words."""
        return self.asked.store.model.shop.changes

    @cached_property
    def together(self) -> tuple[Case, ...]:
        """Sets of two to `most_together` machines, small ones first."""
        return tuple(self.asked.case(number) for number in self.shown)

    @property
    def well(self) -> bool:
        """Whether every machine alone and every named set is served and nothing settles."""
        return all(case.well for case in (*self.singles, *self.named))

    @property
    def unanswered(self) -> tuple[Case, ...]:
        """Machines alone and named sets without an answer."""
        return tuple(case for case in (*self.singles, *self.named) if not case.solved)

    def pair(self, one: str, other: str) -> Case | None:
        """Return the verdict on two machines, None when they share a hose, are the same, or pairs are not shown."""
        keys = [key_of(name) for name in self.machines]
        mask = mask_of({keys.index(key_of(one)), keys.index(key_of(other))})
        return next((self.asked.case(n) for n in self.shown if self.asked.opened[n] == mask), None)

    def frame(self) -> pandas.DataFrame:
        """Return every solved set as a pandas table: a boolean column per machine, air, speeds, word."""
        from ductcalc.answers.gates.table import gates_frame

        return gates_frame(self)


def gates(shop: Shop, together: int = 2, junction: Junction | None = None, progress: Progress | None = None) -> Gates:
    """Solve gate sets and return what may be open together.

    Up to 16 machines every possible set is solved, beyond that all sets of up to `together` machines.
    Raises InputError when the shop has no collector or cannot be hung together, and for more than `MOST_SETS` sets.
    """
    model = build_model(shop, junction)
    sets = GateSets(model, progress)
    count, clash = len(sets.machines), clashes(model)
    exact = count <= MOST_FOR_ALL
    if not exact:
        _refuse_too_many(count, together)
    shown = possible(masks_up_to(count, max(1, min(together, count))), clash)
    masks = possible(every_mask(count), clash) if exact else shown
    if not count:
        raise no_machine(model)
    asked = sets.ask(masks)
    judged = asked.judged
    place = {mask: number for number, mask in enumerate(masks)}
    singles = tuple(asked.case(place[1 << p]) for p in range(count))
    named, named_asked = _named(model, sets)
    few = [place[mask] for mask in shown if mask.bit_count() <= MOST_HELPED]
    helped, uncured, left = _help(asked, few, clash, named, named_asked)
    largest, largest_fine, forbidden, exceptions = _extremes(asked, count) if exact else NO_EXTREMES
    perhaps = (judged.case_air != SHORT) | ~judged.solved
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
        largest=tuple(asked.case(place[int(m)]) for m in _by_size(largest)),
        largest_fine=tuple(asked.case(place[int(m)]) for m in _by_size(largest_fine)),
        forbidden=tuple(tuple(sets.machines[p] for p in places_of(int(m))) for m in _by_size(forbidden)[::-1]),
        exceptions=exceptions,
        no_answer=int(np.count_nonzero(~judged.solved)),
        left_open=left_open(sets, clash),
        leaks=leaks(sets),
        tightest=tightest(sets),
        told=told(sets),
        unsettled=sets.unsettled,
        audit=sets.audit,
        asked=asked,
        named_asked=named_asked,
        school=school(asked, clash, named, exact),
        findings=findings_in(model),
    )


def _by_size(masks: Masks) -> list[int]:
    return sorted((int(mask) for mask in masks), key=lambda mask: (-mask.bit_count(), mask))


def _named(model: Model, sets: GateSets) -> tuple[tuple[Case, ...], AskedSets | None]:
    """Judge the named sets; those with wanted flows of their own are judged by these."""
    choices = named_sets(model)
    if not choices:
        return (), None
    asked = sets.ask_choices(choices)
    return tuple(asked.case(n, choice.name) for n, choice in enumerate(choices)), asked


def _help(
    asked: AskedSets,
    numbers: Sequence[int],
    clash: Sequence[tuple[int, int]],
    named: Sequence[Case],
    named_asked: AskedSets | None,
) -> tuple[tuple[HelperAnswer, ...], tuple[CureAnswer, ...], int]:
    """Find helper gates for sets in which chips settle, and other cures for named sets and machines alone without.

    A helper that leaves somebody short is told, but other cures are looked for as well. Beyond 16 machines a pair is
    helped by one gate only: two would take as many solutions as all sets of four.
    """
    settling = _settling(asked, numbers)
    alone = [n for n in settling if asked.opened[n].bit_count() == 1]
    pairs = [n for n in settling if asked.opened[n].bit_count() > 1]
    many = len(asked.store.machines) > MOST_FOR_ALL
    tried = list(best_helpers(asked, alone, clash, [None] * len(alone)))
    lost: list[tuple[AskedSets, int, str | None, HelperAnswer]] = []
    if named_asked is not None:
        mine = _settling(named_asked, range(len(named)))
        more = best_helpers(named_asked, mine, clash, [named[n].name for n in mine])
        lost += [(named_asked, n, named[n].name, a) for n, a in zip(mine, more, strict=True) if not a.cured]
    lost += [(asked, n, None, a) for n, a in zip(alone, tried, strict=True) if not a.cured]
    tried += best_helpers(asked, pairs, clash, [None] * len(pairs), 1 if many else MOST_HELPERS)
    tried += more if named_asked is not None else ()
    made = SectionCache()
    found = tuple(cures(own, n, name, helped, made) for own, n, name, helped in lost[:MOST_CURES])
    return tuple(a for a in tried if a.helpers), found, len(lost) - len(found)


def _settling(asked: AskedSets, numbers: Iterable[int]) -> list[int]:
    """Return those of some sets (by number) in which chips settle."""
    settles = asked.judged.solved & (asked.judged.case_chips == SETTLES)
    return [number for number in numbers if settles[number]]


def _company(singles: Sequence[Case], helped: Sequence[HelperAnswer]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    by_name = {answer.before.name: answer.helpers for answer in helped if answer.cured}
    return tuple((a.name, by_name[a.name]) for a in singles if a.chips == "settles" and a.name in by_name)


def _extremes(asked: AskedSets, count: int) -> tuple[Masks, Masks, Masks, int]:
    """Return maximal sets in which nobody is short, those of them that may run, minimal short ones, exceptions.

    Exceptions: in how many sets nobody is short though they hold a short one.
    """
    masks, judged = np.array(asked.opened, dtype=np.int64), asked.judged
    allowed, fine, refused = (np.zeros(1 << count, dtype=bool) for _ in range(3))
    enough = judged.solved & (judged.case_air != SHORT)
    allowed[masks], fine[masks], refused[masks] = enough, judged.may_run, judged.solved & ~enough
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
