"""Heat that air takes along when it leaves a warm room."""

from __future__ import annotations

from ductcalc.physics.amounts import Amount

SPECIFIC_HEAT_J_KG_K = 1006.0
"""Heat of dry air at constant pressure [J/(kg K)]: ASHRAE Handbook Fundamentals, psychrometrics; from memory."""


def heat_of_air(flow_m3_s: Amount, density_kg_m3: Amount, warmer_k: Amount) -> Amount:
    """Sensible heat of an air stream over that of outdoor air, rho Q c dT [W].

    Parameters: flow Q [m3/s]; density rho [kg/m3]; warmer_k dT, room less outdoors [K]. Returns: [W], broadcast
    shape. Moisture is left out. Source: definition; in the trade's units 1.08 BTU/h for each cfm and degree F.

    >>> round(float(heat_of_air(0.5, 1.2, 10.0)))
    6036
    """
    return density_kg_m3 * flow_m3_s * SPECIFIC_HEAT_J_KG_K * warmer_k
