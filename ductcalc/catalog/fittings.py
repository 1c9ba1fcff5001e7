"""Loss coefficients: elbows by build, bend radius, angle and bore, hoods and branches by angle, gates by opening.

A build of elbows has its own rows (by bore, at one radius and a few angles). Another radius is reached by the ratio of
the size-independent values by piece count, another angle by the angle factors; both are named in the note.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache, lru_cache
from math import log
from typing import NamedTuple

from ductcalc.catalog.between import (
    NOTHING,
    Band,
    BandLine,
    band_of,
    line_of,
    linear,
    log_linear,
    log_log,
    ordered,
    outside,
    product,
    ratio,
    scaled,
)
from ductcalc.catalog.fact import Fact, FactRow, fact, fact_rows
from ductcalc.catalog.words import known_style
from ductcalc.shop.kinds import RIGHT_ANGLE_DEG

INTERPOLATED = "interpolated between printed values"
"""Confidence of a number that lies between rows of one published table."""
BETWEEN_BORES = "between the source's bores"
BETWEEN_ANGLES = "between the source's angles"
EXTRAPOLATED = "below the source's smallest opening: grows as 1/opening squared, the gap being a crescent"


class Basis(NamedTuple):
    """Where a build's numbers come from.

    rows: item with the build's own rows. pieces: item whose values by radius give its ratios; `at_radius`
    those that hold at the own rows' radius. larger: build by bore, with its item by radius, that shows how
    much more a small bore may lose where the own rows are the same for all bores.
    """

    rows: str
    pieces: str
    at_radius: str
    larger: tuple[str, str] | None = None


BASES = {
    "stamped": Basis("stamped", "smooth radius", "smooth radius"),
    "pleated": Basis("pleated", "5-piece", "5-piece"),
    "3-gore": Basis("3-gore", "3-piece", "3-piece", ("5-gore", "5-piece")),
    "4-gore": Basis("5-gore", "4-piece", "5-piece"),
    "5-gore": Basis("5-gore", "5-piece", "5-piece"),
    "7-gore": Basis("7-gore", "5-piece", "5-piece"),
    "smooth radius": Basis("smooth radius", "smooth radius", "smooth radius", ("stamped", "smooth radius")),
}


@lru_cache(maxsize=4096)
def elbow(style: str | None, r_over_d: float | None, angle_deg: float, bore_m: float) -> Fact:
    """Return the loss coefficient [1] of an elbow on its own velocity pressure, the bend's friction included.

    style: a build, None is the default. r_over_d: bend radius over bore [1], None is the build's default.
    angle_deg: turn [deg], 0 to 180. bore_m: inside diameter [m].
    Logarithm of the coefficient linear in the logarithm of the bore; beyond a source's range the nearest
    row, and the note says so. Raises InputError for an unknown style, ValueError for a number out of range.
    Source: table `elbow`.

    >>> elbow("5-gore", 1.5, 90.0, 0.150).value
    0.28
    """
    if not 0.0 <= angle_deg <= 180.0 or not bore_m > 0.0 or (r_over_d is not None and not r_over_d > 0.0):
        raise ValueError(f"no elbow of {angle_deg} degrees, bore {bore_m} m, R/D {r_over_d}")
    build = known_style("elbow", style)
    if build == "mitred":
        return _mitred(angle_deg, r_over_d)
    return _bent(build, r_over_d or _default_radius(build), angle_deg, bore_m)


def _bent(build: str, radius: float, angle_deg: float, bore_m: float) -> Fact:
    basis = BASES[build]
    by_radius, radius_note = _radius_ratio(basis, radius)
    if angle_deg in _own_angles(basis.rows):
        band, note = _at_own_angle(basis, angle_deg, bore_m)
        angle_note = ""
    else:
        band, note = _at_own_angle(basis, RIGHT_ANGLE_DEG, bore_m)
        by_angle, angle_note = _angle_ratio(basis, angle_deg, bore_m)
        band = product(band, by_angle)
    notes = "; ".join(part for part in (note, radius_note, angle_note) if part)
    origin = _origin(basis.rows, angle_deg)
    if radius_note or angle_note:
        origin = replace(origin, confidence="computed")
    elif note == BETWEEN_BORES:
        origin = _interpolated(origin)
    return replace(origin, **ordered(scaled(band, by_radius))._asdict(), note=notes or origin.note)


def _interpolated(fact: Fact) -> Fact:
    """Return a fact marked as lying between rows that were printed; what is recalled stays recalled."""
    return replace(fact, confidence=INTERPOLATED) if fact.confidence == "published" else fact


def _at_own_angle(basis: Basis, angle_deg: float, bore_m: float) -> tuple[Band, str]:
    """Return a build's own value; one for all bores gets its high end from the `larger` build."""
    band, note = _at_bore(basis.rows, angle_deg, bore_m)
    if basis.larger is None or isinstance(_own_line(basis.rows, angle_deg), BandLine):
        return band, note
    build, pieces = basis.larger
    radius = _own_radius(basis.rows)
    by_bore, _ = _at_bore(build, angle_deg, bore_m)
    more = by_bore.value * _at_radius(basis.pieces, radius) / _at_radius(pieces, radius)
    return Band(band.value, band.low, max(band.high, more)), f"one value for all bores; high end from {build}"


