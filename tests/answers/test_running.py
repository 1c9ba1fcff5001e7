"""Running figures: power, energy, money, heat, filter, drum and chips in the air, each worked again by hand."""

from __future__ import annotations

from typing import Any

import pytest

import ductcalc
from ductcalc.answers.running import Running, running
from ductcalc.cases.choices import Ask
from ductcalc.catalog import fact
from ductcalc.catalog.between import Band
from ductcalc.model.model import build_model
from ductcalc.report.check.data import check_document
from ductcalc.report.display import Display
from tests.scenes import BARE, CFM, NO_PARTS, TIGHT, Row, end, gate, pipe, points, port, rated, run, shop, two_machines

KWH_J = 3.6e6
PLANER = {"width": "12 in", "depth": "1/16 in", "feed": "20 ft/min", "makes": "shavings"}


def powered(*powers: str | None) -> list[Row]:
    flows = ("0 cfm", "750 cfm", "1500 cfm")
    heads = ("14 inwg", "12 inwg", "2 inwg")
    blower = [
        {"item": "blower", "flow": flow, "pressure": head, "power": power}
        for flow, head, power in zip(flows, heads, powers, strict=True)
    ]
    return [*blower, *NO_PARTS]


def figures(*asks: Ask, **settings: Any) -> Running:
    found = two_machines(**settings)
    return running(found, ductcalc.check(found, asks or None))


def lone(**settings: Any) -> Running:
    """Return the figures of one machine on a tight straight pipe."""
    table = settings.pop("table", BARE)
    rows = run("a", port("planer", "5 in", k=1.0), gate(), pipe("9 ft"), end())
    made = shop(rows, table=table, **{**TIGHT, **settings})
    return running(made, ductcalc.check(made))


def test_without_power_points_shaft_power_is_air_power_over_the_default_efficiency_with_its_band() -> None:
    assert figures().cases
    for one in figures().cases:
        point, efficiency = one.case.collector, fact("running", "fan efficiency")
        assert point is not None and one.estimated
        air = point.flow_m3_s * point.blower_pa
        assert one.air_w == pytest.approx(air)
        assert one.shaft_w == pytest.approx((air / efficiency.value, air / efficiency.high, air / efficiency.low))


def test_with_power_points_shaft_power_is_that_of_the_check_and_has_no_band() -> None:
    made = two_machines(table=powered("1 hp", "2 hp", "3 hp"))
    verdict = ductcalc.check(made)
    found = running(made, verdict)
    assert found.fan_efficiency is None
    for one in found.cases:
        assert one.case.collector is not None and not one.estimated
        assert one.shaft_w == Band(*[one.case.collector.power_w] * 3)  # type: ignore[arg-type]


def test_flows_outside_of_the_power_points_are_estimated() -> None:
    found = figures(table=powered(None, "2 hp", "3 hp"))
    told = {one.estimated for one in found.cases}
    assert True in told and found.fan_efficiency is not None


def test_the_largest_power_is_that_of_the_points_in_the_shops_air() -> None:
    thin = figures(table=powered("1 kW", "2 kW", "3 kW"), air={"density": "0.9612 kg/m3"})
    assert thin.largest_w == pytest.approx(3000.0 * 0.9612 / 1.2014, rel=1e-3)
    assert figures(table=powered(None, None, "3 kW")).largest_w is None


@pytest.mark.parametrize("contains", [["cyclone"], ["filter clean"], ["cyclone", "filter clean"]])
def test_shaft_power_counts_what_the_curve_contains(contains: list[str]) -> None:
    """The same blower written twice: by itself, and with parts taken off its points; square laws fit both."""
    flows = range(0, 1601, 20)
    parts = {"cyclone": (2.0, 2.0), "filter clean": (0.6, 1.0)}
    rows: list[Row] = [rated("cyclone", "800 cfm", "2 inwg"), rated("filter clean", "800 cfm", "0.6 inwg")]
    rows += [rated("filter loaded", "800 cfm", "2 inwg")]

    def blower(without: list[str]) -> list[Row]:
        def head(q: int) -> float:
            return 14.0 * (1.0 - (q / 1650) ** 2) - sum(parts[p][0] * (q / 800) ** parts[p][1] for p in without)

        good = [q for q in flows if head(q) >= 0.0]
        return points(*[(f"{q} cfm", f"{head(q)} inwg") for q in good])

    plain = lone(table=[*blower([]), *rows], air={"density": "1.1 kg/m3"})
    inside = lone(table=[*blower(contains), *rows], air={"density": "1.1 kg/m3"}, collector={"contains": contains})
    for one, other in zip(plain.cases, inside.cases, strict=True):
        assert other.flow_m3_s == pytest.approx(one.flow_m3_s, rel=1e-4)
        assert other.shaft_w.value == pytest.approx(one.shaft_w.value, rel=1e-3)
        assert other.case.collector is not None
        assert other.air_w > 1.02 * other.flow_m3_s * other.case.collector.blower_pa


