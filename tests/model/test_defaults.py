"""Defaults that code needs at hand are those of the reference tables."""

from __future__ import annotations

import pytest

from ductcalc.catalog import fact
from ductcalc.physics import air
from ductcalc.physics.air import SPECIFIC_HEAT_J_KG_K
from ductcalc.physics.conveying import LOADING_FACTOR
from ductcalc.physics.fittings import FLUSH_ENTRY_K, INLET_DISCHARGE, ORIFICE_DISCHARGE
from ductcalc.physics.leakage import LEAKAGE_EXPONENT
from ductcalc.shop.kinds import TAPER_ANGLE_DEG, WYE_ANGLE_DEG


@pytest.mark.parametrize(
    ("at_hand", "table", "item"),
    [
        (TAPER_ANGLE_DEG, "transition", "default angle"),
        (WYE_ANGLE_DEG, "branch_entry", "default angle"),
        (LOADING_FACTOR, "chips", "loading factor"),
        (FLUSH_ENTRY_K, "machine", "flush entry"),
        (INLET_DISCHARGE, "machine", "opening coefficient"),
        (ORIFICE_DISCHARGE, "gate", "discharge coefficient"),
        (SPECIFIC_HEAT_J_KG_K, "running", "specific heat of air"),
        (LEAKAGE_EXPONENT, "joint_leakage", "exponent"),
        (air.STANDARD_DENSITY_KG_M3, "air", "standard density"),
        (air.STANDARD_VISCOSITY_PA_S, "air", "standard viscosity"),
        (air.INCH_OF_WATER_PA, "air", "inch of water"),
    ],
)
def test_a_number_in_code_is_the_one_in_the_table(at_hand: float, table: str, item: str) -> None:
    assert at_hand == fact(table, item).value
