"""A blower's curve: a monotone cubic through points, a straight line or a parabola."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ductcalc.arrays import Floats
from ductcalc.physics.amounts import Amount


@dataclass(frozen=True, eq=False)
class PiecewiseCubic:
    """Cubics between rising breaks.

    breaks (n + 1,); coefficients (4, n), highest power first, of x less the break on the left.
    """

    breaks: Floats
    coefficients: Floats


def evaluate(curve: PiecewiseCubic, x: Amount) -> tuple[Amount, Amount]:
    """Value and slope of a curve.

    Left of the first break the value is held (slope 0); beyond the last one it goes on straight at the end's
    slope, so that a solver finds its way back: callers check the range before they call it an answer.

    Parameters: curve; x, any shape, in the unit of the breaks.
    Returns: (value, slope), the shape of x.

    >>> value, slope = evaluate(parabola(2.0, 8.0), 1.0)
    >>> float(value), float(slope)
    (6.0, -4.0)
    """
    first, last = curve.breaks[0], curve.breaks[-1]
    piece = curve.breaks[1:-1].searchsorted(x, side="right")
    step = np.minimum(np.maximum(x, first), last) - curve.breaks[piece]
    cubic, square, line, constant = curve.coefficients.take(piece, axis=1)
    slope = (3.0 * cubic * step + 2.0 * square) * step + line
    slope = np.where(np.less(x, first), 0.0, slope)
    value = ((cubic * step + square) * step + line) * step + constant
    value = value + slope * np.maximum(np.subtract(x, last), 0.0)
    return value, slope[()]


def monotone_cubic(x: ArrayLike, y: ArrayLike) -> PiecewiseCubic:
    """Monotone cubic through points: harmonic-mean slopes inside, three-point ends, a line for two points.

    Parameters: x (points,), strictly rising; y (points,). Returns: curve with a break at every x.
    Raises: ValueError when there are fewer than two points or x does not rise.
    Source: Fritsch and Butland, A Method for Constructing Local Monotone Piecewise Cubic Interpolants, SIAM
    J. Scientific and Statistical Computing 5 (1984) 300; ends after Moler, Numerical Computing with MATLAB
    (2004), 3.6.

    >>> value, _ = evaluate(monotone_cubic([0.0, 1.0, 3.0], [4.0, 3.0, 0.0]), 2.0)
    >>> round(float(value), 4)
    1.6649
    """
    points, values = np.asarray(x, float), np.asarray(y, float)
    if points.ndim != 1 or points.shape != values.shape or len(points) < 2 or np.any(np.diff(points) <= 0.0):
        raise ValueError("a curve needs two points or more, and x must rise from each to the next")
    widths = np.diff(points)
    rises = np.diff(values) / widths
    slopes = _point_slopes(widths, rises)
    bend = (slopes[:-1] + slopes[1:] - 2.0 * rises) / widths
    square = (rises - slopes[:-1]) / widths - bend
    return PiecewiseCubic(points, np.stack([bend / widths, square, slopes[:-1], values[:-1]]))


def _point_slopes(widths: Floats, rises: Floats) -> Floats:
    if len(rises) == 1:
        return np.repeat(rises, 2)
    slopes = np.zeros(len(rises) + 1)
    slopes[1:-1] = _inner_slopes(widths, rises)
    slopes[0] = _end_slope(widths[0], widths[1], rises[0], rises[1])
    slopes[-1] = _end_slope(widths[-1], widths[-2], rises[-1], rises[-2])
    return slopes


def _inner_slopes(widths: Floats, rises: Floats) -> Floats:
    """Weighted harmonic means of neighbouring rises, zero at a summit, a valley or a flat piece."""
    left, right = rises[:-1], rises[1:]
    left_weight = 2.0 * widths[1:] + widths[:-1]
    right_weight = widths[1:] + 2.0 * widths[:-1]
    same_way = (np.sign(left) == np.sign(right)) & (left != 0.0)
    safe_left, safe_right = np.where(same_way, left, 1.0), np.where(same_way, right, 1.0)
    mean = (left_weight / safe_left + right_weight / safe_right) / (left_weight + right_weight)
    result: Floats = np.where(same_way, 1.0 / mean, 0.0)
    return result


def _end_slope(width: float, next_width: float, rise: float, next_rise: float) -> float:
    """Three-point slope at an end, held so that the curve neither turns nor overshoots."""
    slope = ((2.0 * width + next_width) * rise - width * next_rise) / (width + next_width)
    if np.sign(slope) != np.sign(rise):
        return 0.0
    if np.sign(rise) != np.sign(next_rise) and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return slope


def straight_line(greatest_flow: float, greatest_pressure: float) -> PiecewiseCubic:
    """Straight line from the greatest pressure at no flow to no pressure at the greatest flow (both above 0).

    >>> value, slope = evaluate(straight_line(2.0, 8.0), 1.0)
    >>> float(value), float(slope)
    (4.0, -4.0)
    """
    return _two_ended([0.0, 0.0, -greatest_pressure / greatest_flow, greatest_pressure], greatest_flow)


def parabola(greatest_flow: float, greatest_pressure: float) -> PiecewiseCubic:
    """Parabola from its summit, the greatest pressure at no flow, to no pressure at the greatest flow.

    >>> value, slope = evaluate(parabola(2.0, 8.0), 2.0)
    >>> float(value), float(slope)
    (0.0, -8.0)
    """
    return _two_ended([0.0, -greatest_pressure / greatest_flow**2, 0.0, greatest_pressure], greatest_flow)


def _two_ended(coefficients: list[float], greatest_flow: float) -> PiecewiseCubic:
    return PiecewiseCubic(np.array([0.0, greatest_flow]), np.array(coefficients)[:, np.newaxis])
