"""Friction of straight round duct: Darcy friction factor at any Reynolds number, and the handbook fit.

The Colebrook-White equation is solved for the root x = 1 / sqrt(f), in which it is nearly a straight line:
x = -2 log10(relative_roughness / 3.7 + 2.51 x / Re).
"""

from __future__ import annotations

import math

import numpy as np

from ductcalc.physics.amounts import CFM_M3_S, FOOT_M, FPM_M_S, Amount
from ductcalc.physics.velocity import reynolds as reynolds_number
from ductcalc.physics.velocity import velocity_pressure

LAMINAR_REYNOLDS = 2000.0
"""Below this Reynolds number the flow is laminar, f = 64 / Re."""

TURBULENT_REYNOLDS = 4000.0
"""From this Reynolds number on the Colebrook-White equation holds."""

LEAST_REYNOLDS = 1e-6
"""The friction factor is held below this Reynolds number, so that still air has a finite one."""

NEWTON_STEPS = 3
"""Newton steps from the explicit start to the last digit: two leave up to 7e-13."""

HANDBOOK_FACTOR, HANDBOOK_SPEED_POWER, HANDBOOK_FLOW_POWER = 0.0307, 0.533, 0.612
"""Hf = 0.0307 V^0.533 / Q^0.612 VP per foot (V fpm, Q cfm): ACGIH, Industrial Ventilation, from memory."""

HANDBOOK_EXPONENT = 2.0 + HANDBOOK_SPEED_POWER - HANDBOOK_FLOW_POWER
"""Power of flow with which a straight length then loses pressure."""

STILL_SI = 1e-30
"""Speed [m/s] and flow [m3/s] at which the fit is held, so that still air has a finite value."""

_LOG = 2.0 / math.log(10.0)
_LAMINAR_END = 64.0 / LAMINAR_REYNOLDS


def explicit_root(reynolds: Amount, relative_roughness: Amount) -> Amount:
    """Explicit guess of x = 1 / sqrt(f), within 1.5 % of the Colebrook root: the start of Newton's method.

    x = -1.8 log10((eps/D / 3.7)^1.11 + 6.9 / Re).

    Parameters: reynolds [-], above 0; relative_roughness eps/D [-], 0 to 0.05; broadcast shape.
    Returns: root x [-].
    Source: Haaland, Simple and Explicit Formulas for the Friction Factor in Turbulent Pipe Flow,
    J. Fluids Engineering 105 (1983) 89.

    >>> round(float(explicit_root(1e5, 0.001)), 2)
    6.75
    """
    result: Amount = -1.8 * np.log10((relative_roughness / 3.7) ** 1.11 + 6.9 / reynolds)
    return result


def colebrook_step(root: Amount, reynolds: Amount, relative_roughness: Amount) -> tuple[Amount, Amount]:
    """One Newton step on the root x = 1 / sqrt(f) of the Colebrook-White equation, and the slope there.

    With a = eps/D / 3.7, b = 2.51 / Re, c = 2 / ln 10, s = a + b x: the new root is
    x - (x + c ln s) s / (s + b c), and at that new root d ln f / d ln Re = -2 b c / (s + b c) exactly.

    Parameters: root x [-]; reynolds Re [-], above 0, of the full shape; relative_roughness eps/D [-], not
    negative, of a shape that broadcasts to it. None is changed.
    Returns: (new root [-], d ln f / d ln Re [-]), both of the full shape.
    Source: Colebrook, Turbulent Flow in Pipes, J. Institution of Civil Engineers 11 (1939) 133; the
    derivative is our own.

    >>> root, slope = colebrook_step(6.73, 1e5, 0.001)
    >>> round(float(root), 4), round(float(slope), 4)
    (6.7154, -0.0947)
    """
    per_root = 2.51 / reynolds
    sum_ = per_root * root
    sum_ += relative_roughness / 3.7
    error = np.log(sum_)
    error *= _LOG
    error += root
    error *= sum_
    weight = per_root * _LOG
    sum_ += weight
    error /= sum_
    new_root = root - error
    error *= per_root
    sum_ -= error
    weight /= sum_
    weight *= -2.0
    return new_root, weight


def _colebrook_root(reynolds: Amount, relative_roughness: Amount) -> Amount:
    root = explicit_root(reynolds, relative_roughness)
    for _ in range(NEWTON_STEPS):
        root, _slope = colebrook_step(root, reynolds, relative_roughness)
    return root


def friction_with_slope(root: Amount, reynolds: Amount, relative_roughness: Amount) -> tuple[Amount, Amount]:
    """Darcy friction factor and its logarithmic slope at any Reynolds number, from a known Colebrook root.

    64 / Re to Re 2000, Colebrook-White from 4000, a straight line in f between, so that nothing jumps. Below
    Re 1e-6 f is held, so that it is finite in still air.

    Parameters: root [-], the Colebrook root at max(Re, 4000) (the bridge ends on it); reynolds [-], not
    negative, of the full shape; relative_roughness eps/D [-], broadcasting to it.
    Returns: (f [-], d ln f / d ln Re [-]).
    Source: Colebrook 1939; 64 / Re after Hagen and Poiseuille; the bridge is a convention of
    ours.

    >>> f, slope = friction_with_slope(6.7153, 1e5, 0.001)
    >>> round(float(f), 5), round(float(slope), 4)
    (0.02218, -0.0947)
    """
    weight = _LOG * 2.51 / np.maximum(reynolds, TURBULENT_REYNOLDS)
    slope = -2.0 * weight / (relative_roughness / 3.7 + weight * (root / _LOG + 1.0))
    return with_laminar(1.0 / root**2, slope, reynolds)


