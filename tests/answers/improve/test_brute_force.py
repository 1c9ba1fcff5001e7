"""On small shops all single changes, pairs and threes by whole checks, one after the other, give the same best ones."""

from __future__ import annotations

import os
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.improve.candidate import Candidate
from ductcalc.answers.improve.improve import Gain, Improve, improve
from ductcalc.answers.improve.search import NOTHING, POOL, groups_of
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.shop import Shop
from tests.answers.improve.full import every_case, groups, least_pace, least_share, offered, told, worse_in, worst
from tests.answers.improve.full import own_cases as own
from tests.gate_shops import WEAK, random_shop
from tests.scenes import BARE, end, gate, hose, pipe, port, run, shop, wye

EFFORTS = {
    **dict.fromkeys(["helper gate", "helper shut", "one at a time", "shorter hose", "straighter hose"], 0),
    "clean filter": 0,
    **dict.fromkeys(["pipe size", "main size", "pipe for hose", "easier elbows", "slanted wye", "smoother hood"], 1),
    **dict.fromkeys(["bigger port", "second port", "wider throat", "second opening"], 2),
    **dict.fromkeys(["outdoors", "faster blower"], 3),
}  # fmt: skip
LONG = bool(os.environ.get("DUCTCALC_LONG"))
DRAWN = ["random 2", "random 7", "weak 4", "weak 6"]
if LONG:
    DRAWN += [f"{kind} {seed}" for kind in ("random", "weak") for seed in range(10, 30)]
LAST = ("outdoors", "faster blower", "wider throat", "second opening")


def two_drops() -> Shop:
    """Build two machines with straight drops on a short main."""
    return shop(
        run("main", port("saw", "4 in", flow="500 cfm", k=2.0), gate(), pipe("8 ft"), wye("drop", "5 in", angle="30"),
            pipe("30 ft"), end()),
        run("drop", port("sander", "4 in", flow="400 cfm", k=1.0), gate(), pipe("6 ft")),
        improve={"least_hose": "2 ft"},
    )  # fmt: skip


def one_hose() -> Shop:
    """Build one plain hood on a long hose with bends."""
    return shop(
        run("hose", port("planer", "4 in", flow="600 cfm", style="plain"), hose("12 ft", 2), pipe("10 ft"), end())
    )


def wide_main() -> Shop:
    """Build two small machines on a main that is too wide for either alone."""
    return shop(
        run("main", port("lathe", "4 in", flow="350 cfm", k=1.5), gate(), pipe("8 ft"), wye("drop", "6 in"),
            pipe("25 ft"), end()),
        run("drop", port("jointer", "4 in", flow="400 cfm", k=1.5), gate(), pipe("6 ft")),
    )  # fmt: skip


SHOPS = {
    "one machine": lambda: ductcalc.read_shop("examples/one-machine"),
    "hose": one_hose,
    "two drops": two_drops,
    "wide main": wide_main,
}


@cache
def shop_of(name: str) -> Shop:
    if name not in SHOPS:
        kind, seed = name.split()
        return random_shop(np.random.default_rng(int(seed)), 3, WEAK if kind == "weak" else BARE)
    return SHOPS[name]()


@cache
def answer_of(name: str) -> Improve:
    return improve(shop_of(name))


class Stands(NamedTuple):
    """A case as checks tell it. may_run: how many of the wanted cases may run, counted where the case is well."""

    settles: bool
    grade: int
    share: float
    pace: float
    may_run: int


@cache
def now(name: str) -> Stands:
    found = stands(name, ())
    assert found is not None
    return found


def stands(name: str, group: Sequence[Candidate]) -> Stands | None:
    mine = worst(own(shop_of(name), group, answer_of(name)))
    share = least_share(mine)
    if share is None:
        return None
    cases = every_case(shop_of(name), group, answer_of(name)) if mine.well else []
    grade = ("ok", "just short", "short").index(mine.air or "short")
    return Stands(bool(mine.settling), grade, share, least_pace(mine), sum(case.may_run for case in cases))


def cured(name: str, one: Stands) -> bool:
    before = now(name)
    return not one.settles and one.grade == 0 and (before.settles or before.grade > 0)


def order(name: str, group: Sequence[Candidate], one: Stands) -> tuple[float, ...]:
    """Settling before air; of cures the most cases that may run, then the least effort; then the most air."""
    if one.settles:
        return 1.0, -one.pace
    first = (-one.may_run, max(EFFORTS[c.kind] for c in group)) if cured(name, one) else (0, 0)
    return 0.0, one.grade, *first, -one.share


def clearly(name: str, one: Stands, other: Stands) -> bool:
    """Whether one is better than another by more than the band, or cures what the other does not."""
    band = LEAST_BAND
    if one.settles != other.settles:
        return other.settles
    if one.settles:
        return one.pace - other.pace > band * now(name).pace
    if cured(name, one) and cured(name, other):
        return one.may_run > other.may_run
    return one.share - other.share > band * now(name).share


def worth_telling(name: str, one: Stands) -> bool:
    """Whether a change clearly helps; one that brings air is told though chips settle then, where they do not now."""
    before = now(name)
    if not before.settles:
        return one.share > before.share * (1.0 + LEAST_BAND)
    return clearly(name, one, before) and (not one.settles or one.share >= before.share)


@cache
def reached(name: str, size: int) -> dict[frozenset[str], tuple[tuple[Candidate, ...], Stands]]:
    """Return how every group of so many changes stands, by the changes' labels; only what helps alone goes together."""
    found = [one for one in offered(shop_of(name), answer_of(name)) if size == 1 or labels([one]) in pool(name)]
    tried = ((group, stands(name, group)) for group in groups(found, size))
    return {labels(group): (group, then) for group, then in tried if then is not None}


