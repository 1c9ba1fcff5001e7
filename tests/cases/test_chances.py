"""Bands and chances: they hold as often as they say, what is one fact is drawn once, and shops are drawn alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

import ductcalc
from ductcalc.cases.bands import FARTHEST, unknowns_of
from ductcalc.cases.chances import COUNT, LEAST_COUNT, Sample, drawn, drawn_like, fact_names, of_loaded, orthogonal
from ductcalc.cases.choices import Choice, every_machine_alone
from ductcalc.cases.judged import NOT_CONVERGED
from ductcalc.cases.variants import Variant, judged_variants
from ductcalc.catalog import fact
from ductcalc.model.model import Model, build_model
from ductcalc.shop import Shop
from tests import scenes as s
from tests.gate_shops import random_shop

TRUTHS = 50
METHODS = ("momentum", "momentum", "handbook", "factored")


def shed(flow: str, hose: str, joints: str, port: dict[str, object]) -> Shop:
    """Build a small shop: flow wanted at the planer, its hose, joints, and what is known of its port."""
    head = (s.port("saw", "4 in", style="flanged"), s.hose("4 ft", None), s.gate(), s.pipe("14 ft", style=""))
    main = s.run("main", *head, s.wye("drop", "6 in"), s.pipe("18 ft"), s.elbow(count=2), s.end())
    drop = s.run("drop", s.port("planer", "5 in", flow, **port), s.hose(hose), s.gate(), s.pipe("6 ft"), s.elbow())
    parts = [s.rated("cyclone", "800 cfm", "2 inwg"), s.rated("filter clean", "800 cfm", "0.6 inwg")]
    return s.shop(main, drop, table=[*s.points(*s.STRONG), *parts], method={"joint_leakage": joints})


SHOPS = [
    shed(flow, hose, joints, port)
    for flow, hose, joints, port in product(
        ("560 cfm", "680 cfm"), ("3 ft", "9 ft"), ("sealed", "unsealed"), ({}, {"drop": "900 Pa at 20 m/s"}, {"k": 0.5})
    )
]


def truths(model: Model, draw: np.random.Generator) -> Iterator[tuple[Variant, float]]:
    """Yield shops as they might really be, and by how much a calculation of a known shop is off."""
    every = {name: build_model(model.shop, name) for name in set(METHODS)}
    for _ in range(TRUTHS):
        true = every[str(draw.choice(METHODS))]
        unknowns = of_loaded(unknowns_of(true))
        names = fact_names(unknowns)
        off = {name: float(np.clip(draw.normal(), -FARTHEST, FARTHEST)) for name in dict.fromkeys(names)}
        error = np.exp(0.25 * fact("measuring", "model").value * draw.normal())
        yield unknowns.variant([off[name] for name in names]), float(error)


Planted = list[tuple[Sample, int, np.ndarray, np.ndarray]]


@pytest.fixture(scope="module")
def planted() -> Planted:
    return planted_in(SHOPS)


def planted_in(shops: Sequence[Shop]) -> Planted:
    """Return for each shop and machine alone: the sample, the column, true air [m3/s] and true share of the wish."""
    draw, found = np.random.default_rng(7), []
    for shop in shops:
        model = build_model(shop)
        choices = every_machine_alone(model)
        sample = drawn(model, choices)
        variants, errors = zip(*truths(model, draw), strict=True)
        judged = judged_variants(list(variants), choices)
        for column, choice in enumerate(choices):
            place = model.machines.index(choice.machines[0])
            air = np.array([one.machine_flow_m3_s[place, column] for one in judged]) * errors
            share = np.array([one.share[place, column] for one in judged]) * errors
            found.append((sample, column, air, share))
    return found


def chance(sample: Sample, column: int):
    found = sample.chance(sample.choices[column].machines[0], column)
    assert found is not None
    return found


def covered(planted: Planted) -> np.ndarray:
    """Return for each machine the share of its truths within its band."""
    bands = [chance(sample, column) for sample, column, _, _ in planted]
    ends = [(band.low_m3_s, band.high_m3_s) for band in bands]
    both = zip(ends, (air for _, _, air, _ in planted), strict=True)
    return np.array([np.mean((low <= air) & (air <= high)) for (low, high), air in both])


def test_bands_cover_eight_of_ten_of_two_thousand_planted_truths(planted) -> None:
    inside = covered(planted)
    # 50 truths give a share of 80 % to 6 %, 48 such shares their mean to 1 %: three of these
    assert len(inside) * TRUTHS >= 1000
    assert np.mean(inside) == pytest.approx(0.8, abs=0.03)


def test_bands_cover_truths_of_random_shops() -> None:
    inside = covered(planted_in([random_shop(np.random.default_rng(1000 + seed), 3 + seed % 3) for seed in range(8)]))
    assert len(inside) * TRUTHS >= 1000
    assert np.mean(inside) == pytest.approx(0.8, abs=0.04)


def test_chances_of_being_served_come_true_also_for_machines_near_their_wish(planted) -> None:
    told = np.array([chance(sample, column).served for sample, column, _, _ in planted])
    true = np.array([np.mean(share >= 1.0) for *_, share in planted])
    near = (told > 0.1) & (told < 0.9)
    assert near.sum() >= 8
    assert np.mean(covered(planted)[near]) == pytest.approx(0.8, abs=0.06)
    assert np.mean(told) == pytest.approx(np.mean(true), abs=0.04)
    assert np.mean(told[near]) == pytest.approx(np.mean(true[near]), abs=0.08)


@pytest.mark.parametrize("count", [4, 16, 32])
def test_facts_are_drawn_without_correlation_and_each_level_once(count: int) -> None:
    levels = orthogonal(count)
    assert levels.shape == (count, count // 2)
    assert np.allclose(levels.T @ levels, np.diag(np.full(count // 2, (levels[:, 0] ** 2).sum())))
    assert all(sorted(column) == sorted(levels[:, 0]) and len(set(column)) == count for column in levels.T)


def two_alone(shop: Shop) -> tuple[Model, tuple[Choice, ...]]:
    model = build_model(shop)
    return model, every_machine_alone(model)


def test_the_same_shop_has_the_same_bands() -> None:
    first, second = (drawn(*two_alone(SHOPS[0])) for _ in range(2))
    assert np.array_equal(first.flow_m3_s, second.flow_m3_s)


def test_all_hoses_share_one_factor_and_one_coefficient_of_bends() -> None:
    names = fact_names(unknowns_of(build_model(SHOPS[2])))
    model = build_model(SHOPS[2])
    hoses = [loss for section in model.sections for loss in section.body if loss.kind == "hose"]
    assert len(hoses) == 2 and names.count(("hose factor", "")) == 1
    assert {("hose bends", ""), ("resistance", "planer"), ("resistance", "saw")} <= set(names)


def test_a_stated_resistance_narrows_the_band() -> None:
    widths = {}
    for known, port in (("no", {}), ("yes", {"drop": "900 Pa at 20 m/s"})):
        found = chance(drawn(*two_alone(shed("680 cfm", "3 ft", "sealed", port))), 1)
        widths[known] = found.high_m3_s / found.low_m3_s
    assert found.machine == "planer"
    assert widths["yes"] < widths["no"]


def test_what_is_least_known_comes_first() -> None:
    sample = drawn(*two_alone(shed("680 cfm", "3 ft", "sealed", {})))
    assert (sample.widest("planer", 1)[0].name, sample.widest("planer", 1)[0].machine) == ("resistance", "planer")
    assert all(one.machine in ("", "planer") for one in sample.widest("planer", 1))


def test_advertised_curves_are_choices() -> None:
    main = s.run("main", s.port("saw", "4 in", k=1.0), s.gate(), s.pipe("9 ft"), s.end())
    shop = s.shop(main, table=[s.rated("advertised", "900 cfm", "9 inwg"), *s.NO_PARTS])
    found = chance(drawn(*two_alone(shop)), 0)
    check = ductcalc.check(shop)
    low, _, high = (one.flow_m3_s for one in check.by_curve)
    assert low is not None and high is not None and found.high_m3_s > low
    assert "advertised curve" in [one.name for one in check.widest]


def test_a_large_shop_is_drawn_less_often() -> None:
    model, choices = two_alone(SHOPS[0])
    assert len(drawn(model, choices).flow_m3_s) == COUNT
    assert len(drawn(model, choices * 2000).flow_m3_s) == LEAST_COUNT


def test_a_difference_is_held_against_the_common_band() -> None:
    same, own = shed("680 cfm", "9 ft", "sealed", {}), shed("680 cfm", "9 ft", "sealed", {})
    shorter = shed("680 cfm", "3 ft", "sealed", {})
    one = drawn(*two_alone(same))
    alike, other = (drawn_like(one, [model], choices)[0] for model, choices in map(two_alone, (own, shorter)))
    assert one.apart(alike, "planer", (1, 1)) == (1.0, 1.0)
    low, high = one.apart(other, "planer", (1, 1))
    assert 1.0 < low < high
    alone = chance(one, 1)
    assert high / low < alone.high_m3_s / alone.low_m3_s


def test_a_case_without_an_answer_has_no_band() -> None:
    sample = drawn(*two_alone(SHOPS[0]))
    unsolved = replace(sample.judged, status=np.full_like(sample.judged.status, NOT_CONVERGED))
    lost = replace(sample, judged=unsolved)
    assert lost.chance("saw", 0) is None
