"""Loss of total pressure of each stream of a wye, by the three methods, from flows and areas.

Streams lie along the first axis; the outlet's flow is their sum. Nothing is divided by a flow that may be
zero, so a shut branch or a wye without any air is no special case. A negative loss is a gain: the slow stream
is dragged along by the fast one.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from ductcalc.arrays import Flags, Floats
from ductcalc.physics.amounts import Amount

SQUARE_ANGLE_DEG = 75.0
"""From this angle [deg] on the 90-degree forms are taken, as the open library fluids does for the run."""

RIGHT_ANGLE_DEG = 90.0
"""Beyond this angle [deg] a branch comes in against the flow."""

LARGER_INLET_K = 0.5
"""Sharp contraction, 0.5 (1 - A_outlet / A_inlet) on the outlet's VP: Crane TP-410 (2009) at 180 degrees."""

AREA_RATIOS = (0.2, 0.3, 0.4, 0.6, 0.8, 1.0)
"""Branch over combined area [-], 90-degree wye: Idelchik, Handbook of Hydraulic Resistance (1966)."""

AREA_FACTORS = (1.0, 0.75, 0.75, 0.7, 0.65, 0.6)
"""Factor A [-] at AREA_RATIOS, same source, as documented in an open-source thermofluid library."""

SMALL_BRANCH_RATIO, FACTOR_SLOPE, LEAST_FACTOR = 0.35, 0.9, 0.55
"""Crane Co., Technical Paper 410, converging tees (as documented in the open-source library fluids)."""

_SQUARE_COSINE = math.cos(math.radians(SQUARE_ANGLE_DEG)) + 1e-12
_AGAINST_COSINE = -1e-12
_STRAIGHT_COSINE = 1.0 - 1e-12
_TINY = 1e-300


def _per_stream(values: ArrayLike, flows: Floats) -> Floats:
    """Give (streams,) values as many axes as the flows have, so that they broadcast stream by stream."""
    array = np.asarray(values, float)
    return array.reshape(array.shape + (1,) * (flows.ndim - array.ndim)) if array.ndim else array


def larger_inlet_losses(
    density: Amount, flows: ArrayLike, areas: ArrayLike, outlet_area: Amount
) -> Floats:
    """Addition for streams whose bore is larger than the outlet's, 0.5 (1 - A_c / A_i) on the outlet's VP.

    Parameters: density [kg/m3]; flows (streams, ...) [m3/s]; areas (streams,) or (streams, ...) [m2];
    outlet_area [m2]. Returns: losses (streams, ...) [Pa], zero for the others.
    Source: Crane Co., Technical Paper 410 (2009) (sharp contraction).

    >>> larger_inlet_losses(1.2, np.array([1.0, 0.0]), np.array([0.1, 0.05]), 0.05).round(1).tolist()
    [60.0, 0.0]
    """
    flows = np.asarray(flows, float)
    squeeze = np.maximum(1.0 - outlet_area / _per_stream(areas, flows), 0.0)
    outlet_pressure = 0.5 * density * (flows.sum(axis=0) / outlet_area) ** 2
    result: Floats = LARGER_INLET_K * squeeze * outlet_pressure + np.zeros_like(flows)
    return result


def ninety_degree_factor(area_ratio: Amount) -> Amount:
    """Factor A of a 90-degree branch by its area over the outlet's, straight lines between the points.

    Parameters: area_ratio b [-], any shape; held beyond 0.2 and 1. Returns: A [-].
    Source: Idelchik, Handbook of Hydraulic Resistance (1966 translation), 90-degree converging wye.

    >>> float(ninety_degree_factor(0.7).round(3))
    0.675
    """
    result: Amount = np.interp(area_ratio, AREA_RATIOS, AREA_FACTORS)
    return result


def empirical_factor(share: Amount, area_ratio: Amount) -> Amount:
    """Crane's factor on the loss of a branch: 1 for small branches, else the greater of 0.9 (1 - q) and 0.55.

    The source switches from 0.9 (1 - q) = 0.54 to 0.55 at q = 0.4; the greater of the two keeps the loss
    continuous and differs from the source by under 2 %, between q 0.389 and 0.4 only.

    Parameters: share q, branch over combined flow [-]; area_ratio b, branch over combined area [-]. Returns:
    A [-].
    Source: Crane Co., Technical Paper 410, converging tees and wyes (as documented in the library fluids).

    >>> float(empirical_factor(0.25, 1.0))
    0.675
    """
    large = np.maximum(FACTOR_SLOPE * (1.0 - share), LEAST_FACTOR)
    result: Amount = np.where(np.less_equal(area_ratio, SMALL_BRANCH_RATIO), 1.0, large)[()]
    return result


