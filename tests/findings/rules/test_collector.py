"""The collector: what is known of it, what it really pulls, what it cannot stand."""

from __future__ import annotations

import numpy as np
import pytest

from ductcalc.answers.check import check
from ductcalc.findings.phrase import Amount
from ductcalc.model.model import build_model
from ductcalc.physics.curve import evaluate
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, mended, names, seen, words

ENDS = [("0 cfm", "12 inwg"), ("1400 cfm", "0 inwg")]
CURVE = [("0 cfm", "12 inwg"), ("700 cfm", "9 inwg"), ("1400 cfm", "0 inwg")]
FILTER = [s.rated("filter clean", "800 cfm", "0.6 inwg"), s.rated("filter loaded", "800 cfm", "2 inwg")]


def one(*table: s.Row, **settings: object) -> Shop:
    rows = [s.port("saw", "5 in", "540 cfm", k=1.5), s.gate(), s.pipe("9 ft"), s.end()]
    return s.shop(s.run("a", *rows), table=list(table), **settings)


def air(shop: Shop) -> float:
    return check(shop).loaded[0].machines[0].flow_m3_s


def test_hopeful_curve_of_advertised_figures_is_the_model_s_own() -> None:
    shop = one(s.rated("advertised", "1400 cfm", "12 inwg"), s.none("cyclone"), *FILTER)
    (found,) = seen(shop, "advertised figures")
    before, after = build_model(shop).collector, build_model(mended(shop, found)).collector
    assert before is not None and after is not None
    for flow in np.linspace(0.0, 1400 * s.CFM, 30):
        written, hopeful = evaluate(after.blower_curve(), flow)[0], evaluate(before.blower_curve("high"), flow)[0]
        assert float(written) == pytest.approx(float(hopeful), abs=0.01 * 12 * s.INCH_WATER)


def test_curve_with_points_is_not_provisional() -> None:
    assert names(one(*s.points(*CURVE), s.none("cyclone"), *FILTER), "advertised figures") == []


def test_two_end_points_are_read_as_advertised() -> None:
    shop = one(*s.points(*ENDS), s.none("cyclone"), *FILTER)
    (found,) = seen(shop, "two end points")
    plain = one(s.rated("advertised", "1400 cfm", "12 inwg"), s.none("cyclone"), *FILTER)
    assert air(mended(shop, found)) == pytest.approx(air(plain), rel=1e-12)


@pytest.mark.parametrize(
    "points", [CURVE, [("0 cfm", "12 inwg"), ("1400 cfm", "2 inwg")], [("200 cfm", "12 inwg"), ("1400 cfm", "0 inwg")]]
)
def test_points_that_are_not_both_ends_are_no_finding(points: list[tuple[str, str]]) -> None:
    assert names(one(*s.points(*points), s.none("cyclone"), *FILTER), "two end points") == []


def test_curve_that_does_not_fall_is_read_as_advertised() -> None:
    shop = one(*s.points(("0 cfm", "12 inwg"), ("1400 cfm", "12 inwg")), s.none("cyclone"), *FILTER)
    (found,) = seen(shop, "two end points")
    plain = one(s.rated("advertised", "1400 cfm", "12 inwg"), s.none("cyclone"), *FILTER)
    assert air(mended(shop, found)) == pytest.approx(air(plain), rel=1e-12)


BLOWN = [*s.points(*s.STRONG), s.none("cyclone")]


@pytest.mark.parametrize("rows", [[s.none("filter clean"), s.none("filter loaded")], [s.none("filter clean")]])
def test_filter_written_as_none_is_seen_while_the_air_stays_indoors(rows: s.Rows) -> None:
    assert names(one(*BLOWN, *rows), "no filter") == ["collector"]
    assert names(one(*BLOWN, *rows, room={"exhaust": "outdoors"}), "no filter") == []


def test_counted_filter_is_the_default_one() -> None:
    shop = one(*BLOWN, s.none("filter clean"), s.none("filter loaded"))
    (found,) = seen(shop, "no filter")
    assert 'exhaust = "outdoors" under [room]' in words(found.cure)
    assert air(mended(shop, found)) == pytest.approx(air(one(*BLOWN)), rel=1e-12)


def test_filter_that_the_curve_contains_is_no_missing_one() -> None:
    shop = one(*BLOWN, s.none("filter loaded"), collector={"contains": ["filter clean"]})
    assert names(shop, "no filter") == []


@pytest.mark.parametrize(("loaded", "count"), [("0.6 inwg", 1), ("0.62 inwg", 1), ("0.9 inwg", 0)])
def test_loaded_filter_that_takes_no_more_is_seen(loaded: str, count: int) -> None:
    clean = s.rated("filter clean", "800 cfm", "0.6 inwg")
    shop = one(*BLOWN, clean, s.rated("filter loaded", "800 cfm", loaded))
    assert len(seen(shop, "filter never loaded")) == count


def test_filters_are_held_against_each_other_at_one_flow() -> None:
    clean = s.rated("filter clean", "400 cfm", "0.6 inwg")
    assert names(one(*BLOWN, clean, s.rated("filter loaded", "800 cfm", "1 inwg")), "filter never loaded") != []


def test_loaded_filter_that_is_not_written_is_no_finding() -> None:
    assert names(one(*BLOWN, s.rated("filter clean", "800 cfm", "0.6 inwg")), "filter never loaded") == []


