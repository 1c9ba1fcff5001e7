"""The log over its dates: a filter that loads, a plug that grows, the day of the cleaning line."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from ductcalc import read_shop
from ductcalc.answers.diagnose.trend import Trend, crossing, trend
from ductcalc.shop import Shop
from ductcalc.shop.readings import Reading
from ductcalc.tables.readings import read_readings
from tests.answers.diagnose.planted import NAMES, drawn
from tests.answers.diagnose.small_solver import Network, read, with_drop
from tests.typed import ROOT, typed

DAYS = ("2026-01-10", "2026-02-10", "2026-03-10", "2026-04-10", "2026-05-10")


def over(networks: list[Network], shop: Shop, off: float = 1.0) -> Trend:
    """Read the first machine on one day after the other, the first one healthy; off: ratio of all that is read."""
    rows = []
    for day, net in zip(DAYS, networks, strict=False):
        static = read(net, frozenset({0})).static
        for tap, where in (("port 0", "port main"), ("gate 0", "gate main"), ("collector inlet", "collector inlet"),
                           ("filter", "filter")):  # fmt: skip
            rows.append({"when": day, "open": NAMES[0], "where": where, "value": f"{off * static[tap]:.1f} Pa",
                         "healthy": "yes" if day == DAYS[0] else "", "instrument": "inclined tube"})  # fmt: skip
    return trend(shop, read_readings(rows, shop))


def creamery() -> tuple[Shop, tuple[Reading, ...]]:
    shop = read_shop(ROOT / "examples/creamery")
    return shop, read_readings(ROOT / "examples/creamery/readings.csv", shop)


def loading(*times: float, off: float = 1.0) -> Trend:
    shop, truth = drawn(np.random.default_rng(21), stated=True)
    return over([replace(truth, filter_pa=truth.filter_pa * share) for share in times], shop, off)


def test_the_filters_load_is_told_day_by_day() -> None:
    found = loading(1.0, 1.6, 2.2, 2.8)
    assert [day.times for day in found.days] == pytest.approx([1.0, 1.6, 2.2, 2.8], rel=0.12)
    assert all(day.low < day.times < day.high for day in found.days if day.low and day.times and day.high)
    assert found.days[0].suspect is None
    assert [day.suspect.kind for day in found.days[1:] if day.suspect] == ["filter loaded"] * 3


@pytest.mark.parametrize("off", [0.45, 2.0])
def test_where_healthy_readings_contradict_the_shop_loads_are_those_since_then(off: float) -> None:
    found = loading(1.0, 1.6, 2.2, 2.8, off=off)
    assert found.by_change and not loading(1.0, 1.6).by_change
    assert [day.times for day in found.days] == pytest.approx([1.0, 1.6, 2.2, 2.8], rel=0.15)
    assert [day.suspect.kind for day in found.days[1:] if day.suspect] == ["filter loaded"] * 3


def test_the_day_of_the_cleaning_line_is_found_between_two_readings() -> None:
    """The loads 1.7 and 2.9 stand on 10 March and 10 April; a straight line is at 2.3 halfway."""
    crossed, ahead = crossing(loading(1.0, 1.3, 1.7, 2.9).days, 2.3)
    assert ahead is None and crossed is not None
    assert abs((date.fromisoformat(crossed) - date(2026, 3, 26)).days) <= 5


def test_the_line_is_the_loaded_filters_loss_over_the_clean_ones() -> None:
    found = trend(*creamery())
    assert found.line == pytest.approx(3.0, rel=0.02)


def test_a_load_that_rises_evenly_is_carried_on_to_the_line() -> None:
    found = loading(1.0, 1.4, 1.8, 2.2)
    crossed, ahead = crossing(found.days, 3.0)
    assert crossed is None and ahead is not None
    assert abs((date.fromisoformat(ahead) - date(2026, 6, 10)).days) < 25


def test_a_filter_that_was_cleaned_begins_anew() -> None:
    found = loading(1.0, 2.0, 3.0, 1.0, 1.05)
    crossed, ahead = crossing(found.days, 10.0)
    assert crossed is None and ahead is None


def test_a_plug_that_grows_is_told_by_its_size_on_each_day() -> None:
    shop, truth = drawn(np.random.default_rng(22), stated=True)
    found = over([truth, *(with_drop(truth, 0, gate_open=share) for share in (0.45, 0.3, 0.2))], shop)
    sizes = [day.last.size for day in found.days if day.last is not None and day.last.size is not None]
    assert len(sizes) == 3
    last = found.days[-1].suspect
    assert last is not None and last.kind in ("gate not opening", "hose kinked or longer")
    assert sizes == sorted(sizes, reverse=last.kind == "gate not opening")


def test_the_log_is_shown_as_text_json_and_csv(tmp_path: Path) -> None:
    shop = "examples/creamery"
    text = typed("diagnose", shop, "--log")
    assert text.returncode == 1 and "2026-04-02" in text.stdout.splitlines()[0]
    days = json.loads(typed("diagnose", shop, "--log", "--format", "json").stdout)["days"]
    assert [day["when"] for day in days] == ["2026-01-10", "2026-04-02"]
    lines = typed("diagnose", shop, "--log", "--format", "csv").stdout.splitlines()
    assert lines[0].startswith("when,times,low,high") and len(lines) == 3
    for width in (60, 80):
        assert max(map(len, typed("diagnose", shop, "--log", width=width).stdout.splitlines())) <= width