def test_what_the_curve_contains_without_a_row_is_told() -> None:
    rows = [*BARE[:-3], rated("filter clean", "800 cfm", "0.6 inwg"), rated("filter loaded", "800 cfm", "2 inwg")]
    assert figures(table=rows, collector={"contains": ["cyclone", "filter clean"]}).unknown_inside == ("cyclone",)
    assert figures(table=FILTERED).unknown_inside == ()


def test_the_warning_and_the_figures_ask_for_one_filter_area() -> None:
    made = two_machines(table=FILTERED, running={"filter_area": "60 ft2"})
    verdict = ductcalc.check(made)
    load = running(made, verdict).filter
    (warning,) = [found for found in verdict.findings.all if found.rule == "small filter"]
    assert load is not None and warning.effect.before == pytest.approx(load.wanted_m2, rel=1e-12)


def test_a_test_pipes_velocity_pressure_is_no_work() -> None:
    settings = {"collector": {"curve": "inlet suction", "test_pipe": "5 in"}}
    (one, _) = lone(**settings).cases
    point = one.case.collector
    assert point is not None
    area = 0.127**2 * 3.141592653589793 / 4.0
    density = build_model(two_machines()).air.density_kg_m3
    assert one.fan_pa == pytest.approx(point.blower_pa - 0.5 * density * (point.flow_m3_s / area) ** 2, rel=1e-9)


def test_the_meter_counts_shaft_power_over_motor_efficiency() -> None:
    (one, _) = lone(running={"fan_efficiency": "40 %", "motor_efficiency": "80 %"}).cases
    assert one.meter_w.value == pytest.approx(one.air_w / 0.4 / 0.8)
    assert one.meter_w.low == one.meter_w.value == one.meter_w.high


def test_energy_and_money_of_a_year_are_power_times_hours_times_tariff() -> None:
    (one, _) = lone(running={"hours": 400, "tariff": "0.25 EUR"}).cases
    assert one.energy_j is not None and one.cost is not None
    assert one.energy_j.value / KWH_J == pytest.approx(one.meter_w.value / 1000.0 * 400.0)
    assert one.cost == pytest.approx(tuple(end / KWH_J * 0.25 for end in one.energy_j))


def test_there_is_no_money_without_a_tariff_and_no_year_without_hours() -> None:
    (bare, _) = lone().cases
    assert (bare.energy_j, bare.cost, bare.cost_an_hour) == (None, None, None)
    (hourly, _) = lone(running={"tariff": 0.25}).cases
    assert hourly.cost is None and hourly.cost_an_hour is not None
    assert hourly.cost_an_hour.value == pytest.approx(hourly.meter_w.value / 1000.0 * 0.25)


OUTDOORS = {"exhaust": "outdoors"}


def test_heat_thrown_outdoors_is_about_one_and_eight_hundredths_a_cfm_and_degree() -> None:
    (one, _) = lone(room=OUTDOORS, running={"inside": "70 F", "outside": "30 F", "heated_hours": 100}).cases
    assert one.heat_w is not None and one.heat_j is not None
    btu_h = one.heat_w / (1055.05585262 / 3600.0)
    assert btu_h == pytest.approx(1.08 * one.flow_m3_s / CFM * 40.0, rel=0.005)
    assert one.heat_j == pytest.approx(one.heat_w * 360_000.0)


@pytest.mark.parametrize(
    ("room", "outside", "said"),
    [("indoors", "30 F", "indoors"), ("outdoors", None, "missing"), ("outdoors", "75 F", "not colder")],
)
def test_no_heat_is_told_where_none_leaves_or_none_is_known(room: str, outside: str | None, said: str) -> None:
    found = lone(room={"exhaust": room}, running={"outside": outside} if outside else {})
    assert found.heat_words == said
    assert all(one.heat_w is None for one in found.cases)


def test_the_rooms_own_temperature_counts_when_inside_is_not_said() -> None:
    found = lone(room=OUTDOORS, air={"temperature": "20 C"}, running={"outside": "5 C"})
    assert found.warmer_k == pytest.approx(15.0)


FILTERED = [*points(("0 cfm", "14 inwg"), ("800 cfm", "12 inwg"), ("1500 cfm", "2 inwg")), NO_PARTS[0]]
FILTERED += [rated("filter clean", "800 cfm", "0.5 inwg"), rated("filter loaded", "800 cfm", "2 inwg")]


def test_the_filter_is_held_against_the_largest_flow_with_the_dirty_one() -> None:
    found = figures(table=FILTERED, running={"filter_area": "150 ft2"})
    load = found.filter
    assert load is not None and load.rate_m3_s_m2 is not None
    assert load.flow_m3_s == max(one.flow_m3_s for one in found.loaded) and load.case.filter == "loaded"
    assert load.rate_m3_s_m2 == pytest.approx(load.flow_m3_s / (150 * 0.3048**2))
    assert load.wanted_m2 == pytest.approx(load.flow_m3_s / CFM / 4.0 * 0.3048**2)