def test_test_pipe_without_a_basis_is_seen() -> None:
    shop = one(*BLOWN, *FILTER, collector={"test_pipe": "6 in"})
    (found,) = seen(shop, "basis of the curve")
    said = one(*BLOWN, *FILTER, collector={"test_pipe": "6 in", "curve": "inlet suction"})
    assert air(mended(shop, found)) == pytest.approx(air(said), rel=1e-12)
    assert names(said, "basis of the curve") == names(one(*BLOWN, *FILTER), "basis of the curve") == []


def test_outlet_size_without_a_basis_is_seen() -> None:
    shop = one(*BLOWN, *FILTER, collector={"outlet_size": "5 in"})
    (found,) = seen(shop, "basis of the curve")
    said = one(*BLOWN, *FILTER, collector={"outlet_size": "5 in", "curve": "fan total"})
    assert air(mended(shop, found)) == pytest.approx(air(said), rel=1e-12)
    assert names(said, "basis of the curve") == []


def four(*points: tuple[str, str], machines: int = 4, **settings: object) -> Shop:
    names_ = ("saw", "jointer", "planer", "lathe")[1:machines]
    wyes = [row for name in names_ for row in (s.wye(name, "5 in"), s.pipe("4 ft"))]
    drops = [s.run(name, s.port(name, "5 in", "540 cfm", k=1.5), s.gate(), s.pipe("5 ft")) for name in names_]
    trunk = s.run("trunk", s.port("saw", "5 in", "540 cfm", k=1.5), s.gate(), s.pipe("9 ft"), *wyes, s.end("5 in"))
    return s.shop(trunk, *drops, table=[*s.points(*points), *s.NO_PARTS], **settings)


HUGE = (("0 cfm", "40 inwg"), ("1000 cfm", "38 inwg"), ("2500 cfm", "10 inwg"))


def test_blower_for_the_sum_is_seen_where_each_runs_alone() -> None:
    (found,) = seen(four(*HUGE), "blower for the sum")
    needed, there, added_up = (part.value for part in found.what if isinstance(part, Amount))
    assert needed < added_up < there


@pytest.mark.parametrize(
    "shop",
    [
        four(("0 cfm", "8 inwg"), ("1500 cfm", "1 inwg")),
        four(*HUGE, machines=3),
        four(*HUGE, gates={"sets": {"two": ["saw", "lathe"]}}),
    ],
)
def test_blower_that_may_be_right_is_no_finding(shop: Shop) -> None:
    assert names(shop, "blower for the sum") == []


def powered(power: str, motor: str | None) -> Shop:
    rows = s.points(*s.STRONG)
    rows[-1] = {**rows[-1], "power": power}
    settings = {} if motor is None else {"running": {"motor": motor}}
    return one(*rows, s.none("cyclone"), *FILTER, **settings)


def test_blower_that_asks_for_more_than_the_motor_gives_is_seen() -> None:
    (found,) = seen(powered("2.2 kW", "1.5 kW"), "motor load")
    assert figures(found.what) == ["3.0 hp", "2.0 hp"]


def test_motor_that_is_strong_enough_or_not_known_is_no_finding() -> None:
    assert names(powered("2.2 kW", "2.2 kW"), "motor load") == names(powered("2.2 kW", None), "motor load") == []


def test_blower_far_right_on_its_curve_is_seen_without_a_power() -> None:
    points = s.points(("0 cfm", "12 inwg"), ("1000 cfm", "6 inwg"))
    (found,) = seen(one(*points, *s.NO_PARTS), "motor load")
    assert "motor under [running]" in words(found.cure)
    assert "saw alone" in words(found.what) and not any("hp" in one for one in figures(found.what))


def test_advertised_blower_is_not_told_its_load() -> None:
    assert names(one(s.rated("advertised", "700 cfm", "12 inwg"), *s.NO_PARTS), "motor load") == []


@pytest.mark.parametrize(("cloth", "count"), [("60 ft2", 1), ("400 ft2", 0)])
def test_small_filter_is_held_against_the_largest_flow(cloth: str, count: int) -> None:
    found = seen(one(*BLOWN, *FILTER, running={"filter_area": cloth}), "small filter")
    assert len(found) == count
    assert all("ft2" in words(each.what) for each in found)


def test_filter_of_unknown_area_is_no_finding() -> None:
    assert names(one(*BLOWN, *FILTER), "small filter") == []


def test_motor_overloaded_at_work_is_told_with_what_is_open() -> None:
    powers = ("1 kW", "1.6 kW", "2.2 kW", "2.8 kW", "3 kW")
    blower = [{**row, "power": power} for row, power in zip(s.points(*s.STRONG), powers, strict=True)]
    shop = one(*blower, s.none("cyclone"), *FILTER, running={"motor": "1.5 kW"})
    (found,) = seen(shop, "motor load")
    assert "saw alone" in words(found.what) and "gate" in words(found.cure)


@pytest.mark.parametrize(("motor", "count"), [("0.3 kW", 1), ("3 kW", 0)])
def test_motor_too_small_for_the_power_in_the_air_is_told_without_a_stated_power(motor: str, count: int) -> None:
    shop = one(*s.points(*s.STRONG), s.none("cyclone"), *FILTER, running={"motor": motor})
    found = seen(shop, "motor load")
    assert len(found) == count
    assert all("0.4 hp" in figures(observation.what) for observation in found)
