"""Where air enters: hoods and pipe ends, and branches that join a main."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from ductcalc.catalog.between import NOTHING, Line, band_of, line_of, linear, ordered, outside
from ductcalc.catalog.fact import Fact, fact, fact_rows
from ductcalc.catalog.words import known_style


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
    line = _angle_line(table, item)
    nearest = min(rows, key=lambda pair: abs(float(pair.row["angle_deg"]) - angle_deg)).fact
    note = nearest.note
    if outside(line, angle_deg):
        note = f"{angle_deg:g} degrees is outside the source's range: nearest row taken"
    elif angle_deg not in line.at:
        note = "between the source's angles"
    return replace(nearest, **ordered(linear(line, angle_deg))._asdict(), note=note)


@cache
def _angle_line(table: str, item: str) -> Line:
    points = [(float(row["angle_deg"]), band_of(part)) for row, part in fact_rows(table, item)]
    return line_of([*points, (0.0, NOTHING)] if item == "sheet" else points)
