"""How changes stand, alone, as pairs and as threes: every one of them solved in every case, many in one call; not
audited.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import reduce
from itertools import combinations

from ductcalc.answers.improve.candidate import EFFORTS, Candidate, with_all
from ductcalc.answers.improve.harm import harm
from ductcalc.answers.improve.subject import ImproveSubject, Standing, least
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import OK, SETTLES, JudgedCases, joined
from ductcalc.cases.variants import outcomes
from ductcalc.errors import InputError
from ductcalc.model.collector import FilterState
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import SectionCache

POOL = 15
"""So many of the changes that bring most alone are tried together."""
POOL_LARGE, LARGE = 8, 100
"""In a shop of more sections than LARGE only so many are."""
AT_ONCE = 64
NOTHING = 1e-6
"""Share of the air that is nothing, but for the last digits of a solution."""


@dataclass(frozen=True)
class Tried:
    """Changes made together, the shop with them, how the subject's case then stands (None: no answer), and whether
    some case is worse.
    """

    candidates: tuple[Candidate, ...]
    model: Model
    standing: Standing | None
    harms: bool

    @property
    def filter(self) -> FilterState:
        """The filter state it holds for: clean when cleaning it is one of the changes."""
        return filter_of(self.candidates)

    @property
    def leads(self) -> bool:
        """Whether advice may begin with it."""
        return all(one.leads for one in self.candidates)


def filter_of(candidates: Sequence[Candidate]) -> FilterState:
    """Return the filter state that changes hold for."""
    return "clean" if any(one.filter == "clean" for one in candidates) else "loaded"


def uses_of(choice: Choice, candidates: Sequence[Candidate]) -> tuple[Choice, ...]:
    """Return the cases that stand in place of a choice when changes are made together."""
    uses = [one.use for one in candidates if one.use is not None]
    return reduce(lambda found, use: tuple(new for one in found for new in use(one)), uses, (choice,))


def worst_of(judged: JudgedCases, columns: Sequence[int]) -> int:
    """Return which of some cases stands worst: without an answer, chips settling, least air."""

    def badness(column: int) -> tuple[bool, bool, float]:
        settles = bool(judged.case_chips[column] == SETTLES)
        return not judged.solved[column], settles, -float(judged.case_share[column])

    return max(columns, key=badness)


@dataclass
class Search:
    """What changes are tried on: a model, whose case is improved among all choices, and these judged as they stand.

    progress: called with the changes tried and in all.
    """

    model: Model
    subject: ImproveSubject
    choices: Sequence[Choice]
    now: JudgedCases
    progress: Callable[[int, int], None] | None = None
    made: SectionCache = field(default_factory=SectionCache)

    @property
    def place(self) -> int:
        """Where the subject's case stands among the choices."""
        return list(self.choices).index(self.subject.choice)

    @property
    def standing(self) -> Standing:
        """How the subject's case stands."""
        return standing_of(self.subject, self.now, self.place, None, ())

    def tried(self, groups: Sequence[tuple[Candidate, ...]]) -> list[Tried]:
        """Try groups of changes; those that no shop can have (nothing to hang, no curve) are left out."""
        found: list[Tried] = []
        for first in range(0, len(groups), AT_ONCE):
            found += self._block(groups[first : first + AT_ONCE])
            if self.progress is not None:
                self.progress(min(first + AT_ONCE, len(groups)), len(groups))
        return found

    def _block(self, groups: Sequence[tuple[Candidate, ...]]) -> Iterator[Tried]:
        built = [(group, model) for group in groups if (model := self._built(group)) is not None]
        found = self._outcomes(built)
        now = self.standing
        for (group, model), judged in zip(built, found, strict=True):
            solved = bool(judged.solved[self.place])
            standing = standing_of(self.subject, judged, self.place, now, group) if solved else None
            yield Tried(group, model, standing, harm(self.now, judged).any)

    def _outcomes(self, built: Sequence[tuple[tuple[Candidate, ...], Model]]) -> list[JudgedCases]:
        """Return what changed shops come to in every case; those that are used alike are solved in one call."""
        alike: dict[tuple[bool, tuple[int, ...], FilterState], list[int]] = {}
        for number, (group, model) in enumerate(built):
            only = self._used_only(group, model)
            uses = () if only else tuple(id(one) for one in group if one.use is not None)
            alike.setdefault((only, uses, filter_of(group)), []).append(number)
        found: dict[int, JudgedCases] = {}
        for (only, _, _), numbers in alike.items():
            solve = self._uses if only else self._shops
            found.update(zip(numbers, solve([built[number] for number in numbers]), strict=True))
        return [found[number] for number in range(len(built))]

    def _used_only(self, group: Sequence[Candidate], model: Model) -> bool:
        """Whether a group changes nothing of the shop, so that its other cases stand as they do."""
        return model is self.model and filter_of(group) == "loaded"

    def _uses(self, built: Sequence[tuple[tuple[Candidate, ...], Model]]) -> Iterator[JudgedCases]:
        uses = [uses_of(self.subject.choice, group) for group, _ in built]
        (solved,) = outcomes([self.model], [choice for some in uses for choice in some])
        first = 0
        for some in uses:
            column = worst_of(solved, range(first, first + len(some)))
            before, behind = range(self.place), range(self.place + 1, self.now.count)
            yield joined([self.now.take(list(before)), solved.take([column]), self.now.take(list(behind))])
            first += len(some)

    def _shops(self, built: Sequence[tuple[tuple[Candidate, ...], Model]]) -> Iterator[JudgedCases]:
        group = built[0][0]
        choices = in_place(self.choices, self.place, uses_of(self.subject.choice, group))
        for judged in outcomes([model for _, model in built], choices, filter_of(group)):
            yield judged.take(columns_of(judged, self.place, len(self.choices)))

    def _built(self, group: Sequence[Candidate]) -> Model | None:
        if all(one.use is not None or one.kind == "clean filter" for one in group):
            return self.model
        try:
            changed = with_all(self.model.shop, group)
            return build_model(changed, self.model.junction, loading=self.model.loading, made=self.made)
        except InputError:
            return None

    def pool(self, singles: Sequence[Tried]) -> list[Candidate]:
        """Return the changes that are tried together: those that stand best alone, as many as the rule says.

        What no advice begins with is left out: it would only hide what else goes well together.
        """
        most, now = POOL_LARGE if len(self.model.sections) > LARGE else POOL, self.standing
        better = [one for one in singles if one.standing and one.standing.beats(now, now, NOTHING) and one.leads]
        return [one.candidates[0] for one in sorted(better, key=rank_of)[:most]]


