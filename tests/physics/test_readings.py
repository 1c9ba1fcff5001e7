"""What readings come to: printed hood suctions, speeds, flows; a Pitot tube in thin air; where a traverse is read."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from ductcalc.catalog import fact
from ductcalc.physics.hoods import entry_coefficient, flow_of_hood_suction, hood_static_suction
from ductcalc.physics.velocity import velocity_of_pressure, velocity_pressure

with (Path(__file__).parent / "readings.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file, strict=True))
ASKED: dict[str, Callable[..., object]] = {
    "entry loss": lambda vp, k: hood_static_suction(vp, k) - vp,
    "entry coefficient": lambda vp, suction: entry_coefficient(suction / vp - 1.0),
    "flow": lambda suction, ce, bore, density: flow_of_hood_suction(suction, ce, bore, density),
    "speed": lambda vp, density: velocity_of_pressure(density, vp),
    "vp": lambda speed, density: velocity_pressure(density, speed),
    "suction": hood_static_suction,
}
POINTS = [fact("measuring", f"traverse point {number}").value for number in (1, 2, 3)]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_a_reading_comes_to_what_is_printed(row: dict[str, str]) -> None:
    inputs = json.loads(row["inputs"])
    values = inputs.values() if row["asked"] == "suction" else ()
    found = ASKED[row["asked"]](*values) if values else ASKED[row["asked"]](**inputs)
    assert found == pytest.approx(float(row["answer"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize(("factor", "faster"), [(0.95, 1.026), (0.83, 1.098), (0.74, 1.162)])
def test_a_pitot_tube_in_thin_air_shows_a_faster_stream(factor: float, faster: float) -> None:
    """V goes with the root of VP over the density factor, as tables of altitude are used."""
    sea, thin = (float(velocity_of_pressure(1.2014 * one, 250.0)) for one in (1.0, factor))
    assert thin / sea == pytest.approx(faster, abs=0.001)


def test_the_points_of_a_traverse_are_the_log_linear_ones() -> None:
    """r/R 0.9358, 0.7302 and 0.3586, as ISO 3966 is recalled."""
    assert [1.0 - 2.0 * point for point in POINTS] == pytest.approx([0.9358, 0.7302, 0.3586], abs=0.001)


def test_the_mean_of_a_traverse_is_that_of_a_turbulent_profile() -> None:
    """On a 1/7 power profile six log-linear points read 0.3 % low; 0.817 of the middle is the mean."""
    read = np.mean([(2.0 * point) ** (1.0 / 7.0) for point in POINTS])
    assert read / 0.8167 - 1.0 == pytest.approx(-0.003, abs=0.001)


def test_one_reading_on_the_axis_is_farther_off_than_a_traverse() -> None:
    centre = fact("measuring", "centre")
    assert centre.low < 0.8167 < centre.high
    assert abs(centre.value / 0.8167 - 1.0) > 0.003
