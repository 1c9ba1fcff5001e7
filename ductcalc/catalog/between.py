"""Values between the rows of a table: each of value, low and high on its own, held beyond the ends."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from math import exp, log
from typing import NamedTuple

from ductcalc.catalog.fact import Fact


class Band(NamedTuple):
    """A value with its low and high end."""

    value: float
    low: float
    high: float


NOTHING = Band(0.0, 0.0, 0.0)


class BandLine(NamedTuple):
    """Bands along one rising key."""

    at: tuple[float, ...]
    bands: tuple[Band, ...]


def band_of(fact: Fact) -> Band:
    """Return value, low and high of a fact."""
    return Band(fact.value, fact.low, fact.high)


def scaled(band: Band, *factors: float) -> Band:
    """Return a band times plain numbers."""
    for factor in factors:
        band = Band(*(factor * part for part in band))
    return band


def product(first: Band, second: Band) -> Band:
    """Return the end-by-end product of two bands."""
    return Band(*(a * b for a, b in zip(first, second, strict=True)))


def ratio(first: Band, second: Band) -> Band:
    """Return the end-by-end ratio of two bands."""
    return Band(*(a / b for a, b in zip(first, second, strict=True)))


def ordered(band: Band) -> Band:
    """Return the band widened, where needed, so that the value lies between low and high."""
    return Band(band.value, min(band), max(band))


def line_of(points: Iterable[tuple[float, Band]]) -> BandLine:
    """Return a line through points, sorted by key."""
    at, bands = zip(*sorted(points), strict=True)
    return BandLine(at, bands)


def outside(line: BandLine, key: float) -> bool:
    """Tell whether a key lies beyond the line's ends."""
    return not line.at[0] <= key <= line.at[-1]


def linear(line: BandLine, key: float) -> Band:
    """Return the band at a key: straight lines between rows, held beyond the ends."""
    return Band(*(_interpolated(line.at, part, key) for part in zip(*line.bands, strict=True)))


def log_log(line: BandLine, key: float) -> Band:
    """Return the band at a key: logarithm linear in the key's logarithm, held beyond the ends."""
    if key in line.at:
        return line.bands[line.at.index(key)]
    return log_linear(BandLine(tuple(map(log, line.at)), line.bands), log(key))


def log_linear(line: BandLine, key: float) -> Band:
    """Return the band at a key: logarithm linear in the key, held beyond the ends."""
    if key in line.at:
        return line.bands[line.at.index(key)]
    logs = BandLine(line.at, tuple(Band(*map(log, band)) for band in line.bands))
    return Band(*map(exp, linear(logs, key)))


def _interpolated(at: Sequence[float], values: Sequence[float], key: float) -> float:
    if key <= at[0]:
        return values[0]
    if key >= at[-1]:
        return values[-1]
    right = bisect_right(at, key)
    left = right - 1
    share = (key - at[left]) / (at[right] - at[left])
    return values[left] + share * (values[right] - values[left])
