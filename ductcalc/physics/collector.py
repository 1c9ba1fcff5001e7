"""Cyclone, filter, and the pressures by which a blower is described."""

from __future__ import annotations

from ductcalc.physics.amounts import Amount
from ductcalc.physics.velocity import velocity, velocity_pressure

SHEPHERD_LAPPLE_CONSTANT = 16.0
"""Cyclone without inlet vane [-]; 7.5 with a neutral vane. Coker, Fortran Programs (1995), chapter 4."""


def cyclone_loss(
    flow_m3_s: Amount,
    rated_flow_m3_s: Amount,
    rated_pressure_pa: Amount,
    density: Amount,
    rated_density: Amount,
) -> Amount:
    """Loss of a cyclone from a rated point, as the density times the flow squared.

    Parameters: flow_m3_s and rated_flow_m3_s [m3/s]; rated_pressure_pa [Pa]; density, rated_density [kg/m3].
    Returns: loss of total pressure [Pa], broadcast shape.
    Source: Wang et al., Transactions of the ASABE 49 (2006) 491: the drop follows the inlet velocity
    pressure.

    >>> cyclone_loss(0.5, 1.0, 1000.0, 1.2, 1.2)
    250.0
    """
    return rated_pressure_pa * (flow_m3_s / rated_flow_m3_s) ** 2 * (density / rated_density)


def filter_loss(
    flow_m3_s: Amount,
    rated_flow_m3_s: Amount,
    rated_pressure_pa: Amount,
    exponent: Amount,
    density: Amount,
    viscosity_pa_s: Amount,
    rated_density: Amount,
    rated_viscosity_pa_s: Amount,
) -> Amount:
    """Loss of a filter from a rated point, dp_r (Q/Q_r)^n (mu/mu_r)^(2-n) (rho/rho_r)^(n-1).

    n 1 is flow through cloth and cake (viscous), n 2 a housing (inertia); the other exponents follow from
    dimensions.

    Parameters: flows [m3/s]; rated_pressure_pa [Pa]; exponent n [-], 1 to 2; densities [kg/m3]; viscosities
    [Pa s].
    Returns: loss of total pressure [Pa], broadcast shape.
    Source: linear clean felt: Saleem, Krammer and Tahir, Powder Technology 228 (2012) 100; the powers of
    density and viscosity by dimensional analysis, our own.

    >>> filter_loss(0.5, 1.0, 400.0, 1.0, 1.0, 1.8e-5, 1.2, 1.8e-5)
    200.0
    """
    share = (flow_m3_s / rated_flow_m3_s) ** exponent
    thickness = (viscosity_pa_s / rated_viscosity_pa_s) ** (2.0 - exponent)
    return rated_pressure_pa * share * thickness * (density / rated_density) ** (exponent - 1.0)


def shepherd_lapple_heads(
    inlet_height_m: Amount,
    inlet_width_m: Amount,
    outlet_bore_m: Amount,
    constant: Amount = SHEPHERD_LAPPLE_CONSTANT,
) -> Amount:
    """Loss of a cyclone in inlet velocity pressures, NH = K a b / De^2.

    Parameters: inlet_height_m a, inlet_width_m b, outlet_bore_m De [m]; constant K [-], 16 without an inlet
    vane.
    Returns: NH [x VP of the inlet], broadcast shape.
    Source: Shepherd and Lapple, in Coker, Fortran Programs for Chemical Process Design (1995), chapter 4.

    >>> round(float(shepherd_lapple_heads(4.5, 1.896, 3.792)), 2)
    9.49
    """
    return constant * inlet_height_m * inlet_width_m / outlet_bore_m**2


def shepherd_lapple_loss(
    flow_m3_s: Amount,
    inlet_height_m: Amount,
    inlet_width_m: Amount,
    outlet_bore_m: Amount,
    density: Amount,
    constant: Amount = SHEPHERD_LAPPLE_CONSTANT,
) -> Amount:
    """Loss of a cyclone from its dimensions, NH rho V^2 / 2 with V the speed in the inlet.

    Another usual formula gives a third less, so a maker's figure wins whenever there is one.

    Parameters: flow_m3_s [m3/s]; inlet_height_m a, inlet_width_m b, outlet_bore_m De [m]; density rho
    [kg/m3].
    Returns: loss of total pressure [Pa], broadcast shape; the source accepts the form to about 2500 Pa.
    Source: Shepherd and Lapple, in Coker, Fortran Programs for Chemical Process Design (1995), chapter 4.

    >>> round(float(shepherd_lapple_loss(0.5, 0.2, 0.1, 0.2, 1.2)))
    3000
    """
    inlet_speed = flow_m3_s / (inlet_height_m * inlet_width_m)
    heads = shepherd_lapple_heads(inlet_height_m, inlet_width_m, outlet_bore_m, constant)
    return heads * velocity_pressure(density, inlet_speed)


def fan_static_from_inlet_suction(
    suction_pa: Amount, flow_m3_s: Amount, test_bore_m: Amount, density: Amount
) -> Amount:
    """Fan static pressure of a blower measured by the suction in a test pipe at its inlet, free discharge.

    FSP = SP_out - SP_in - VP_in with SP_out 0: the suction less the velocity pressure in the test pipe.

    Parameters: suction_pa, static suction in the pipe [Pa]; flow_m3_s [m3/s]; test_bore_m [m]; density
    [kg/m3].
    Returns: fan static pressure [Pa], broadcast shape.
    Source: Burton's definition of fan static pressure, FSP = SP_out - SP_in - VP_in.

    >>> round(float(fan_static_from_inlet_suction(2000.0, 0.3, 0.15, 1.2)), 1)
    1827.1
    """
    return suction_pa - velocity_pressure(density, velocity(flow_m3_s, test_bore_m))
