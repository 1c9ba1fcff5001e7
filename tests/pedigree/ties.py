"""Rows that hold a constant of the program's formulas: what the formula computes beside what the row says."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from ductcalc.catalog import fact
from ductcalc.catalog.fact import fact_rows
from ductcalc.model.air import local_air
from ductcalc.model.collector import SQUARE
from ductcalc.physics import conveying, fittings, junction, leakage
from ductcalc.physics.air import INCH_OF_WATER_PA
from ductcalc.shop.bore import Rectangle, hydraulic_diameter, perimeter
from ductcalc.shop.kinds import TRAITS
from ductcalc.shop.settings import AirSettings

SMALL, LARGE = 0.1, 0.15
CLOSED = 1.0 - (SMALL / LARGE) ** 2


class Tie(NamedTuple):
    """What the program computes, and what it must be by its row."""

    name: str
    computed: float
    by_row: float

    @property
    def holds(self) -> bool:
        """Tell whether both are one number."""
        return math.isclose(self.computed, self.by_row, rel_tol=1e-9, abs_tol=1e-12)


def ties() -> Iterator[Tie]:
    """Yield every tie."""
    yield from _tapers()
    yield from _branches()
    yield from _constants()


def _tapers() -> Iterator[Tie]:
    def row(item: str) -> float:
        return fact("transition", item).value

    sine = math.sin(math.radians(15.0))
    yield Tie("widening", fittings.widening_k(SMALL, LARGE, 30.0), row("widening") * sine * CLOSED**2)
    yield Tie("narrowing", fittings.narrowing_k(SMALL, LARGE, 30.0), row("narrowing") * sine * CLOSED)
    steep = math.sqrt(math.sin(math.radians(40.0)))
    yield Tie(
        "steep narrowing", fittings.narrowing_k(SMALL, LARGE, 80.0), row("narrowing above the limit") * steep * CLOSED
    )
    no_regain = row("widening by the sheet") * (1.0 - (SMALL / LARGE) ** 4)
    yield Tie("widening by the sheet", fittings.no_regain_k(SMALL, LARGE), no_regain)
    yield Tie("limit of a widening", fittings.SHARP_ANGLE_DEG, row("widening limit"))
    yield Tie("taper", TRAITS["reducer"].usual_deg[0], row("default angle"))


def _branches() -> Iterator[Tie]:
    def row(item: str) -> float:
        return fact("branch_entry", item).value

    balance = [junction.momentum_losses(2.0, [1.0, 0.0], [1.0, 1.0], [cosine, 1.0], 1.0)[0] for cosine in (0.5, 1.0)]
    yield Tie("momentum balance", balance[0] - balance[1], 0.5 * row("momentum balance"))
    wide = junction.larger_inlet_losses(2.0, [1.0], [2.0], 1.0)[0]
    yield Tie("narrow outlet", float(wide), 0.5 * row("narrow outlet"))
    yield Tie("wye", TRAITS["wye"].usual_deg[0], row("default angle"))
    yield Tie("steep wye", junction.SQUARE_ANGLE_DEG, row("steep angle"))
    for place, part in fact_rows("branch_entry", "ninety degree factor"):
        ratio = float(place["area_ratio"])
        yield Tie(f"ninety degrees at {ratio}", float(junction.ninety_degree_factor(ratio)), part.value)
    narrow = fact_rows("branch_entry", "factored, narrow branch")[0]
    limit = float(narrow.row["area_ratio"])
    yield Tie("narrow branch", float(junction.empirical_factor(0.3, limit)), narrow.fact.value)
    low, share, high = (row(f"factored, {name}") for name in ("low share", "share limit", "high share"))
    yield Tie("low share", float(junction.empirical_factor(0.1, limit + 1e-9)), low * 0.9)
    yield Tie("high share", float(junction.empirical_factor(share + 0.05, 1.0)), high)
    crossing = round(1.0 - junction.LEAST_FACTOR / junction.FACTOR_SLOPE, 1)
    yield Tie("share limit", crossing, share)


def _constants() -> Iterator[Tie]:
    air = local_air(AirSettings())
    yield Tie("altitude", air.altitude_m, fact("air", "altitude").value)
    yield Tie("humidity", air.humidity, fact("air", "humidity").value)
    yield Tie("pressure", air.pressure_pa, fact("air", "pressure").value)
    yield Tie("inch of water", INCH_OF_WATER_PA, fact("air", "inch of water").value)
    yield Tie("slit", fittings.ORIFICE_DISCHARGE, fact("gate", "discharge coefficient").value)
    yield Tie("cabinet's opening", fittings.INLET_DISCHARGE, fact("machine", "opening coefficient").value)
    yield Tie("flush entry", fittings.FLUSH_ENTRY_K, fact("machine", "flush entry").value)
    rectangle = Rectangle(0.3, 0.2)
    yield Tie(
        "hydraulic diameter",
        hydraulic_diameter(rectangle),
        fact("rectangular", "hydraulic diameter, area over perimeter").value * 0.06 / perimeter(rectangle),
    )
    yield Tie("joint leak", leakage.LEAKAGE_EXPONENT, fact("joint_leakage", "exponent").value)
    yield Tie("cyclone", SQUARE, fact("collector", "cyclone exponent").value)
    yield Tie("chips in the air", conveying.loaded_duct_factor(1.0) - 1.0, fact("chips", "loading factor").value)
    density = fact("transport", "density at which the speeds hold").value
    yield Tie("speeds' density", conveying.MATERIAL_SPEED_DENSITY_KG_M3, density)
    full = fact("transport", "dry chips").value
    for kind in ("graded", "riser"):
        share = fact("transport", f"{kind} share").value
        yield Tie(f"{kind} share", round(share, 3), round(fact("transport", f"{kind} limit").value / full, 3))
