"""Bore, speed, velocity pressure and Reynolds number of a round duct."""

from __future__ import annotations

import numpy as np

from ductcalc.physics.amounts import Amount


def bore_area(bore_m: Amount) -> Amount:
    """Inside cross-section of a round duct, pi D^2 / 4 [m2], from its bore D [m], any shape (geometry).

    >>> round(float(bore_area(0.1)), 6)
    0.007854
    """
    return np.pi / 4.0 * bore_m**2


def velocity(flow_m3_s: Amount, bore_m: Amount) -> Amount:
    """Mean speed Q / A [m/s] of a flow Q [m3/s] in a bore [m], above 0, broadcast shape (continuity).

    >>> round(float(velocity(0.157, 0.1)), 2)
    19.99
    """
    return flow_m3_s / bore_area(bore_m)


def velocity_pressure(density: Amount, velocity_m_s: Amount) -> Amount:
    """Velocity pressure rho V^2 / 2 [Pa] of air of a density rho [kg/m3] at a speed V [m/s], broadcast shape.

    Source: definition.

    >>> velocity_pressure(1.2, 20.0)
    240.0
    """
    return 0.5 * density * velocity_m_s**2


def reynolds(density: Amount, velocity_m_s: Amount, bore_m: Amount, viscosity_pa_s: Amount) -> Amount:
    """Reynolds number rho V D / mu [-]; V [m/s], bore D [m], rho [kg/m3], mu [Pa s], broadcast shape.

    Source: definition.

    >>> round(float(reynolds(1.2, 20.0, 0.1, 1.82e-5)))
    131868
    """
    return density * velocity_m_s * bore_m / viscosity_pa_s