def with_laminar(turbulent: Amount, slope: Amount, reynolds: Amount) -> tuple[Amount, Amount]:
    """Extend a turbulent friction factor to any Reynolds number: 64 / Re to 2000, a straight line to 4000.

    Parameters: turbulent f [-] and its logarithmic slope [-], both at max(Re, 4000); reynolds [-], same
    shape.
    Returns: (f [-], d ln f / d ln Re [-]).
    Source: 64 / Re after Hagen and Poiseuille; the straight line between is a convention of ours.

    >>> f, slope = with_laminar(0.04, -0.25, 1000.0)
    >>> float(f), float(slope)
    (0.064, -1.0)
    """
    rise = (turbulent - _LAMINAR_END) / (TURBULENT_REYNOLDS - LAMINAR_REYNOLDS)
    bridge = _LAMINAR_END + rise * (reynolds - LAMINAR_REYNOLDS)
    laminar = 64.0 / np.maximum(reynolds, LEAST_REYNOLDS)
    below, between = np.less(reynolds, LAMINAR_REYNOLDS), np.less(reynolds, TURBULENT_REYNOLDS)
    factor = np.where(below, laminar, np.where(between, bridge, turbulent))
    still = np.where(np.less(reynolds, LEAST_REYNOLDS), 0.0, -1.0)
    slopes = np.where(below, still, np.where(between, rise * reynolds / factor, slope))
    return factor[()], slopes[()]


def friction_factor(reynolds: Amount, relative_roughness: Amount) -> Amount:
    """Darcy friction factor of a round duct, Colebrook-White solved to 1e-12.

    64 / Re to Re 2000, Colebrook-White from 4000, a straight line in f between.

    Parameters: reynolds [-], not negative; relative_roughness eps/D [-], 0 to 0.05; broadcast shape.
    Returns: Darcy (not Fanning) friction factor f [-]; finite at zero.
    Source: Colebrook, Turbulent Flow in Pipes, J. Institution of Civil Engineers 11 (1939) 133.

    >>> round(float(friction_factor(1e5, 0.001)), 6)
    0.022175
    """
    reynolds, relative_roughness = np.broadcast_arrays(
        np.asarray(reynolds, float), np.asarray(relative_roughness, float)
    )
    root = _colebrook_root(np.maximum(reynolds, TURBULENT_REYNOLDS), relative_roughness)
    return friction_with_slope(root, reynolds, relative_roughness)[0]


def darcy_loss_per_m(
    velocity_m_s: Amount, bore_m: Amount, roughness_m: Amount, density: Amount, viscosity_pa_s: Amount
) -> Amount:
    """Friction loss per metre of straight round duct, f / D times the velocity pressure.

    Parameters: velocity_m_s V [m/s], not negative; bore_m D [m]; roughness_m eps [m]; density rho [kg/m3];
    viscosity_pa_s mu [Pa s]; broadcast shape.
    Returns: loss of total pressure [Pa/m], zero in still air.
    Source: the Darcy-Weisbach equation, in any text of fluid mechanics.

    >>> round(float(darcy_loss_per_m(20.0, 0.1, 9.144e-5, 1.2014, 1.82e-5)), 1)
    51.3
    """
    number = reynolds_number(density, velocity_m_s, bore_m, viscosity_pa_s)
    factor = friction_factor(number, roughness_m / bore_m)
    return factor / bore_m * velocity_pressure(density, velocity_m_s)


def handbook_friction_per_m(velocity_m_s: Amount, flow_m3_s: Amount) -> tuple[Amount, Amount]:
    """Friction of galvanized duct by the fit of the velocity-pressure sheet, in VP per metre.

    Hf = 0.0307 V^0.533 / Q^0.612 VP per foot (V in fpm, Q in cfm). Both are held at 1e-30 SI so that still
    air has a finite value; its loss is zero because VP is.

    Parameters: velocity_m_s [m/s] and flow_m3_s [m3/s] in the same bore, not negative, same shape; made for
    ordinary duct speeds, 5 to 30 m/s.
    Returns: (VP per metre [1/m], d ln Hf / d ln Q at a fixed bore [-], -0.079 everywhere).
    Source: Loeffler's fit in ACGIH, Industrial Ventilation (from memory); gives the printed 0.0709 VP per
    foot of a course solution at 4000 fpm in 4 in.

    >>> per_m, _ = handbook_friction_per_m(4000 * 0.00508, 349.07 * 0.000471947)
    >>> round(float(per_m) * 0.3048, 4)
    0.0709
    """
    speed_fpm = np.maximum(velocity_m_s, STILL_SI) / FPM_M_S
    flow_cfm = np.maximum(flow_m3_s, STILL_SI) / CFM_M3_S
    per_ft = HANDBOOK_FACTOR * speed_fpm**HANDBOOK_SPEED_POWER / flow_cfm**HANDBOOK_FLOW_POWER
    slope = np.full_like(per_ft, HANDBOOK_SPEED_POWER - HANDBOOK_FLOW_POWER)
    return per_ft / FOOT_M, slope[()]
