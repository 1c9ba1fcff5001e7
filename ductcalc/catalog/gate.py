"""A gate that stands part open."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from ductcalc.catalog.between import Band, Line, band_of, line_of, log_linear, scaled
from ductcalc.catalog.fact import Fact, fact, fact_rows

EXTRAPOLATED = "below the source's smallest opening: grows as 1/opening squared, the gap being a crescent"


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


@cache
def _whole_coefficients() -> Line:
    open_gate = band_of(fact("gate", "open"))
    points = [(1.0, open_gate)]
    for row, part in fact_rows("gate", "part open"):
        whole = Band(*(a + b for a, b in zip(open_gate, band_of(part), strict=True)))
        points.append((float(row["opening"]), whole))
    return line_of(points)