def _radius_ratio(basis: Basis, radius: float) -> tuple[float, str]:
    own = _own_radius(basis.rows)
    if radius == own and basis.pieces == basis.at_radius:
        return 1.0, ""
    note = f"times {basis.pieces} at R/D {radius:g} over {basis.at_radius} at R/D {own:g}"
    if outside(_radius_line(basis.pieces), radius):
        note += " (R/D outside the source's range: nearest row taken)"
    return _at_radius(basis.pieces, radius) / _at_radius(basis.at_radius, own), note


def _angle_ratio(basis: Basis, angle_deg: float, bore_m: float) -> tuple[Band, str]:
    """Return K(angle) / K(90) by the angle factors, bent so that it meets the build's own rows."""
    factors = _angle_line()
    right_angle, _ = _at_own_angle(basis, RIGHT_ANGLE_DEG, bore_m)
    bends = []
    for angle in _own_angles(basis.rows):
        own, _ = _at_own_angle(basis, angle, bore_m)
        bends.append((angle, ratio(own, product(right_angle, linear(factors, angle)))))
    note = f"{angle_deg:g} degrees by the angle factors of smooth bends"
    if angle_deg < factors.at[1]:
        note += f", straight to nothing below their {factors.at[1]:g} degrees"
    return product(linear(factors, angle_deg), linear(line_of(bends), angle_deg)), note


def _mitred(angle_deg: float, r_over_d: float | None) -> Fact:
    rows = fact_rows("elbow", "mitred")
    line = line_of([(0.0, NOTHING), *((float(row["angle_deg"]), band_of(part)) for row, part in rows)])
    nearest = _nearest(rows, angle_deg)
    notes = []
    if outside(line, angle_deg):
        notes.append(f"{angle_deg:g} degrees is outside the source's range: nearest row taken")
    elif angle_deg not in line.at:
        notes.append(BETWEEN_ANGLES)
        nearest = _interpolated(nearest)
    if r_over_d is not None:
        notes.append("a mitred elbow has no bend radius: R/D not used")
    return replace(nearest, **linear(line, angle_deg)._asdict(), note="; ".join(notes) or nearest.note)


def _at_bore(rows: str, angle_deg: float, bore_m: float) -> tuple[Band, str]:
    line = _own_line(rows, angle_deg)
    bore_mm = 1000.0 * bore_m
    if isinstance(line, Band):
        return line, ""
    note = ""
    if outside(line, bore_mm):
        nearest = line.at[0] if bore_mm < line.at[0] else line.at[-1]
        note = f"bore outside the source's range: {nearest:g} mm taken"
    elif bore_mm not in line.at:
        note = BETWEEN_BORES
    return log_log(line, bore_mm), note


@cache
def _own_line(rows: str, angle_deg: float) -> BandLine | Band:
    """Return a build's own rows by bore [mm] at one of its own angles, or its one value for all bores."""
    found = [pair for pair in _own_rows(rows) if float(pair.row["angle_deg"]) == angle_deg]
    if not found[0].row["bore_mm"]:
        return band_of(found[0].fact)
    return line_of((float(row["bore_mm"]), band_of(part)) for row, part in found)


@cache
def _own_rows(rows: str) -> tuple[FactRow, ...]:
    """Return the rows that hold at the radius for which the build has rows."""
    own = _own_radius(rows)
    return tuple(pair for pair in fact_rows("elbow", rows) if float(pair.row["r_over_d"]) == own)


@cache
def _own_radius(rows: str) -> float:
    """Return the radius of a build's own rows; of several, the default."""
    found = {float(row["r_over_d"]) for row, _ in fact_rows("elbow", rows)}
    return found.pop() if len(found) == 1 else _default_radius(rows)


@cache
def _own_angles(rows: str) -> tuple[float, ...]:
    return tuple(sorted({float(row["angle_deg"]) for row, _ in _own_rows(rows)}))


def _origin(rows: str, angle_deg: float) -> Fact:
    """Return the fact that is cited: a row of the nearest own angle."""
    return _nearest(_own_rows(rows), angle_deg)


def _nearest(rows: tuple[FactRow, ...], angle_deg: float) -> Fact:
    return min(rows, key=lambda pair: abs(float(pair.row["angle_deg"]) - angle_deg)).fact


