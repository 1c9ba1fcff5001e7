"""Loss coefficients that follow from a formula: tapers, shut gates, machines, inlets and slots.

A coefficient K is a loss of total pressure over the velocity pressure VP of the bore that is named with it.
"""

from __future__ import annotations

import numpy as np

from ductcalc.physics.amounts import Amount
from ductcalc.physics.velocity import velocity_pressure

SHARP_ANGLE_DEG = 45.0
"""Included angle [deg] at which the taper formulas change, Crane TP-410 (2009), tapers."""

ORIFICE_DISCHARGE = 0.61
"""Discharge coefficient of a thin slit [-]: Kirchhoff's pi / (pi + 2) = 0.611, from memory."""

INLET_DISCHARGE = 0.6
"""Discharge coefficient of a cabinet's free air openings [-]: common practice, no source."""

FLUSH_ENTRY_K = 0.5
"""A pipe flush with a wall [x VP]: ASHRAE duct fitting 1-1 after Idelchik (2021 supplement), L/D 0."""

def area_ratio(bore_small_m: Amount, bore_large_m: Amount) -> Amount:
    """Small over large cross-section [-] of two bores [m], any shape (geometry)."""
    return (bore_small_m / bore_large_m) ** 2


def widening_k(bore_small_m: Amount, bore_large_m: Amount, included_angle_deg: Amount) -> Amount:
    """Loss coefficient of a round taper that widens in the direction of flow, on the smaller bore's VP.

    2.6 sin(angle / 2) (1 - b)^2 to 45 degrees, (1 - b)^2 above, b the ratio of areas.

    Parameters: bore_small_m, bore_large_m [m]; included_angle_deg, full angle of the cone [deg], 0 to 180.
    Returns: K [x VP of the smaller bore], broadcast shape.
    Source: Crane Co., Technical Paper 410 (2009), formulas 3 and 4.

    >>> round(float(widening_k(0.1, 0.15, 30.0)), 3)
    0.208
    """
    half = np.radians(included_angle_deg) / 2.0
    share = np.where(np.less_equal(included_angle_deg, SHARP_ANGLE_DEG), 2.6 * np.sin(half), 1.0)
    result: Amount = (share * (1.0 - area_ratio(bore_small_m, bore_large_m)) ** 2)[()]
    return result


def narrowing_k(bore_small_m: Amount, bore_large_m: Amount, included_angle_deg: Amount) -> Amount:
    """Loss coefficient of a round taper that narrows in the direction of flow, on the smaller bore's VP.

    0.8 sin(angle / 2) (1 - b) to 45 degrees, 0.5 sqrt(sin(angle / 2)) (1 - b) above, b the ratio of areas.

    Parameters: bore_small_m, bore_large_m [m]; included_angle_deg, full angle of the cone [deg], 0 to 180.
    Returns: K [x VP of the smaller bore], broadcast shape.
    Source: Crane Co., Technical Paper 410 (2009), formulas 1 and 2.

    >>> round(float(narrowing_k(0.1, 0.15, 30.0)), 3)
    0.115
    """
    sine = np.sin(np.radians(included_angle_deg) / 2.0)
    share = np.where(np.less_equal(included_angle_deg, SHARP_ANGLE_DEG), 0.8 * sine, 0.5 * np.sqrt(sine))
    result: Amount = (share * (1.0 - area_ratio(bore_small_m, bore_large_m)))[()]
    return result


def no_regain_k(bore_small_m: Amount, bore_large_m: Amount) -> Amount:
    """Loss coefficient of a widening that gives back no static pressure, 1 - b^2 on the smaller bore's VP.

    The velocity-pressure sheet credits no regain: the whole fall of velocity pressure is lost.

    Parameters: bore_small_m, bore_large_m [m]. Returns: K [x VP of the smaller bore], broadcast shape.
    Source: definition; the rule is that of ACGIH, Industrial Ventilation (from memory).

    >>> round(float(no_regain_k(0.1, 0.15)), 3)
    0.802
    """
    return 1.0 - area_ratio(bore_small_m, bore_large_m) ** 2


def shut_gate_k(leak_share: Amount) -> Amount:
    """Loss coefficient of a shut gate that leaks, 1 / (0.61 a)^2 on the VP in the gate's own bore.

    Parameters: leak_share a, leak area over the area of the gate's bore [-], 0 to 1.
    Returns: K [x VP of the gate's bore]; infinite for a tight gate.
    Source: thin orifice that loses its whole jet; discharge coefficient after Kirchhoff, from memory.

    >>> round(float(shut_gate_k(0.01)))
    26874
    """
    with np.errstate(divide="ignore"):
        result: Amount = np.divide(1.0, (ORIFICE_DISCHARGE * np.asarray(leak_share, float)) ** 2)[()]
    return result


def machine_k_from_static(drop_pa: Amount, velocity_m_s: Amount, density: Amount) -> Amount:
    """Loss coefficient of a machine whose static suction at the connection is stated, dp / VP - 1.

    The stated suction holds the velocity pressure, which is no loss. Below zero the statement cannot be true:
    the caller refuses it.

    Parameters: drop_pa, static suction [Pa]; velocity_m_s at the connection [m/s]; density [kg/m3].
    Returns: K [x VP of the connection], broadcast shape.
    Source: definition of static and velocity pressure; the way of stating is that of DGUV Information 209-044
    (2019).

    >>> machine_k_from_static(900.0, 20.0, 1.2)
    2.75
    """
    return drop_pa / velocity_pressure(density, velocity_m_s) - 1.0


def machine_k_from_total(drop_pa: Amount, velocity_m_s: Amount, density: Amount) -> Amount:
    """Loss coefficient of a machine whose loss of total pressure is stated, dp / VP.

    Parameters: drop_pa, loss of total pressure [Pa]; velocity_m_s at the connection [m/s]; density [kg/m3].
    Returns: K [x VP of the connection], broadcast shape. Source: definition.

    >>> machine_k_from_total(900.0, 20.0, 1.2)
    3.75
    """
    return drop_pa / velocity_pressure(density, velocity_m_s)


def inlet_area_k(port_area_m2: Amount, free_area_m2: Amount) -> Amount:
    """Loss coefficient of a cabinet with a known free air area, (A / (0.6 A_free))^2 + 0.5 on the port's VP.

    The air pays its whole speed in the openings, then enters the port flush with the cabinet's wall.

    Parameters: port_area_m2 A and free_area_m2 A_free [m2], above 0. Returns: K [x VP of the port], broadcast
    shape.
    Source: orifice formula; 0.6 is common practice, no source; 0.5 is ASHRAE duct fitting 1-1 (2021
    supplement).

    >>> round(float(inlet_area_k(0.01, 0.02)), 3)
    1.194
    """
    return (port_area_m2 / (INLET_DISCHARGE * free_area_m2)) ** 2 + FLUSH_ENTRY_K
