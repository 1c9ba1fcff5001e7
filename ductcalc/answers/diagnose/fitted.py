"""What is not known of a shop, held against readings: the likeliest values, what is left of each band."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ductcalc.answers.diagnose.observed import Observed
from ductcalc.arrays import Flags, Floats
from ductcalc.cases.bands import Unknowns, unknowns_of
from ductcalc.catalog import fact
from ductcalc.errors import NoAnswerError

STEP, ROUNDS = 0.5, 4
"""Standard deviations of a step that slopes are taken over; rounds of Gauss and Newton."""

SETTLED = 0.02


@dataclass(frozen=True)
class Fitted:
    """Unknowns so many standard deviations off, and how readings hang on them there.

    deviations: (unknowns,). read: (readings,) what would be read. slopes: (readings, unknowns).
    """

    observed: Observed
    unknowns: Unknowns
    deviations: Floats
    read: Floats
    slopes: Floats

    @property
    def expected(self) -> Floats:
        """What would be read (readings,) with every unknown at its own value, by the slopes found here."""
        return self.read - self.slopes @ self.deviations

    @cached_property
    def spread(self) -> Floats:
        """Covariance (readings, readings) of what is compared: readings, calculation, and all that is not known."""
        found: Floats = self.observed.noise + self.slopes @ self.slopes.T
        return found

    @cached_property
    def left(self) -> Floats:
        """Covariance (unknowns, unknowns) of the unknowns once these readings are known; one each before."""
        noise = np.linalg.inv(self.observed.noise)
        precision = np.eye(len(self.deviations)) + self.slopes.T @ noise @ self.slopes
        return np.asarray(np.linalg.inv(precision))


def at(observed: Observed, unknowns: Unknowns, deviations: Floats) -> Fitted:
    """Return how the readings hang on the unknowns where these are so many standard deviations off (unknowns,)."""
    count = len(deviations)
    steps = [deviations, *(deviations + sign * STEP * np.eye(count)[n] for n in range(count) for sign in (1.0, -1.0))]
    read = observed.read([unknowns.variant([float(d) for d in step]) for step in steps])
    slopes = (read[:, 1::2] - read[:, 2::2]) / (2.0 * STEP)
    return Fitted(observed, unknowns, deviations, read[:, 0], np.nan_to_num(slopes))


def fitted(observed: Observed, unknowns: Unknowns, which: Flags) -> Fitted:
    """Fit the unknowns to some of the readings (readings,) by least squares, their bands as prior.

    Raises NoAnswerError when the shop has no answer in a case that was read.
    """
    here = at(observed, unknowns, np.zeros(len(unknowns.all)))
    if not observed.answered:
        raise NoAnswerError("the shop as it is written has no answer in a case that was read: run ductcalc check")
    if not which.any():
        return here
    for _ in range(ROUNDS):
        new = _step(here, which)
        moved = float(np.abs(new - here.deviations).max())
        if moved < SETTLED:
            break
        here = at(observed, unknowns, new)
    return here


def fitted_to_healthy(observed: Observed) -> Fitted:
    """Fit all that is not known to the healthy readings; where these contradict the shop as it is written, only what
    has changed since counts.

    Raises NoAnswerError as `fitted` does.
    """
    unknowns = unknowns_of(observed.model)
    fit = fitted(observed, unknowns, observed.healthy)
    if not _contradicted(fit):
        return fit
    return fitted(replace(observed, by_change=True), unknowns, observed.healthy)


def _contradicted(fit: Fitted) -> bool:
    """Tell whether the healthy readings are farther from calculation than all that is not known allows."""
    well = fit.observed.healthy
    if not well.any():
        return False
    gap = (fit.observed.measured - fit.expected)[well]
    square = gap @ np.linalg.solve(fit.spread[np.ix_(well, well)], gap)
    return bool(on_normal_scale(np.array([square]), len(gap))[0] > fact("measuring", "contradicted").value)


def on_normal_scale(square: Floats, count: int) -> Floats:
    """Return a sum of squares of `count` standard deviations on the normal scale (Wilson and Hilferty, 1931)."""
    spread = 2.0 / (9.0 * count)
    return np.asarray(((square / count) ** (1.0 / 3.0) - (1.0 - spread)) / spread**0.5)


def _step(here: Fitted, which: Flags) -> Floats:
    """Return where the unknowns are likeliest by the slopes found: prior and readings weighed by their spreads."""
    slopes, noise = here.slopes[which], here.observed.noise[np.ix_(which, which)]
    gap = here.observed.measured[which] - here.expected[which]
    spread = noise + slopes @ slopes.T
    farthest = fact("measuring", "farthest").value
    return np.clip(slopes.T @ np.linalg.solve(spread, gap), -farthest, farthest)