@cache
def _default_radius(build: str) -> float:
    own = fact_rows("elbow", f"default r_over_d {build}")
    return own[0].fact.value if own else fact("elbow", "default r_over_d").value


def _at_radius(pieces: str, radius: float) -> float:
    return log_log(_radius_line(pieces), radius).value


@cache
def _radius_line(pieces: str) -> BandLine:
    return line_of((float(row["r_over_d"]), band_of(part)) for row, part in fact_rows("elbow", pieces))


@cache
def _angle_line() -> BandLine:
    rows = fact_rows("elbow", "angle factor")
    return line_of([(0.0, NOTHING), *((float(row["angle_deg"]), band_of(part)) for row, part in rows)])


@cache
def hood_entry(style: str, angle_deg: float | None = None) -> Fact:
    """Return the entry coefficient [1] of a hood or pipe end on its own velocity pressure.

    angle_deg: included angle of a taper [deg], None is the default; other styles do not use it.
    Between angles straight lines, beyond them the nearest row.
    Raises InputError for an unknown style. Source: table `hood_entry`.

    >>> hood_entry("plain").value
    0.93
    """
    item = known_style("port", style)
    if len(fact_rows("hood_entry", item)) == 1:
        return fact("hood_entry", item)
    angle = fact("hood_entry", "default angle").value if angle_deg is None else angle_deg
    return _at_angle("hood_entry", item, angle)


@cache
def branch_entry(angle_deg: float) -> Fact:
    """Return what the velocity-pressure sheet charges a branch [1] on the branch's own velocity pressure.

    angle_deg: angle between branch and main [deg]. Straight lines between angles, to nothing at 0 degrees.
    Source: table `branch_entry`, item `sheet`.
    """
    return _at_angle("branch_entry", "sheet", angle_deg)


def _at_angle(table: str, item: str, angle_deg: float) -> Fact:
    rows = fact_rows(table, item)
    line = _entry_line(table, item)
    nearest = min(rows, key=lambda pair: abs(float(pair.row["angle_deg"]) - angle_deg)).fact
    note = nearest.note
    if outside(line, angle_deg):
        note = f"{angle_deg:g} degrees is outside the source's range: nearest row taken"
    elif angle_deg not in line.at:
        note, nearest = BETWEEN_ANGLES, _interpolated(nearest)
    return replace(nearest, **ordered(linear(line, angle_deg))._asdict(), note=note)


@cache
def _entry_line(table: str, item: str) -> BandLine:
    points = [(float(row["angle_deg"]), band_of(part)) for row, part in fact_rows(table, item)]
    return line_of([*points, (0.0, NOTHING)] if item == "sheet" else points)


def gate_part_open(opening: float) -> Fact:
    """Return the loss coefficient [1] of a gate on the velocity pressure in its own bore.

    opening: the slide's travel over the bore [1], above 0 and up to 1; 1 is exactly the open gate.
    Between rows the logarithm of the whole coefficient is linear in the opening: it never rises with opening.
    Raises ValueError outside that range.
    Source: Weisbach, round sluice, on top of the open gate; table `gate`.

    >>> round(gate_part_open(0.5).value, 9)
    2.21
    """
    if not 0.0 < opening <= 1.0:
        raise ValueError(f"opening must be above 0 and at most 1, not {opening}")
    if opening == 1.0:
        return fact("gate", "open")
    line = _whole_coefficients()
    smallest = line.at[0]
    band = log_linear(line, opening)
    note = "open value + part-open value, logarithm linear between rows"
    if opening < smallest:
        band, note = scaled(band, (smallest / opening) ** 2), EXTRAPOLATED
    return replace(fact_rows("gate", "part open")[0].fact, **band._asdict(), note=note)


def opening_of_gate(coefficient: float) -> float:
    """Return the opening [1] at which a gate has this coefficient [1]; the inverse of `gate_part_open`.

    A coefficient of the open gate or less is an open gate.

    >>> round(opening_of_gate(2.21), 9)
    0.5
    """
    line = _whole_coefficients()
    falling = [(log(band.value), opening) for opening, band in zip(line.at, line.bands, strict=True)][::-1]
    if coefficient > line.bands[0].value:
        return float(line.at[0] * (line.bands[0].value / coefficient) ** 0.5)
    if coefficient <= line.bands[-1].value:
        return 1.0
    points = [(at, Band(opening, opening, opening)) for at, opening in falling]
    return linear(line_of(points), log(coefficient)).value


@cache
def _whole_coefficients() -> BandLine:
    open_gate = band_of(fact("gate", "open"))
    points = [(1.0, open_gate)]
    for row, part in fact_rows("gate", "part open"):
        whole = Band(*(a + b for a, b in zip(open_gate, band_of(part), strict=True)))
        points.append((float(row["opening"]), whole))
    return line_of(points)
