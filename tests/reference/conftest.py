"""Reads the reference tables, turns printed quantities into SI, and asks ductcalc for the answer of a row."""

from __future__ import annotations

import csv
import importlib
import inspect
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ductcalc
from ductcalc.catalog import fact, gate_part_open
from ductcalc.model.air import local_air
from ductcalc.physics.curve import evaluate, monotone_cubic
from ductcalc.physics.fan import air_power, power_taken
from ductcalc.physics.fittings import widening_k
from ductcalc.physics.junction import factored_losses, handbook_losses
from ductcalc.physics.velocity import velocity_pressure
from ductcalc.shop.settings import AirSettings
from tests import scenes as s

HERE = Path(__file__).parent
FOOT, INCH = 0.3048, 0.0254
CFM, FPM, POUND_PER_FT3 = FOOT**3 / 60.0, FOOT / 60.0, 0.45359237 / FOOT**3
INCH_OF_WATER = 249.0889
INCH_OF_WATER_4005 = 0.5 * 1.2014 * (4005.0 * FPM) ** 2
UNITS: dict[str, float] = {
    "1": 1.0,
    "%": 0.01,
    "m": 1.0,
    "mm": 1e-3,
    "in": INCH,
    "ft": FOOT,
    "ft2": FOOT**2,
    "m2": 1.0,
    "L/min": 1e-3 / 60.0,
    "cfm": CFM,
    "m3/h": 1.0 / 3600.0,
    "m3/min": 1.0 / 60.0,
    "gpm": 231.0 * INCH**3 / 60.0,
    "ft3/s": FOOT**3,
    "m/s": 1.0,
    "ft/s": FOOT,
    "fpm": FPM,
    "Pa": 1.0,
    "daPa": 10.0,
    "mbar": 100.0,
    "kPa": 1000.0,
    "bar": 1e5,
    "inHg": 3386.389,
    "in wg": INCH_OF_WATER,
    "in wg 4005": INCH_OF_WATER_4005,
    "cm wg 4005": INCH_OF_WATER_4005 / 2.54,
    "kg/m3": 1.0,
    "lb/ft3": POUND_PER_FT3,
    "Pa s": 1.0,
    "uPa s": 1e-6,
    "0.1 uPa s": 1e-7,
    "ft of water 62.364": 62.364 * POUND_PER_FT3 * 9.80665 * FOOT,
    "ft of water 62.298": 62.298 * POUND_PER_FT3 * 9.80665 * FOOT,
    "ft of oil 54.64": 54.64 * POUND_PER_FT3 * 9.80665 * FOOT,
    "m3/kg": 1.0,
    "Pa/m": 1.0,
    "daPa/m": 10.0,
    "m in 150 m, at 1 kg/m3": 9.80665 / 150.0,
    "Pa/100 ft": 1.0 / (100.0 * FOOT),
    "in wg/100 ft": INCH_OF_WATER / (100.0 * FOOT),
    "VP/ft": 1.0 / FOOT,
    "kW": 1000.0,
    "hp": 745.69987,
    "K": 1.0,
    "degF step": 5.0 / 9.0,
    "BTU/h": 1055.05585262 / 3600.0,
    "dollars a year": 1000.0 / (8000.0 * 0.12),
}
SEVENTY_F_K = (70.0 + 459.67) / 1.8
AIR_UNITS = {"density": "kg/m3", "temperature_k": "K"}

Row = Mapping[str, str]


def rows_of(name: str) -> list[dict[str, str]]:
    """Return the rows of a reference table."""
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def si(given: Any) -> Any:
    """Return a printed quantity such as `4490 fpm` in SI; numbers, words and lists are passed through."""
    if isinstance(given, list):
        return [si(each) for each in given]
    if not isinstance(given, str) or not given.lstrip("-")[:1].isdigit():
        return given
    number, _space, unit = given.partition(" ")
    if unit == "F":
        return (float(number) + 459.67) / 1.8
    if unit.endswith(" of bore"):
        return float(np.sqrt(4.0 / np.pi * float(number) * UNITS[unit.removesuffix(" of bore")]))
    return float(number) * UNITS[unit] if unit else given


def density(altitude_m: float = 0.0, temperature_k: float = SEVENTY_F_K) -> float:
    """Return the density [kg/m3] of the shop's dry air."""
    return local_air(AirSettings(altitude_m=altitude_m, temperature_k=temperature_k, humidity=0.0)).density_kg_m3


