"""Running figures in text and JSON: golden texts, words, and figures that agree with the answer."""

from __future__ import annotations

import json
from typing import Any

import pytest

import ductcalc
from ductcalc.answers.running import Running, running
from ductcalc.report.blocks import plain
from ductcalc.report.check.text import check_blocks
from ductcalc.report.display import Display, rough
from ductcalc.report.json_text import json_text
from ductcalc.report.render import Page, rendered
from ductcalc.report.running.data import running_document
from ductcalc.report.running.text import motor_words, running_blocks, time_words
from ductcalc.tables import read_shop
from ductcalc.units.closed_list import UnitSystem
from tests.scenes import NO_PARTS, SHOPS, points, rated, two_machines

PLANER = {"width": "12 in", "depth": "1/16 in", "feed": "20 ft/min", "makes": "shavings"}


def figures(**settings: Any) -> Running:
    found = two_machines(**settings)
    return running(found, ductcalc.check(found))


def text(found: Running, system: UnitSystem = "inch") -> str:
    return rendered(running_blocks(found, Display(system)), Page(None, "utf-8", False)).replace("\u00a0", " ")


def test_without_them_the_report_is_as_ever() -> None:
    found = read_shop(SHOPS / "loft")
    blocks = check_blocks(ductcalc.check(found), Display("metric"))
    assert "Running figures" not in rendered(blocks, Page(None, "utf-8", False))


def test_an_estimate_is_marked_as_one_and_its_source_told() -> None:
    shown = text(figures())
    assert "~" in shown and "ESTIMATED" in shown and "common practice, no source" in shown


def test_a_power_curve_is_no_estimate() -> None:
    blower = points(("0 cfm", "14 inwg"), ("1500 cfm", "2 inwg"))
    table = [{**row, "power": power} for row, power in zip(blower, ("1 hp", "3 hp"), strict=True)]
    shown = text(figures(table=[*table, *NO_PARTS]))
    assert "~" not in shown and "ESTIMATED" not in shown and "3.0 hp" in shown


def test_what_is_missing_is_one_line_with_what_to_write() -> None:
    (line,) = [line for line in text(figures()).splitlines() if "Left out" in line]
    assert all(words in line for words in ("hours = ", "tariff = ", "[running.cuts.planer]"))


def test_nothing_is_left_out_when_all_is_written() -> None:
    said = {"hours": 400, "tariff": 0.2, "drum": "55 gal", "cuts": {"planer": PLANER}}
    assert "Left out" not in text(figures(running=said))


def test_money_without_hours_is_that_of_an_hour() -> None:
    head = text(figures(running={"tariff": "0.2 EUR"})).splitlines()
    assert any("hour" in line for line in head[:4]) and any("EUR" in line for line in head[:5])


@pytest.mark.parametrize(
    ("motor", "word"),
    [("0.2 kW", "OVERLOADED"), ("2.7 kW", "MAY BE OVERLOADED"), ("50 kW", "enough")],
)
def test_the_motor_is_held_against_the_hardest_case_and_its_band(motor: str, word: str) -> None:
    found = figures(running={"motor": motor})
    hardest = found.hardest
    assert hardest is not None and hardest.shaft_w.value < 2700.0 < hardest.shaft_w.high
    words = motor_words(found, Display("inch"))
    assert words[1].text.startswith(word)
    assert "bare inlet" in plain(words) and "electrician" in plain(words)


def test_a_motor_that_a_bare_inlet_overloads_is_told() -> None:
    blower = points(("0 cfm", "14 inwg"), ("1500 cfm", "2 inwg"))
    table = [{**row, "power": power} for row, power in zip(blower, ("1 hp", "3 hp"), strict=True)]
    words = motor_words(figures(table=[*table, *NO_PARTS], running={"motor": "2.5 hp"}), Display("inch"))
    assert words[1].text == "OVERLOADED WITH A BARE INLET"


def test_outdoors_the_air_that_must_come_in_is_told_with_and_without_a_temperature() -> None:
    for said in ({}, {"outside": "30 F"}):
        assert "heater" in text(figures(room={"exhaust": "outdoors"}, running=said))
    assert "heater" not in text(figures())


def test_too_many_chips_for_the_air_are_told_with_a_cure() -> None:
    heavy = {**PLANER, "depth": "1/2 in"}
    assert "More than 0.2 kg" in text(figures(running={"cuts": {"planer": heavy}}))
    assert "More than 0.2" not in text(figures(running={"cuts": {"planer": PLANER}}))


@pytest.mark.parametrize(
    ("area", "said"), [("1000 ft2", "within"), ("150 ft2", "MORE THAN USUAL"), ("20 ft2", "FAR MORE")]
)
def test_the_filter_is_judged_by_what_is_usual(area: str, said: str) -> None:
    table = [*points(("0 cfm", "14 inwg"), ("800 cfm", "12 inwg"), ("1500 cfm", "2 inwg")), NO_PARTS[0]]
    table += [rated("filter clean", "800 cfm", "0.5 inwg"), rated("filter loaded", "800 cfm", "2 inwg")]
    assert said in text(figures(table=table, running={"filter_area": area}))


def test_json_holds_si_figures_of_the_answer() -> None:
    found = figures(running={"hours": 400, "tariff": "0.2 EUR", "drum": "200 l", "cuts": {"planer": PLANER}})
    document = json.loads(json_text(running_document(found)))
    assert document["hours_a_year_s"] == 1_440_000.0 and document["currency"] == "EUR"
    first, one = document["cases"][0], found.cases[0]
    assert first["shaft_w"] == one.shaft_w._asdict()
    assert one.energy_j is not None and first["energy_a_year_j"] == one.energy_j._asdict()
    assert document["fan_efficiency"]["source"] == "common practice, no source"
    cut = found.cuts[0]
    assert cut.full_s is not None and document["cuts"][0]["drum_full_s"] == cut.full_s._asdict()
    assert document["usual_loading"]["value"] == 0.07
    assert document["missing"] == list(found.missing)


@pytest.mark.parametrize(("drum", "unit", "unit_s"), [("40 l", "min", 60.0), ("4000 l", "h", 3600.0)])
def test_metric_and_inch_reports_say_the_same_in_minutes_where_a_drum_is_soon_full(
    drum: str, unit: str, unit_s: float
) -> None:
    found = figures(running={"drum": drum, "cuts": {"planer": PLANER}})
    assert "ft3 an hour" in text(found) and "l an hour" in text(found, "metric")
    full = found.cuts[0].full_s
    assert full is not None and (full.low < 3600.0) == (unit == "min")
    ends = f"{rough(full.low / unit_s)} to {rough(full.high / unit_s)}"
    assert all(f"in {unit}" in said and ends in said for said in (text(found), text(found, "metric")))


@pytest.mark.parametrize(
    ("number", "shown"), [(0.0, "0"), (1234.0, "1200"), (0.0567, "0.057"), (9.96, "10"), (-35.4, "-35"), (1.0, "1.0")]
)
def test_rough_numbers_are_written_out(number: float, shown: str) -> None:
    assert rough(number) == shown


@pytest.mark.parametrize(
    ("hours", "said"),
    [(12.0, "12"), (8000.0, "8000"), (9000.0, "over a year"), (1e5, "over ten years"), (9e5, "over a century")],
)
def test_times_that_nobody_counts_in_hours_are_words(hours: float, said: str) -> None:
    assert time_words(hours * 3600.0, Display("inch")) == said
