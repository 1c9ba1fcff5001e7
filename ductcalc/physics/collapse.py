"""How much suction a thin round pipe stands before it folds."""

from __future__ import annotations

from ductcalc.physics.amounts import Amount


def collapse_pressure(wall_m: Amount, bore_m: Amount, modulus_pa: Amount, contraction: Amount) -> Amount:
    """Outside pressure at which a long, round, whole tube folds flat, 2 E / (1 - nu^2) (t / D)^3.

    Parameters: wall_m t and bore_m D [m], thin walls (t far below D); modulus_pa E [Pa]; contraction nu [-].
    Returns: pressure difference [Pa], broadcast shape. Dents, open seams and ovalness take much of it away; rings and
    spiral seams add.
    Source: Timoshenko and Gere, Theory of Elastic Stability (1961), rings and tubes under uniform pressure (from
    memory).

    >>> round(float(collapse_pressure(0.4e-3, 0.2, 200e9, 0.3)))
    3516
    """
    return 2.0 * modulus_pa / (1.0 - contraction**2) * (wall_m / bore_m) ** 3