def in_place(choices: Sequence[Choice], place: int, uses: Sequence[Choice]) -> list[Choice]:
    """Return the choices with the first of some uses in place of one, and the others behind them all."""
    return [*choices[:place], uses[0], *choices[place + 1 :], *uses[1:]]


def columns_of(judged: JudgedCases, place: int, count: int) -> list[int]:
    """Return the columns of so many choices, that of one by the worst of its uses; see `in_place`."""
    worst = place if judged.count == count else worst_of(judged, [place, *range(count, judged.count)])
    return [worst if column == place else column for column in range(count)]


def standing_of(
    subject: ImproveSubject, judged: JudgedCases, place: int, now: Standing | None, group: Sequence[Candidate]
) -> Standing:
    """Return how the subject's case stands in judged choices; now: how it stood, None for the shop as it is."""
    settles, air = bool(judged.case_chips[place] == SETTLES), int(judged.case_air[place])
    well = air == OK and not settles
    cured = well and now is not None and (now.settles or now.air != OK)
    share, speed = least(subject.airs(judged, place))[1].share, float(judged.case_settling_share[place])
    effort = max((EFFORTS.index(one.effort) for one in group), default=0)
    return Standing(settles, air, share, speed, int(judged.may_run.sum()), cured, effort)


def rank_of(tried: Tried) -> tuple[float, ...]:
    """Return the rank of what has an answer."""
    assert tried.standing is not None
    return tried.standing.rank


def groups_of(pool: Sequence[Candidate], size: int) -> list[tuple[Candidate, ...]]:
    """Return every group of so many changes of which no two exclude each other."""
    apart = {(a, b) for a, b in combinations(range(len(pool)), 2) if pool[a].excludes(pool[b])}
    return [
        tuple(pool[n] for n in group)
        for group in combinations(range(len(pool)), size)
        if not any(pair in apart for pair in combinations(group, 2))
    ]
