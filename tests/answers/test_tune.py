"""Badly known numbers fitted to healthy readings: planted ones come back within what is said of them."""

from __future__ import annotations

import os
from dataclasses import replace
from math import log

import pytest

from ductcalc.answers.expect import expect
from ductcalc.answers.tune import Tune, _number, tune
from ductcalc.cases.bands import Unknown
from ductcalc.cases.choices import Ask
from ductcalc.errors import InputError
from ductcalc.shop import Shop
from ductcalc.shop.tuned import Tuned
from ductcalc.tables.readings import read_readings
from tests.answers.diagnose.planted import NAMES, planted
from tests.scenes import two_machines

LONG = os.environ.get("DUCTCALC_LONG") == "1"
SHOPS = 200 if LONG else 12


def fitted(seed: int, stated: bool = False) -> tuple[Tune, dict[str, float]]:
    """Return a fit of a planted healthy shop, and how far its true resistances and hose factor lie off (deviations)."""
    one = planted(seed, None, baseline=True, stated=stated)
    found = tune(one.shop, one.readings)
    truth = {f"resistance, {NAMES[d]}": drop.k for d, drop in enumerate(one.healthy.drops)}
    truth["hose factor"] = one.healthy.drops[0].hose_factor
    return found, truth


def test_planted_numbers_lie_within_what_is_left_of_their_band_as_often_as_said() -> None:
    """Two standard deviations each way hold nineteen of twenty; what that many numbers allow is let pass."""
    inside, narrowed = [], 0
    for seed in range(300, 300 + SHOPS):
        found, truth = fitted(seed)
        for number in found.numbers:
            if number.name in truth and number.value is not None:
                low, high = number.tuned.low * number.value, number.tuned.high * number.value
                inside.append(low <= truth[number.name] <= high)
                narrowed += log(high / low) < 0.6 * log((number.high or 1.0) / (number.low or 1.0))
    count = len(inside)
    assert count >= 2 * SHOPS
    assert narrowed >= 0.6 * count
    allowed = 2.6 * (0.95 * 0.05 / count) ** 0.5
    assert sum(inside) / count >= 0.95 - allowed


def test_a_reading_is_missed_by_less_afterwards() -> None:
    for seed in range(400, 404):
        found, _ = fitted(seed)
        assert sum(abs(miss) for miss in found.after) < sum(abs(miss) for miss in found.before)


def readings(shop: Shop, *rows: tuple[str, str, str]) -> object:
    log_ = [{"when": "2026-01-10", "open": o, "where": w, "value": v, "healthy": "yes"} for o, w, v in rows]
    return read_readings(log_, shop)


def healthy_rows(shop: Shop) -> list[tuple[str, str, str]]:
    taps = expect(shop, [Ask.machines("planer"), Ask.machines("band saw")]).taps
    return [(tap.case, tap.where, f"{tap.static_pa:.1f} Pa") for tap in taps if tap.passes]


def test_readings_as_calculated_move_nothing() -> None:
    shop = two_machines()
    found = tune(shop, readings(shop, *healthy_rows(shop)))
    assert all(number.tuned.times == pytest.approx(1.0, abs=2e-3) for number in found.numbers)
    assert found.numbers and found.numbers[0].left < 0.9


def test_a_reading_that_contradicts_the_others_is_named() -> None:
    shop = two_machines()
    rows = healthy_rows(shop)
    wrong = next(n for n, row in enumerate(rows) if row[1] == "collector inlet")
    rows[wrong] = (rows[wrong][0], "collector inlet", "700 Pa")
    with pytest.raises(InputError, match="collector inlet reads 700 Pa") as caught:
        tune(shop, readings(shop, *rows))
    places = [problem.place.row for problem in caught.value.problems if problem.place]
    assert places[0] == wrong + 1


def test_without_healthy_readings_there_is_nothing_to_fit() -> None:
    shop = two_machines()
    row = {"when": "2026-01-10", "open": "planer", "where": "collector inlet", "value": "5 inwg"}
    with pytest.raises(InputError, match="marked healthy"):
        tune(shop, read_readings([row], shop))


def test_a_tuned_shop_reads_what_was_read() -> None:
    """The tuned numbers in the shop give the readings of the fit, to its last step."""
    one = planted(301, None, baseline=True)
    found = tune(one.shop, one.readings)
    tuned = replace(one.shop, tuned=found.tuned)
    for reading, after in zip(found.readings, found.after, strict=True):
        taps = expect(tuned, [Ask.machines(*reading.open)]).taps
        static = next(tap.static_pa for tap in taps if tap.where == reading.where.written)
        assert static / reading.value - 1.0 == pytest.approx(after, abs=0.05)


def test_what_was_tuned_before_counts_for_nothing() -> None:
    one = planted(302, None, baseline=True)
    before = replace(one.shop, tuned=(Tuned("hose factor", "", 1.7, 1.2, 2.0),), changes=("tuned",))
    again = tune(before, one.readings)
    assert again.tuned == tune(one.shop, one.readings).tuned
    assert again.changes == ()


def test_the_speed_of_the_blower_is_told_with_its_band_around_the_curves() -> None:
    unknown = Unknown("speed", "", speed=0.04)
    found = _number(unknown, 1.0, 0.25)
    assert (found.value, found.low, found.high) == pytest.approx((1.0, 0.96, 1.04))
    assert (found.tuned.times, found.tuned.low, found.tuned.high) == pytest.approx((1.02, 1.01, 1.03))
