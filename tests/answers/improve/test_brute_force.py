"""On small shops all single changes, pairs and threes by whole checks, one after the other, give the same best ones."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import pytest

import ductcalc
from ductcalc.answers.improve.candidate import LAST, Candidate
from ductcalc.answers.improve.candidates import candidates
from ductcalc.answers.improve.improve import Gain, Improve, improve
from ductcalc.answers.improve.search import POOL, groups_of
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from ductcalc.shop.hanging import spelled_out
from tests.answers.improve.full import ask_of, case_with, groups, least_share, shop_with, told, worse_in
from tests.scenes import end, gate, hose, pipe, port, run, shop, wye


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


SHOPS = {"one machine": lambda: ductcalc.read_shop("examples/one-machine"), "hose": one_hose, "two drops": two_drops}


@cache
def shop_of(name: str) -> Shop:
    return SHOPS[name]()


@cache
def answer_of(name: str) -> Improve:
    return improve(shop_of(name))


@cache
def shares(name: str, size: int) -> dict[frozenset[str], float]:
    """Return what every group of so many changes reaches, by the changes' labels; what leads no advice is alone."""
    found = [one for one in candidates(build_model(spelled_out(shop_of(name)))) if size == 1 or one.kind not in LAST]
    reached: dict[frozenset[str], float] = {}
    for group in groups(found, size):
        share = reach(name, group)
        if share is not None:
            reached[labels(group)] = share
    return reached


def reach(name: str, group: Sequence[Candidate]) -> float | None:
    return least_share(case_with(shop_of(name), group, ask_of(answer_of(name))))


def labels(group: Sequence[Candidate]) -> frozenset[str]:
    return frozenset(one.step.label for one in group)


@pytest.mark.parametrize("name", SHOPS)
def test_singles_are_all_that_bring_more_than_the_band(name: str) -> None:
    answer = answer_of(name)
    now = reach(name, ())
    assert now is not None
    worth = {group: share for group, share in shares(name, 1).items() if share / now - 1.0 >= answer.band.share}
    assert {labels(found.candidates): pytest.approx(found.share, rel=1e-10) for found in answer.gains} == worth


@pytest.mark.parametrize("size", [2, 3])
@pytest.mark.parametrize("name", SHOPS)
def test_the_best_group_is_the_best_of_all(name: str, size: int) -> None:
    answer = answer_of(name)
    assert answer.tried == len(shares(name, 1)) <= 25
    found = answer.pairs if size == 2 else answer.threes
    best, share = max(shares(name, size).items(), key=lambda pair: pair[1])
    parts = [shares(name, size - 1)[best - {one}] for one in best if best - {one} in shares(name, size - 1)]
    beats = share - max(parts) > answer.band.share * answer.share
    assert (found.best is not None) == beats
    if found.best is not None:
        assert labels(found.best.candidates) == best
        assert found.best.share == pytest.approx(share, rel=1e-10)


@pytest.mark.parametrize("size", [2, 3])
@pytest.mark.parametrize("name", SHOPS)
def test_the_best_group_without_harm_is_the_best_of_those(name: str, size: int) -> None:
    answer = answer_of(name)
    found = answer.pairs if size == 2 else answer.threes
    pool = {one.step.label: one for one in candidates(build_model(spelled_out(shop_of(name))))}
    ranked = sorted(shares(name, size).items(), key=lambda pair: -pair[1])
    kind = ((group, share) for group, share in ranked if not harmed(name, [pool[label] for label in group]))
    group, share = next(kind)
    told_of = found.harmless
    if told_of is not None:
        assert (labels(told_of.candidates), told_of.share) == (group, pytest.approx(share, rel=1e-10))
    else:
        fewer = [one.share for one in told(answer) if len(one.candidates) < size and may_lead(one)]
        assert share - max(fewer, default=answer.share) <= answer.band.share * answer.share * (1.0 + 1e-9)


def may_lead(one: Gain) -> bool:
    return not one.harms and one.kinds[0] not in LAST


def harmed(name: str, group: Sequence[Candidate]) -> bool:
    before, after = ductcalc.check(shop_of(name)).loaded, ductcalc.check(shop_with(shop_of(name), group))
    clean = any(one.kind == "clean filter" for one in group)
    cases = [case for case in after.cases if case.filter == ("clean" if clean else "loaded")]
    band = answer_of(name).band.share
    return any(worse_in(one, two, band) for one, two in zip(before, cases, strict=True))


@pytest.mark.parametrize("size", [2, 3])
@pytest.mark.parametrize("name", SHOPS)
def test_every_group_of_the_pool_was_tried_and_no_other(name: str, size: int) -> None:
    answer = answer_of(name)
    better = {group for group, share in shares(name, 1).items() if share > answer.share}
    found = candidates(build_model(spelled_out(shop_of(name))))
    pool = [c for c in found if labels([c]) in better and c.kind not in LAST]
    assert answer.pool == len(pool) <= POOL
    together = answer.pairs if size == 2 else answer.threes
    assert together.tried == len(groups(pool, size))


def test_one_piece_is_never_changed_twice() -> None:
    pool = candidates(build_model(spelled_out(ductcalc.read_shop("examples/creamery"))))[:40]
    found = groups_of(pool, 2)
    assert set(found) == set(groups(pool, 2)) and len(found) < 40 * 39 // 2


@pytest.mark.parametrize("name", SHOPS)
def test_no_group_changes_one_thing_twice(name: str) -> None:
    for found in told(answer_of(name)):
        touched = [touch for one in found.candidates for touch in one.touches]
        assert len(touched) == len(set(touched))