def one_hood(k: float, bore: float, speed: float | None = None, flow: float | None = None, **air: float) -> Any:
    """Return a hood with its opening alone, at a speed or a flow, in air of a density or a temperature, as typed."""
    wanted = f"{flow!r} m3/s" if speed is None else f"{speed!r} m/s"
    hood = s.port("hood", f"{bore!r} m", flow=wanted, k=repr(k))
    typed = {"viscosity": "1.82e-5 Pa s"} if "density" in air else {"humidity": "0 %"}
    typed |= {name.removesuffix("_k"): f"{value!r} {AIR_UNITS[name]}" for name, value in air.items()}
    return s.tight(s.run("hood", hood, s.end()), air=typed)


def crane_loss(stream: int, **streams: Any) -> float:
    """Return the coefficient of a stream by Crane's rule, on the outlet's VP."""
    outlet = velocity_pressure(1.0, sum(streams["flows"]) / streams["outlet_area"])
    return float(factored_losses(1.0, **streams)[stream] / outlet)


def resultant_pressure(flows: list[float], pressures: list[float]) -> float:
    """Return the VP [Pa] that the sheet gives two streams that meet, where the outlet is faster than that."""
    areas = np.array(flows) / np.sqrt(2.0 * np.array(pressures))
    losses = handbook_losses(1.0, flows, areas, [0.0, 0.0], areas.sum() / 2.0)
    return float(pressures[0] - losses[0])


STEPS: dict[str, Callable[..., Any]] = {
    "air_density": density,
    "density_ratio": lambda sea_level_k=SEVENTY_F_K, **air: density(**air) / density(temperature_k=sea_level_k),
    "specific_volume": lambda temperature_k: 1.0 / density(temperature_k=temperature_k),
    "hood_suction": lambda **hood: ductcalc.need(one_hood(**hood)).cases[0].static_pa,
    "hood_loss": lambda **hood: ductcalc.losses(one_hood(**hood), at="wanted").rows[0].loss_pa,
    "crane_loss": crane_loss,
    "resultant_pressure": resultant_pressure,
    "enlargement_on_outlet": lambda area_ratio: widening_k(1.0, np.sqrt(area_ratio), 180.0) * area_ratio**2,
    "shaft_power": lambda flow_m3_s, pressure_pa, efficiency: power_taken(
        air_power(flow_m3_s, pressure_pa), efficiency
    ),
    "curve_at": lambda x, y, at: evaluate(monotone_cubic(x, y), at),
    "open_gate": lambda: fact("gate", "open").value,
    "part_open_gate": lambda opening: gate_part_open(opening).value - fact("gate", "open").value,
}


def function_of(name: str) -> Callable[..., Any]:
    """Return the function that a row names: of physics, of the catalog, or a step built from them."""
    room, _dot, word = name.partition(".")
    if room == "step":
        return STEPS[word]
    module = "ductcalc.catalog" if room == "catalog" else f"ductcalc.physics.{room}"
    found: Callable[..., Any] = getattr(importlib.import_module(module), word)
    return found


def answer_of(row: Row) -> float:
    """Return ductcalc's answer to a row, in the row's own unit."""
    function = function_of(row["function"])
    given = {key: si(value) for key, value in json.loads(row["inputs"]).items()}
    inspect.signature(function).bind(**given)
    found = function(**given)
    value = found[0] if isinstance(found, tuple) else getattr(found, "value", found)
    return float(value) / UNITS[row["unit"]]


def tolerance_of(row: Row) -> float:
    """Return the row's tolerance in its own unit; written with a percent sign it is a share of the answer."""
    written = row["tolerance"]
    if written.endswith("%"):
        return abs(float(row["answer"])) * float(written[:-1]) / 100.0
    return float(written)


@pytest.fixture
def answer() -> Callable[[Row], float]:
    """Give ductcalc's answer to a row."""
    return answer_of


@pytest.fixture
def allowed() -> Callable[[Row], float]:
    """Give the tolerance of a row in its own unit."""
    return tolerance_of


@pytest.fixture
def reference_rows() -> Callable[[str], list[dict[str, str]]]:
    """Give all rows of a reference table."""
    return rows_of


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run a test once for each row of the table that its argument names."""
    for argument, table in (("published_row", "published"), ("other_row", "not_counted")):
        if argument in metafunc.fixturenames:
            rows = rows_of(table)
            metafunc.parametrize(argument, rows, ids=[row["id"] for row in rows])