def ninety_degree_branch(
    density: Amount, flow: Amount, area: Amount, outlet_flow: Amount, outlet_area: Amount, factor: Amount
) -> Amount:
    """Loss of a branch that meets a main at 90 degrees, A rho/2 [(Qc/Ac)^2 + (Qb/Ab)^2 - 2 ((Qc - Qb)/Ac)^2].

    Parameters: density rho [kg/m3]; flow Qb and area Ab of the branch [m3/s, m2]; outlet_flow Qc, outlet_area
    Ac; factor A [-], Idelchik's by area or Crane's.
    Returns: loss of total pressure [Pa], broadcast shape; negative for a slow branch.
    Source: Idelchik, Handbook of Hydraulic Resistance (1966 translation), converging wye type I at 90
    degrees.

    >>> round(float(ninety_degree_branch(2.0, 0.3, 1.0, 1.0, 1.0, 0.6)), 3)
    0.066
    """
    rest = (outlet_flow - flow) / outlet_area
    return 0.5 * density * factor * ((outlet_flow / outlet_area) ** 2 + (flow / area) ** 2 - 2.0 * rest**2)


def ninety_degree_run(
    density: Amount, branch_flow: Amount, outlet_flow: Amount, outlet_area: Amount
) -> Amount:
    """Loss of the straight run past 90-degree branches, (1.55 q - q^2) VP_c with q the branches' share.

    Parameters: density [kg/m3]; branch_flow, sum of the branches [m3/s]; outlet_flow [m3/s]; outlet_area
    [m2].
    Returns: loss of total pressure [Pa], broadcast shape.
    Source: Idelchik, Handbook of Hydraulic Resistance (1966 translation), type I at 90 degrees; the same in
    Crane TP-410.

    >>> round(float(ninety_degree_run(2.0, 0.25, 1.0, 1.0)), 3)
    0.325
    """
    return 0.5 * density * (1.55 * branch_flow * outlet_flow - branch_flow**2) / outlet_area**2


def _balance(
    density: Amount, flows: Floats, areas: Floats, cosines: Floats, outlet: Amount
) -> Floats:
    speeds = flows / areas
    outlet_speed = flows.sum(axis=0) / outlet
    along = np.where(_is_square(cosines), 0.0, cosines)
    thrust = (flows * speeds * along).sum(axis=0) / outlet
    result: Floats = 0.5 * density * (speeds**2 + outlet_speed**2 - 2.0 * thrust)
    return result


def _is_square(cosines: Floats) -> Flags:
    """Tell which streams come in at 75 to 90 degrees; beyond that they come against the flow."""
    return np.asarray((cosines <= _SQUARE_COSINE) & (cosines >= _AGAINST_COSINE))


def _square_forms(losses: Floats, branch: Amount, run: Amount, cosines: Floats) -> Floats:
    """Put in the 90-degree form for square branches, and the run form where every branch is square."""
    straight = cosines >= _STRAIGHT_COSINE
    square = _is_square(cosines)
    all_square = np.all(straight | square, axis=0) & np.any(square, axis=0)
    result: Floats = np.where(square, branch, np.where(straight & all_square, run, losses))
    return result


def _run_form(density: Amount, flows: Floats, cosines: Floats, outlet_area: Amount) -> Amount:
    branches = np.where(cosines >= _STRAIGHT_COSINE, 0.0, flows).sum(axis=0)
    return ninety_degree_run(density, branches, flows.sum(axis=0), outlet_area)


