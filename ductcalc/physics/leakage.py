"""Air that a duct's joints let in, by leakage class."""

from __future__ import annotations

import numpy as np

from ductcalc.physics.air import INCH_OF_WATER_PA
from ductcalc.physics.amounts import CFM_M3_S, SQUARE_FOOT_M2, Amount

LEAKAGE_EXPONENT = 0.65
"""Exponent of the pressure [-], SMACNA classes: US Bureau of Reclamation, HVAC Design Guide (2006), p. 14."""


def joint_leak_constant(leakage_class: Amount, surface_m2: Amount) -> Amount:
    """Constant c of the joint leak Q = c P^0.65, with Q in m3/s and P in Pa.

    Parameters: leakage_class CL [cfm per 100 ft2 at 1 inch of water]; surface_m2, duct surface [m2].
    Returns: c [m3/(s Pa^0.65)], broadcast shape.
    Source: US Bureau of Reclamation, HVAC Design Guide (2006), p. 14 (SMACNA leakage classes).

    >>> round(float(joint_leak_constant(12.0, 10.0)) * 1e6, 3)
    168.816
    """
    class_m_s = leakage_class * CFM_M3_S / (100.0 * SQUARE_FOOT_M2)
    result: Amount = class_m_s * surface_m2 / INCH_OF_WATER_PA**LEAKAGE_EXPONENT
    return result


def joint_leak(leakage_class: Amount, suction_pa: Amount, surface_m2: Amount) -> Amount:
    """Air that leaks in through the joints of a stretch of duct, negative (outwards) where it is over room pressure.

    F = CL P^0.65, in cfm per 100 ft2 of duct surface with P in inches of water, either way alike.

    Parameters: leakage_class CL [cfm per 100 ft2 at 1 inch of water]; suction_pa, mean static suction [Pa];
    surface_m2, duct surface [m2].
    Returns: flow [m3/s], broadcast shape.
    Source: US Bureau of Reclamation, HVAC Design Guide (2006), p. 14 (SMACNA leakage classes).

    >>> round(float(joint_leak(6.0, 2.5 * 249.0889, 9.290304)) / 0.000471947, 2)
    10.88
    """
    pull = np.sign(suction_pa) * np.abs(suction_pa) ** LEAKAGE_EXPONENT
    result: Amount = joint_leak_constant(leakage_class, surface_m2) * pull
    return result
