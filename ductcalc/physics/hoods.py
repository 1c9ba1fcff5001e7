"""Hood relations: static suction, entry coefficient, and flow from a measured hood suction."""

from __future__ import annotations

import numpy as np

from ductcalc.physics.amounts import Amount
from ductcalc.physics.velocity import bore_area, velocity_of_pressure


def hood_static_suction(velocity_pressure_pa: Amount, k: Amount) -> Amount:
    """Static suction behind a hood, (1 + K) VP [Pa], from the VP [Pa] and the entry loss K [x VP].

    Source: equation sheet of the American Board of Industrial Hygiene, SPh = (1 + Fh) VP.

    >>> hood_static_suction(200.0, 0.5)
    300.0
    """
    return (1.0 + k) * velocity_pressure_pa


def entry_coefficient(k: Amount) -> Amount:
    """Coefficient of entry Ce = 1 / sqrt(1 + K) [-] of an entry loss K [x VP].

    Source: equation sheet of the American Board of Industrial Hygiene, Ce = sqrt(VP / SPh).

    >>> round(float(entry_coefficient(0.93)), 2)
    0.72
    """
    result: Amount = 1.0 / np.sqrt(1.0 + k)
    return result


def k_of_entry_coefficient(entry_coefficient_: Amount) -> Amount:
    """Entry loss K = 1 / Ce^2 - 1 [x VP] of a coefficient of entry Ce [-], above 0 (the same turned round).

    >>> round(k_of_entry_coefficient(0.82), 2)
    0.49
    """
    return 1.0 / entry_coefficient_**2 - 1.0


def flow_of_hood_suction(
    suction_pa: Amount, entry_coefficient_: Amount, bore_m: Amount, density: Amount
) -> Amount:
    """Flow of a hood from the static suction measured behind it, Q = Ce A sqrt(2 SPh / rho) [m3/s].

    Parameters: suction_pa SPh [Pa]; entry_coefficient_ Ce [-]; bore_m [m]; density rho [kg/m3].
    Source: equation sheet of the American Board of Industrial Hygiene, Ce = sqrt(VP / SPh).

    >>> round(float(flow_of_hood_suction(400.0, 0.8, 0.1, 1.2)), 4)
    0.1622
    """
    return entry_coefficient_ * bore_area(bore_m) * velocity_of_pressure(density, suction_pa)
