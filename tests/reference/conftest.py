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

from ductcalc.catalog import fact, gate_part_open
from ductcalc.physics.air import (
    SEA_LEVEL_PRESSURE_PA,
    STANDARD_DENSITY_KG_M3,
    moist_air_density,
    pressure_at_altitude,
)
from ductcalc.physics.curve import evaluate, monotone_cubic
from ductcalc.physics.fan import air_power, power_taken
from ductcalc.physics.fittings import widening_k
from ductcalc.physics.friction import darcy_loss_per_m, handbook_friction_per_m
from ductcalc.physics.hoods import hood_static_suction, k_of_entry_coefficient
from ductcalc.physics.junction import factored_losses
from ductcalc.physics.velocity import bore_area, velocity, velocity_pressure

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
    "L/min": 1e-3 / 60.0,
    "cfm": CFM,
    "ft3/s": FOOT**3,
    "m/s": 1.0,
    "fpm": FPM,
    "Pa": 1.0,
    "daPa": 10.0,
    "bar": 1e5,
    "inHg": 3386.389,
    "in wg": INCH_OF_WATER,
    "in wg 4005": INCH_OF_WATER_4005,
    "cm wg 4005": INCH_OF_WATER_4005 / 2.54,
    "kg/m3": 1.0,
    "lb/ft3": POUND_PER_FT3,
    "Pa s": 1.0,
    "Pa/m": 1.0,
    "daPa/m": 10.0,
    "in wg/100 ft": INCH_OF_WATER / (100.0 * FOOT),
    "VP/ft": 1.0 / FOOT,
    "kW": 1000.0,
    "hp": 745.69987,
    "K": 1.0,
    "degF step": 5.0 / 9.0,
    "BTU/h": 1055.05585262 / 3600.0,
}
SEVENTY_F_K = (70.0 + 459.67) / 1.8

Row = Mapping[str, str]


def rows_of(name: str) -> list[dict[str, str]]:
    """Return the rows of a reference table."""
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def si(given: Any) -> Any:
    """Return a printed quantity such as `4490 fpm` in SI; numbers, words and lists are passed through."""
    if isinstance(given, list):
        return [si(each) for each in given]
    if not isinstance(given, str) or not given[:1].isdigit():
        return given
    number, _space, unit = given.partition(" ")
    if unit == "F":
        return (float(number) + 459.67) / 1.8
    return float(number) * UNITS[unit] if unit else given


def sheet_duct_loss(
    velocity_m_s: float,
    table_velocity_m_s: float,
    table_flow_m3_s: float,
    length_m: float,
    density: float,
) -> Any:
    """Return a sheet's duct loss [Pa], with friction read at the table's velocity and VP at the real one."""
    per_m, _slope = handbook_friction_per_m(table_velocity_m_s, table_flow_m3_s)
    return per_m * length_m * velocity_pressure(density, velocity_m_s)


def sheet_segment(k: float, velocity_m_s: float, density: float, **duct: float) -> Any:
    """Return the static suction [Pa] at the end of a hood and its duct."""
    hood = hood_static_suction(velocity_pressure(density, velocity_m_s), k)
    return hood + sheet_duct_loss(velocity_m_s=velocity_m_s, density=density, **duct)


def tee(run_flow: float, branch_flow: float, bore_m: float) -> Any:
    """Return (run, branch) coefficients of a 90-degree tee of equal bores on the outlet's VP."""
    area = bore_area(bore_m)
    losses = factored_losses(1.0, [run_flow, branch_flow], [area, area], [1.0, 0.0], area)
    return losses / velocity_pressure(1.0, velocity(run_flow + branch_flow, bore_m))


def wood_shop_path(
    hood_pa: float,
    hose_bore_m: float,
    hose_length_m: float,
    hose_factor: float,
    ducts: list[list[float]],
    elbow_k: float,
    elbows: int,
    junction_k: float,
    junctions: int,
    separator_pa: float,
    velocity_pressures: int,
    velocity_m_s: float,
    roughness_m: float,
    density: float,
) -> Any:
    """Return the total pressure [Pa] along a path at one velocity, by Darcy's friction."""

    def rate(bore_m: float) -> Any:
        return darcy_loss_per_m(velocity_m_s, bore_m, roughness_m, density, 1.82e-5)

    friction = hose_factor * rate(hose_bore_m) * hose_length_m + sum(rate(d) * length for d, length in ducts)
    coefficients = elbow_k * elbows + junction_k * junctions + velocity_pressures
    return hood_pa + friction + separator_pa + coefficients * velocity_pressure(density, velocity_m_s)