def labels(group: Sequence[Candidate]) -> frozenset[str]:
    return frozenset(f"{one.kind} {one.machine or ''} {one.step.label}" for one in group)


def harmed(name: str, group: Sequence[Candidate]) -> bool:
    before, after = (every_case(shop_of(name), some, answer_of(name)) for some in ((), group))
    return any(worse_in(one, two) for one, two in zip(before, after, strict=True))


def ranked(name: str, size: int) -> list[tuple[tuple[Candidate, ...], Stands]]:
    return sorted(reached(name, size).values(), key=lambda pair: order(name, *pair))


@pytest.mark.parametrize("name", SHOPS)
def test_singles_are_all_that_clearly_help(name: str) -> None:
    answer = answer_of(name)
    worth = {group for group, (_, one) in reached(name, 1).items() if worth_telling(name, one)}
    listed = {labels(found.candidates): found for found in answer.gains}
    assert set(listed) <= worth
    further = [reached(name, 1)[group][0][0] for group in worth - set(listed)]
    assert all(one.kind in ("pipe size", "main size") and one.after < one.before for one in further)  # type: ignore[operator]
    for group, found in listed.items():
        assert found.share == pytest.approx(reached(name, 1)[group][1].share, rel=1e-10)


@pytest.mark.parametrize("name", [*SHOPS, *DRAWN])
def test_the_first_advice_is_the_best_harmless_change_of_a_plain_loop_over_checks(name: str) -> None:
    answer = answer_of(name)
    worth = [group for group, one in ranked(name, 1) if worth_telling(name, one) and group[0].kind not in LAST]
    best = next((group for group in worth if not harmed(name, group)), None)
    assert (answer.unharming and labels(answer.unharming.candidates)) == (best and labels(best))


def test_the_drawn_shops_settle_and_lack_air_and_get_unlike_advice() -> None:
    answers = [answer_of(name) for name in DRAWN]
    assert {answer.settles for answer in answers} == {True, False}
    assert any(answer.case.lacking for answer in answers)
    assert len({answer.unharming.kinds[0] for answer in answers if answer.unharming}) >= 3


@pytest.mark.parametrize("size", [2, 3])
@pytest.mark.parametrize("name", SHOPS)
def test_the_best_group_is_the_best_of_all(name: str, size: int) -> None:
    answer = answer_of(name)
    assert answer.tried <= 25
    found = answer.pairs if size == 2 else answer.threes
    group, one = ranked(name, size)[0]
    parts = [reached(name, size - 1)[labels(group) - {part}] for part in labels(group)]
    _, part = min(parts, key=lambda pair: order(name, *pair))
    assert (found.best is not None) == clearly(name, one, part)
    if found.best is not None:
        assert labels(found.best.candidates) == labels(group)
        assert found.best.share == pytest.approx(one.share, rel=1e-10)


@pytest.mark.parametrize("size", [2, 3])
@pytest.mark.parametrize("name", SHOPS)
def test_the_best_group_without_harm_is_the_best_of_those(name: str, size: int) -> None:
    answer = answer_of(name)
    found = answer.pairs if size == 2 else answer.threes
    group, one = next(pair for pair in ranked(name, size) if not harmed(name, pair[0]))
    if found.harmless is not None:
        assert labels(found.harmless.candidates) == labels(group)
        assert found.harmless.share == pytest.approx(one.share, rel=1e-10)
    else:
        fewer = [f for f in told(answer) if len(f.candidates) < size and may_lead(f)]
        known = [reached(name, len(f.candidates))[labels(f.candidates)] for f in fewer]
        _, best = min(known, key=lambda pair: order(name, *pair), default=((), now(name)))
        assert not clearly(name, one, best)


def may_lead(one: Gain) -> bool:
    return not one.harms and one.kinds[0] not in LAST


def helps(name: str, one: Stands) -> bool:
    """Whether a change helps at all, beyond the last digits of a solution."""
    before = now(name)
    if one.settles or before.settles:
        return before.settles and (not one.settles or one.pace > before.pace * (1.0 + NOTHING))
    return one.share > before.share * (1.0 + NOTHING)


@cache
def pool(name: str) -> frozenset[frozenset[str]]:
    alone = reached(name, 1).items()
    return frozenset(one for one, (group, then) in alone if group[0].kind not in LAST and helps(name, then))


@pytest.mark.parametrize("size", [2, 3])
@pytest.mark.parametrize("name", SHOPS)
def test_every_group_of_the_pool_was_tried_and_no_other(name: str, size: int) -> None:
    answer = answer_of(name)
    mine = [one for one in offered(shop_of(name), answer) if labels([one]) in pool(name)]
    assert answer.pool == len(mine) <= POOL
    together = answer.pairs if size == 2 else answer.threes
    assert together.tried == len(groups(mine, size))


def test_one_piece_is_never_changed_twice() -> None:
    creamery = ductcalc.read_shop("examples/creamery")
    some = offered(creamery, improve(creamery))[:40]
    found = groups_of(some, 2)
    assert set(found) == set(groups(some, 2)) and len(found) < 40 * 39 // 2


@pytest.mark.parametrize("name", SHOPS)
def test_no_group_changes_one_thing_twice(name: str) -> None:
    for found in told(answer_of(name)):
        touched = [touch for one in found.candidates for touch in one.touches]
        assert len(touched) == len(set(touched))
