"""Chips in the air: their extra loss, the speed that carries them, and how they fill a drum."""

from __future__ import annotations

import numpy as np

from ductcalc.physics.amounts import Amount

LOADING_FACTOR = 1.4
"""Extra loss per kg of chips in a kg of air [-]: a Chinese university text on wood-chip suction networks."""

MATERIAL_SPEED_DENSITY_KG_M3 = 1.2
"""Density of air [kg/m3] at which transport speeds are meant: common practice, no source."""


def loaded_duct_factor(loading: Amount) -> Amount:
    """Factor on duct losses when chips are carried, 1 + 1.4 mu.

    Parameters: loading mu, kg of chips per kg of air [-], 0 to 0.2. Returns: factor [-], same shape.
    Source: a Chinese university course text on wood-chip suction networks of a woodworking shop (author and
    year not seen).

    >>> round(float(loaded_duct_factor(0.07)), 3)
    1.098
    """
    return 1.0 + LOADING_FACTOR * loading


def thin_air_speed_factor(density: Amount) -> Amount:
    """Factor on the least transport speed in thin air, sqrt(1.2 / rho): the drag on a chip stays the same.

    Parameters: density rho [kg/m3]. Returns: factor [-], same shape. Source: equal velocity pressure; common
    practice.

    >>> round(float(thin_air_speed_factor(1.0)), 3)
    1.095
    """
    result: Amount = np.sqrt(MATERIAL_SPEED_DENSITY_KG_M3 / density)
    return result


def cut_volume(width_m: Amount, depth_m: Amount, feed_m_s: Amount) -> Amount:
    """Solid wood turned to chips, width times depth times feed [m3/s] (geometry).

    Parameters: width [m], depth [m] of the cut (of a saw: kerf and thickness), feed [m/s].

    >>> round(cut_volume(0.3, 0.002, 0.1), 9)
    6e-05
    """
    return width_m * depth_m * feed_m_s


def expansion(solid_kg_m3: Amount, loose_kg_m3: Amount) -> Amount:
    """Loose volume over the volume of the solid wood that it was [-]: density of the wood over that of the heap.

    Both densities [kg/m3] of the same dryness. Source: definition, as in Briggs, Forest Products Measurements.

    >>> expansion(480.0, 160.0)
    3.0
    """
    return solid_kg_m3 / loose_kg_m3


def filling_time(drum_m3: Amount, solid_m3_s: Amount, loosening: Amount) -> Amount:
    """Time of cutting until a drum is full [s]: volume [m3] over solid wood [m3/s] times expansion [-] (definition).

    >>> filling_time(0.2, 0.00005, 4.0)
    1000.0
    """
    return drum_m3 / (solid_m3_s * loosening)


def chip_loading(chips_kg_s: Amount, air_m3_s: Amount, air_kg_m3: Amount) -> Amount:
    """Kilograms of chips for each kilogram of air [-] (definition).

    Parameters: chips [kg/s]; air flow [m3/s] and density [kg/m3].

    >>> round(chip_loading(0.02, 0.3, 1.2), 4)
    0.0556
    """
    return chips_kg_s / (air_m3_s * air_kg_m3)