def operating_point(
    fan_cfm: list[float],
    fan_in_wg: list[float],
    bore_m: float,
    length_m: float,
    roughness_m: float,
    density: float,
    viscosity_pa_s: float,
    k: float,
    outlet_factor: float,
) -> tuple[float, float]:
    """Return (flow [m3/s], pressure [Pa]) where one duct's loss and a fan's total pressure meet."""
    curve = monotone_cubic(np.array(fan_cfm) * CFM, np.array(fan_in_wg) * INCH_OF_WATER)

    def need(flow: float) -> float:
        speed = velocity(flow, bore_m)
        friction = length_m * darcy_loss_per_m(speed, bore_m, roughness_m, density, viscosity_pa_s)
        return float(friction + (k + outlet_factor) * velocity_pressure(density, speed))

    low, high = 0.0, fan_cfm[-1] * CFM
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if need(middle) < evaluate(curve, middle)[0] else (low, middle)
    return low, need(low)


STEPS: dict[str, Callable[..., Any]] = {
    "pressure_ratio": lambda altitude_m: pressure_at_altitude(altitude_m) / SEA_LEVEL_PRESSURE_PA,
    "density_at_altitude": lambda altitude_m: (
        STANDARD_DENSITY_KG_M3 * pressure_at_altitude(altitude_m) / SEA_LEVEL_PRESSURE_PA
    ),
    "dry_air_density": lambda altitude_m, temperature_k: moist_air_density(
        temperature_k, pressure_at_altitude(altitude_m), 0.0
    ),
    "density_ratio": lambda altitude_m, temperature_k: (
        moist_air_density(temperature_k, pressure_at_altitude(altitude_m), 0.0)
        / moist_air_density(SEVENTY_F_K, SEA_LEVEL_PRESSURE_PA, 0.0)
    ),
    "velocity_in_area": lambda flow_m3_s, area_m2: velocity(flow_m3_s, np.sqrt(4.0 * area_m2 / np.pi)),
    "hood_suction_of_ce": lambda velocity_pressure_pa, entry_coefficient: hood_static_suction(
        velocity_pressure_pa, k_of_entry_coefficient(entry_coefficient)
    ),
    "vp_of_hood_suction": lambda suction_pa, entry_coefficient: (
        suction_pa / hood_static_suction(1.0, k_of_entry_coefficient(entry_coefficient))
    ),
    "friction_of_flow": lambda flow_m3_s, bore_m, **duct: darcy_loss_per_m(
        velocity(flow_m3_s, bore_m), bore_m, **duct
    ),
    "friction_over_length": lambda flow_m3_s, bore_m, length_m, **duct: (
        length_m * darcy_loss_per_m(velocity(flow_m3_s, bore_m), bore_m, **duct)
    ),
    "sheet_duct_loss": sheet_duct_loss,
    "sheet_segment": sheet_segment,
    "fitting_loss": lambda k, velocity_m_s, density: k * velocity_pressure(density, velocity_m_s),
    "segment_loss": lambda k, velocity_m_s, density, rate_pa_m, length_m: (
        k * velocity_pressure(density, velocity_m_s) + rate_pa_m * length_m
    ),
    "enlargement_on_outlet": lambda area_ratio: widening_k(1.0, np.sqrt(area_ratio), 180.0) * area_ratio**2,
    "tee_run": lambda **flows: tee(**flows)[0],
    "tee_branch": lambda **flows: tee(**flows)[1],
    "fan_efficiency": lambda flow_m3_s, pressure_pa, power_w: air_power(flow_m3_s, pressure_pa) / power_w,
    "shaft_power": lambda flow_m3_s, pressure_pa, efficiency: power_taken(
        air_power(flow_m3_s, pressure_pa), efficiency
    ),
    "wood_shop_path": wood_shop_path,
    "operating_flow": lambda **given: operating_point(**given)[0],
    "operating_pressure": lambda **given: operating_point(**given)[1],
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
    for argument, table in (("published_row", "published"), ("memory_row", "memory_and_practice")):
        if argument in metafunc.fixturenames:
            rows = rows_of(table)
            metafunc.parametrize(argument, rows, ids=[row["id"] for row in rows])