@pytest.mark.parametrize(("share", "word"), [(0.9, "within"), (1.04, "within"), (1.2, "more"), (1.6, "far more")])
def test_a_filters_rate_has_a_word(share: float, word: str) -> None:
    wanted = figures(table=FILTERED).filter
    assert wanted is not None and wanted.word is None
    load = figures(table=FILTERED, running={"filter_area": f"{wanted.wanted_m2 / share} m2"}).filter
    assert load is not None and load.word == word


@pytest.mark.parametrize(
    ("watts", "word"),
    [(500, "overloaded"), (1900, "probably overloaded"), (2600, "may be overloaded"), (9000, "enough"), (None, None)],
)
def test_the_motor_has_a_word_by_where_it_lies_in_the_band(watts: int | None, word: str | None) -> None:
    found = figures(running={} if watts is None else {"motor": f"{watts} W"})
    assert found.hardest is not None and found.motor_word == word
    assert found.hardest.shaft_w.low < 1900.0 < found.hardest.shaft_w.value < 2600.0 < found.hardest.shaft_w.high


def test_without_a_filter_there_is_nothing_to_hold_the_flow_against() -> None:
    found = figures()
    assert found.filter is None and "filter area" not in found.missing


def test_the_drum_fills_as_worked_by_hand() -> None:
    """6.25 ft3 of wood an hour make 25 ft3 of shavings; 55 gallons are 7.35 ft3: 17.6 minutes, half when fluffy."""
    (cut,) = lone(running={"drum": "55 gal", "cuts": {"planer": PLANER}}).cuts
    assert cut.full_s is not None
    assert cut.loose_m3_an_hour.value / 0.3048**3 == pytest.approx(25.0)
    assert cut.full_s.value / 60.0 == pytest.approx(55 * 231 / 1728 / 25.0 * 60.0)
    assert (cut.full_s.low, cut.full_s.high) == pytest.approx((cut.full_s.value / 2.0, cut.full_s.value))


def test_chips_in_the_air_are_weight_of_wood_over_weight_of_the_machines_air() -> None:
    found = lone(running={"wood": "650 kg/m3", "cuts": {"planer": PLANER}})
    (cut,) = found.cuts
    assert cut.loading is not None and cut.case is not None and cut.full_s is None
    air_kg_s = cut.case.machine("planer").flow_m3_s * build_model(two_machines()).air.density_kg_m3
    assert cut.loading.value == pytest.approx(6.25 * 0.3048**3 / 3600 * 650.0 / air_kg_s)
    assert cut.loading.low == cut.loading.high


def test_a_machines_air_is_taken_alone_where_that_was_asked_for() -> None:
    settings = {"gates": {"sets": {"both": ["band saw", "planer"]}}, "running": {"cuts": {"planer": PLANER}}}
    (alone,) = figures(**settings).cuts
    (together,) = figures(Ask.gate_set("both"), **settings).cuts
    assert alone.case is not None and alone.case.name == "planer"
    assert together.case is not None and together.case.name == "both"
    assert alone.loading is not None and together.loading is not None
    assert together.loading.value > alone.loading.value


def test_a_machine_that_runs_in_no_case_has_its_drum_but_no_loading() -> None:
    (cut,) = figures(Ask.machines("band saw"), running={"drum": "200 l", "cuts": {"planer": PLANER}}).cuts
    assert cut.case is None and cut.loading is None and cut.full_s is not None


def test_everything_missing_is_named() -> None:
    nothing = figures(table=FILTERED)
    assert nothing.missing == ("hours", "tariff", "filter area", "cuts")
    outdoors = figures(room=OUTDOORS, running={"outside": "30 F", "cuts": {"planer": PLANER}})
    assert outdoors.missing == ("hours", "tariff", "heated hours", "drum")


def test_a_case_without_an_answer_has_no_figures() -> None:
    weak = [*points(("0 cfm", "0.5 inwg"), ("40 cfm", "0.4 inwg")), *NO_PARTS]
    found = lone(table=weak)
    assert found.cases == () and found.hardest is None and found.filter is None


def test_inch_and_metric_settings_that_say_the_same_give_the_same() -> None:
    inch = lone(room=OUTDOORS, running={"outside": "32 F", "drum": "10 ft3", "cuts": {"planer": PLANER}})
    metric_cut = {"width": "304.8 mm", "depth": "1.5875 mm", "feed": "6.096 m/min", "makes": "planer shavings"}
    metric = lone(room=OUTDOORS, running={"outside": "0 C", "drum": "283.16846592 l", "cuts": {"planer": metric_cut}})
    assert metric.cuts[0].full_s == pytest.approx(inch.cuts[0].full_s)
    assert metric.cases[0].heat_w == pytest.approx(inch.cases[0].heat_w)


def test_asking_for_them_changes_nothing_of_the_check() -> None:
    made = two_machines(running={"hours": 400, "cuts": {"planer": PLANER}})
    cases = [check_document(ductcalc.check(one), Display("inch"))["cases"] for one in (made, two_machines())]
    assert cases[0] == cases[1]
