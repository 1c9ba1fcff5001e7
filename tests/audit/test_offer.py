"""What the audit says that a collector offers: the same as the solver's supply, by other code, and as scipy's cubic."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from ductcalc.audit.offer import Offer, through
from ductcalc.model.collector import CurveEnd, ModelCollector
from ductcalc.model.decided import leaning, middle
from ductcalc.model.model import build_model
from tests.scenes import CFM, INCH_WATER, STRONG, Rows, end, none, pipe, points, port, rated, reducer, run, shop

FLOWS = np.linspace(0.0, 1.2, 61)
LOADED = np.arange(len(FLOWS)) % 2 == 0
PARTS = [
    rated("cyclone", "800 cfm", "2 inwg"),
    rated("filter clean", "700 cfm", "1 inwg", exponent="1.1"),
    rated("filter loaded", "800 cfm", "3 inwg", exponent="1.4"),
]
BASES = (
    {"curve": "fan static"},
    {"curve": "fan total", "outlet_size": "7 in"},
    {"curve": "inlet suction", "test_pipe": "6 in"},
)
OUTLET = run("out", end("7 in"), pipe("20 ft"), reducer("8 in", k=0.3))


def collector(table: Rows, *outlet: Rows, **settings: Any) -> ModelCollector:
    made = build_model(shop(run("trunk", port("saw", "6 in"), end()), *outlet, table=table, **settings)).collector
    assert made is not None
    return made


def both(made: ModelCollector, ends: CurveEnd = "low", pick: Any = middle) -> tuple[np.ndarray, np.ndarray]:
    """Return what audit and solver say, in pascals."""
    supplies = {state: made.supply(state, pick, ends).available(FLOWS)[0] for state in ("loaded", "clean")}
    solver = np.where(LOADED, supplies["loaded"], supplies["clean"])
    return Offer(made, pick, ends).at(FLOWS, LOADED)[0], solver


@pytest.mark.parametrize("outlet", [(), (OUTLET,)])
@pytest.mark.parametrize("contains", [[], ["cyclone"], ["filter clean"], ["cyclone", "filter loaded"]])
@pytest.mark.parametrize("basis", BASES)
def test_it_is_the_solvers_on_every_basis_with_parts_in_and_out_of_the_curve(
    basis: dict[str, str], contains: list[str], outlet: tuple[Rows, ...]
) -> None:
    settings = {"collector": {**basis, "contains": contains}, "air": {"altitude": "5000 ft", "temperature": "90 F"}}
    audited, solved = both(collector([*points(*STRONG), *PARTS], *outlet, **settings))
    assert audited == pytest.approx(solved, rel=1e-11, abs=1e-9)
    assert np.ptp(audited) > 1000.0


@pytest.mark.parametrize("ends", ["low", "middle", "high"])
def test_it_is_the_solvers_on_every_curve_of_two_advertised_maxima(ends: CurveEnd) -> None:
    advertised = {"item": "advertised", "flow": "1200 cfm", "pressure": "11 inwg"}
    audited, solved = both(collector([advertised, none("cyclone"), *PARTS[1:]]), ends)
    assert audited == pytest.approx(solved, rel=1e-11, abs=1e-9)


def test_where_parts_take_all_an_error_is_held_against_what_a_thousandth_of_the_flow_changes() -> None:
    """A flat curve of 10 inwg, and a cyclone that takes as much at 800 cfm: by its square, twice that share."""
    flat = points(("0 cfm", "10 inwg"), ("1600 cfm", "10 inwg"))
    parts = [rated("cyclone", "800 cfm", "10 inwg"), none("filter clean"), none("filter loaded")]
    made = collector([*flat, *parts], collector={"curve": "inlet suction", "test_pipe": "100 in"})
    ((offered,), (scale,)) = Offer(made).at(np.array([800.0 * CFM]), np.array([True]))
    assert offered == pytest.approx(0.0, abs=0.05)
    assert scale == pytest.approx(1e-3 * 2.0 * 10.0 * INCH_WATER, rel=2e-3)


@pytest.mark.parametrize("key", ["cyclone", "clean filter", "loaded filter"])
@pytest.mark.parametrize("way", ["low", "high"])
def test_assumed_parts_are_picked_at_the_end_that_is_asked_for(key: str, way: str) -> None:
    made = collector([*points(*STRONG)])
    audited, solved = both(made, pick=leaning(key, way))
    assert audited == pytest.approx(solved, rel=1e-11, abs=1e-9)
    assert np.abs(audited - both(made)[0]).max() > 10.0


@given(
    st.lists(st.floats(0.01, 1.0), min_size=1, max_size=8),
    st.lists(st.integers(0, 40_000).map(lambda tenths: 0.1 * tenths), min_size=9, max_size=9),
)
def test_the_curve_through_its_points_is_the_monotone_cubic(widths: list[float], heights: list[float]) -> None:
    flows = 0.05 + np.concatenate([[0.0], np.cumsum(widths)])
    pressures = np.array(heights[: len(flows)])
    asked = np.linspace(flows[0], flows[-1], 50)
    value, slope = through(flows, pressures, asked)
    other = PchipInterpolator(flows, pressures)
    assert value == pytest.approx(other(asked), rel=1e-9, abs=1e-7)
    steepest = np.abs(np.diff(pressures) / np.diff(flows)).max()
    assert slope == pytest.approx(other(asked, 1), rel=1e-7, abs=1e-9 + 1e-9 * steepest)


def test_left_of_the_points_the_pressure_is_held_and_beyond_it_goes_on_straight() -> None:
    flows, pressures = np.array([0.2, 0.4, 0.8]), np.array([2000.0, 1800.0, 600.0])
    value, slope = through(flows, pressures, np.array([0.0, 0.1, 0.8, 0.9, 1.0]))
    assert value[:2].tolist() == [2000.0, 2000.0]
    assert slope[:2].tolist() == [0.0, 0.0]
    assert value[2:] == pytest.approx(600.0 + slope[2] * np.array([0.0, 0.1, 0.2]))
    assert slope[2] < -3000.0