def momentum_losses(
    density: Amount, flows: ArrayLike, areas: ArrayLike, cosines: ArrayLike, outlet_area: Amount
) -> Floats:
    """Loss of total pressure of each stream by a momentum balance over the wye (the default method).

    All streams meet at one static pressure, and the outlet's momentum is that of the streams along its axis:
    dp_i = rho/2 [(Q_i/A_i)^2 + (Q_c/A_c)^2 - (2/A_c) sum_j(Q_j^2 cos_j / A_j)]. Streams wider than the outlet
    pay ``larger_inlet_losses`` on top. Branches at 75 to 90 degrees take the 90-degree form with its
    factor by area, and when all of them do, so does the straight run. Beyond 90 degrees, against the flow, no
    source is known: the plain balance is taken, in which such a stream pushes the others back.

    Parameters: density rho [kg/m3]; flows (streams, ...) [m3/s], not negative; areas [m2] and cosines of the
    angle to the outlet's axis [-], (streams,) or (streams, ...), 1 for the straight run; outlet_area [m2].
    Returns: losses (streams, ...) [Pa].
    Source: control-volume balance; equal to Idelchik, Handbook of Hydraulic Resistance (1966 translation),
    converging wye type I, within 0.05 to 60 degrees.

    >>> losses = momentum_losses(2.0, [0.3, 0.7], [1.0, 0.5], [1.0, 0.5**0.5], 1.0)
    >>> losses.round(3).tolist()
    [-0.476, 1.394]
    """
    flows = np.asarray(flows, float)
    areas, cosines = _per_stream(areas, flows), _per_stream(cosines, flows)
    losses = _balance(density, flows, areas, cosines, outlet_area)
    factor = ninety_degree_factor(areas / outlet_area)
    branch = ninety_degree_branch(density, flows, areas, flows.sum(axis=0), outlet_area, factor)
    losses = _square_forms(losses, branch, _run_form(density, flows, cosines, outlet_area), cosines)
    return losses + larger_inlet_losses(density, flows, areas, outlet_area)


def factored_losses(
    density: Amount, flows: ArrayLike, areas: ArrayLike, cosines: ArrayLike, outlet_area: Amount
) -> Floats:
    """Loss of total pressure of each stream by the momentum balance times Crane's factor on the branches.

    As ``momentum_losses``, with ``empirical_factor`` on every stream that comes in at an angle.

    Parameters and returns: as ``momentum_losses``.
    Source: Crane Co., Technical Paper 410, converging tees and wyes (as documented in the library fluids).

    >>> losses = factored_losses(2.0, [0.3, 0.7], [1.0, 0.5], [1.0, 0.5**0.5], 1.0)
    >>> losses.round(3).tolist()
    [-0.476, 0.767]
    """
    flows = np.asarray(flows, float)
    areas, cosines = _per_stream(areas, flows), _per_stream(cosines, flows)
    total = flows.sum(axis=0)
    factor = empirical_factor(flows / np.maximum(total, _TINY), areas / outlet_area)
    losses = _balance(density, flows, areas, cosines, outlet_area)
    losses = np.where(cosines >= _STRAIGHT_COSINE, losses, factor * losses)
    branch = ninety_degree_branch(density, flows, areas, total, outlet_area, factor)
    losses = _square_forms(losses, branch, _run_form(density, flows, cosines, outlet_area), cosines)
    return losses + larger_inlet_losses(density, flows, areas, outlet_area)


def handbook_losses(
    density: Amount, flows: ArrayLike, areas: ArrayLike, entry_k: ArrayLike, outlet_area: Amount
) -> Floats:
    """Loss of total pressure of each stream by the rules of the velocity-pressure sheet.

    The sheet adds to the static suction SP_i of a stream its entry K_i VP_i and, when the air must still be
    accelerated, VP_c - VP_r, with VP_r = sum(Q_i VP_i) / Q_c: SP_c = SP_i + K_i VP_i + max(VP_c - VP_r, 0),
    with no credit when that is negative. Total suction is static suction less VP, so the total pressure lost
    is dp_i = (SP_c - VP_c) - (SP_i - VP_i) = VP_i (1 + K_i) - min(VP_c, VP_r).

    Parameters: density [kg/m3]; flows (streams, ...) [m3/s], not negative; areas (streams,) or (streams, ...)
    [m2]; entry_k (streams,) or (streams, ...) [x VP of the stream], 0 for the straight run; outlet_area [m2].
    Returns: losses (streams, ...) [Pa].
    Source: ACGIH, Industrial Ventilation (entry factors and rule of no credit from memory); VP_r from the
    equation sheet of the American Board of Industrial Hygiene.

    >>> handbook_losses(2.0, [0.5, 0.5], [1.0, 1.0], [0.0, 0.28], 1.0).round(2).tolist()
    [0.0, 0.07]
    """
    flows = np.asarray(flows, float)
    pressures = 0.5 * density * (flows / _per_stream(areas, flows)) ** 2
    total = flows.sum(axis=0)
    weighted = (flows * pressures).sum(axis=0) / np.maximum(total, _TINY)
    outlet_pressure = 0.5 * density * (total / outlet_area) ** 2
    paid = pressures * (1.0 + _per_stream(entry_k, flows))
    result: Floats = paid - np.minimum(outlet_pressure, weighted)
    return result
