"""Which changes bring most, alone, as pairs and as threes: every one of them solved, many in one call; not audited."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from ductcalc.answers.improve.candidate import LAST, Candidate, with_all
from ductcalc.answers.improve.harm import harm
from ductcalc.answers.improve.subject import Subject, least
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import JudgedCases
from ductcalc.cases.solving import FILTERS
from ductcalc.cases.variants import outcomes
from ductcalc.errors import InputError
from ductcalc.model.collector import FilterState
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import MadeSections

POOL = 15
"""So many of the changes that bring most alone are tried together."""
POOL_LARGE, LARGE = 8, 100
"""In a shop of more sections than LARGE only so many are."""
AT_ONCE = 64
NOTHING = 1e-6
"""Share of the air that is nothing, but for the last digits of a solution."""


@dataclass(frozen=True)
class Tried:
    """Changes made together, the shop with them, and the share of its wish that the poorest port gets (None: no
    answer).
    """

    candidates: tuple[Candidate, ...]
    model: Model
    share: float | None

    @property
    def filter(self) -> FilterState:
        """The filter state it holds for: clean when cleaning it is one of the changes."""
        return filter_of(self.candidates)


def filter_of(candidates: Sequence[Candidate]) -> FilterState:
    """Return the filter state that changes hold for."""
    return "clean" if any(one.filter == "clean" for one in candidates) else "loaded"


def tried(
    model: Model,
    subject: Subject,
    groups: Sequence[tuple[Candidate, ...]],
    made: MadeSections,
    progress: Callable[[int, int], None] | None = None,
) -> list[Tried]:
    """Try groups of changes; those that no shop can have (nothing to hang, no curve) are left out."""
    found: list[Tried] = []
    for first in range(0, len(groups), AT_ONCE):
        found += _block(model, subject, groups[first : first + AT_ONCE], made)
        if progress is not None:
            progress(min(first + AT_ONCE, len(groups)), len(groups))
    return found


def _block(
    model: Model, subject: Subject, groups: Sequence[tuple[Candidate, ...]], made: MadeSections
) -> Iterator[Tried]:
    built = [(group, changed) for group in groups if (changed := _built(model, group, made)) is not None]
    results = _by_state([(changed, filter_of(group)) for group, changed in built], [subject.choice])
    for (group, changed), outcome in zip(built, results, strict=True):
        yield Tried(group, changed, _share(subject, outcome))


def _by_state(models: Sequence[tuple[Model, FilterState]], choices: Sequence[Choice]) -> list[JudgedCases]:
    """Return what models come to, each with its own filter state."""
    found: dict[int, JudgedCases] = {}
    for state in FILTERS:
        mine = [n for n, (_, own) in enumerate(models) if own == state]
        got = outcomes([models[n][0] for n in mine], choices, state)
        found.update(zip(mine, got, strict=True))
    return [found[n] for n in range(len(models))]


def _built(model: Model, group: Sequence[Candidate], made: MadeSections) -> Model | None:
    try:
        return build_model(with_all(model.shop, group), model.junction, loading=model.loading, made=made)
    except InputError:
        return None


def _share(subject: Subject, judged: JudgedCases) -> float | None:
    return least(subject.airs(judged))[1].share if judged.solved[0] else None


def pool_of(model: Model, singles: Sequence[Tried], share: float) -> list[Candidate]:
    """Return the changes that are tried together: those that bring most alone, as many as the rule says.

    What no advice begins with is left out: it would only hide what else goes well together.
    """
    most = POOL_LARGE if len(model.sections) > LARGE else POOL
    better = [
        one
        for one in singles
        if one.share is not None and one.share > share * (1.0 + NOTHING) and one.candidates[0].kind not in LAST
    ]
    better.sort(key=lambda one: -(one.share or 0.0))
    return [one.candidates[0] for one in better[:most]]


def groups_of(pool: Sequence[Candidate], size: int) -> list[tuple[Candidate, ...]]:
    """Return every group of so many changes of which no two exclude each other."""
    apart = {(a, b) for a, b in combinations(range(len(pool)), 2) if pool[a].excludes(pool[b])}
    return [
        tuple(pool[n] for n in group)
        for group in combinations(range(len(pool)), size)
        if not any(pair in apart for pair in combinations(group, 2))
    ]


def harmless(found: Sequence[Tried], choices: Sequence[Choice], before: JudgedCases, band: float) -> Tried | None:
    """Return the first of some trials, best first, that makes no case worse; they are solved a few at a time."""
    for first in range(0, len(found), AT_ONCE):
        block = found[first : first + AT_ONCE]
        results = _by_state([(one.model, one.filter) for one in block], choices)
        for one, after in zip(block, results, strict=True):
            if not harm(before, after, band).any:
                return one
    return None
