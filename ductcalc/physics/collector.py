"""The loss of a cyclone or filter from its rated point."""

from __future__ import annotations

from ductcalc.physics.amounts import Amount


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
    """Loss of a cyclone or filter from a rated point, dp_r (Q/Q_r)^n (mu/mu_r)^(2-n) (rho/rho_r)^(n-1).

    n 1 is flow through cloth and cake (viscous), n 2 a cyclone or a housing (inertia); the other exponents follow from
    dimensions.

    Parameters: flows [m3/s]; rated_pressure_pa [Pa]; exponent n [-], 1 to 2; densities [kg/m3]; viscosities
    [Pa s].
    Returns: loss of total pressure [Pa], broadcast shape.
    Source: linear clean felt: Saleem, Krammer and Tahir, Powder Technology 228 (2012) 100; cyclones by the inlet's
    velocity pressure: Wang et al., Transactions of the ASABE 49 (2006) 491; the powers of density and viscosity by
    dimensional analysis, our own.

    >>> filter_loss(0.5, 1.0, 400.0, 1.0, 1.0, 1.8e-5, 1.2, 1.8e-5)
    200.0
    """
    share = (flow_m3_s / rated_flow_m3_s) ** exponent
    thickness = (viscosity_pa_s / rated_viscosity_pa_s) ** (2.0 - exponent)
    return rated_pressure_pa * share * thickness * (density / rated_density) ** (exponent - 1.0)
