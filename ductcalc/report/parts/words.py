"""Parts, lengths to cut and rows in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import floor
from typing import NamedTuple

from ductcalc.answers.parts.parts import Item, Lot
from ductcalc.answers.parts.uses import PartSource
from ductcalc.report.blocks import glued
from ductcalc.report.display import Display
from ductcalc.shop.kinds import TAPER_ANGLE_DEG, PartKind
from ductcalc.shop.parts import PartName
from ductcalc.units.display import to_display

NAMES: dict[PartKind, str] = {
    "flex": "hose",
    "cap": "end cap",
    "clamp": "hose clamp",
    "hanger": "pipe hanger",
    "sealant": "tube of sealant",
    "port": "machine's own port",
}
SLACK = 1e-6


def part_label(name: PartName) -> str:
    """Return what a part is, without its size."""
    kind = NAMES.get(name.kind, name.kind)
    if name.kind == "pipe":
        return f"{name.style} pipe" if name.style else "pipe"
    if name.kind == "coupling":
        return f"{kind}, {name.style}" if name.style == "hose" else f"{kind}, {name.style} pipe"
    parts = [kind, *(glued(f"{angle:g} deg") for angle in _angles_told(name))]
    label = " ".join([parts[0], " + ".join(parts[1:])]).strip()
    if name.kind == "wye" and len(name.sizes_m) == len(name.angles_deg) + 1:
        label += ", no straight inlet"
    if name.style:
        label += f", {name.style}"
    if name.make:
        label += f", {name.make}"
    if name.radius is not None:
        label += f", R/D {name.radius:g}"
    return label


def _angles_told(name: PartName) -> tuple[float, ...]:
    """Return the angles worth telling: not the usual taper, one for branches that are alike."""
    if name.kind == "reducer" and name.angles_deg == (TAPER_ANGLE_DEG,):
        return ()
    return name.angles_deg


def part_size(name: PartName, display: Display) -> str:
    """Return the sizes of a part: of a wye outlet, straight inlet and branches."""
    if not name.sizes_m:
        return ""
    between = " to " if name.tapers else " x "
    sizes = name.sizes_m[:1] if name.tapers and len(set(name.sizes_m)) == 1 else name.sizes_m
    return glued(between.join(display.size_number(size) for size in sizes) + f" {display.unit('size')}")


def mark(item: Item) -> str:
    """Return what was assumed about an item, in brackets."""
    if not item.assumed:
        return ""
    if item.name.tapers:
        return " (implied)"
    if item.name.kind in ("pipe", "elbow"):
        return " (build assumed)"
    return " (angle assumed)" if item.name.kind == "wye" else ""


def cut_length(length_m: float, display: Display, down: bool = False) -> str:
    """Show a length as it is marked on a pipe: feet, inches and sixteenths, or metres and millimetres.

    down: never more than there is, as for what is left.
    """
    if display.system == "metric":
        return _metric(_rounded(length_m * 1000.0, down))
    inches = to_display(length_m, "size", "inch")[0]
    sixteenths = _rounded(inches * 16.0, down)
    feet, rest = divmod(sixteenths, 12 * 16)
    whole, part = divmod(rest, 16)
    fraction = Fraction(part, 16)
    said = [str(whole)] if whole or not (feet or part) else []
    said += [f"{fraction.numerator}/{fraction.denominator}"] if part else []
    parts = ([f"{feet} ft"] if feet else []) + ([f"{' '.join(said)} in"] if said else [])
    return glued(" ".join(parts) or "0 in")


def _rounded(number: float, down: bool) -> int:
    return floor(number + SLACK) if down else round(number)


def _metric(millimetres: int) -> str:
    return glued(f"{millimetres} mm" if millimetres < 1000 else f"{millimetres / 1000.0:g} m")


def money(amount: float) -> str:
    """Show a price or a sum, two digits behind the point."""
    return f"{amount:.2f}"


def rows_words(sources: Sequence[PartSource], counted: bool) -> str:
    """Return the rows that something comes from: `5, 8-10, 12 x 2`; `counted` tells how many come from a row."""
    counts: dict[int, int] = {}
    for source in sources:
        if source.place is not None and source.place.row is not None:
            counts[source.place.row] = counts.get(source.place.row, 0) + source.count
    rows = [(row, count if counted else 1) for row, count in sorted(counts.items()) if count or not counted]
    return ", ".join(_spans(rows))


def _spans(rows: Iterable[tuple[int, int]]) -> list[str]:
    """Return rows as single ones and spans of neighbours that give as many each."""
    spans: list[list[int]] = []
    for row, count in rows:
        if spans and spans[-1][1] == row - 1 and spans[-1][2] == count:
            spans[-1][1] = row
        else:
            spans.append([row, row, count])
    words = []
    for first, last, count in spans:
        span = str(first) if first == last else f"{first}-{last}" if last - first > 1 else f"{first}, {last}"
        words.append(span if count == 1 else glued(f"{span} x {count}"))
    return words


class LotLine(NamedTuple):
    """One length of an item that is to be bought (None: nothing is); first: the line that tells what the item needs."""

    item: Item
    lot: Lot | None
    first: bool


def lot_lines(items: Iterable[Item]) -> Iterator[LotLine]:
    """Yield a line for each item, and one more for each further length of it."""
    for item in items:
        for number, lot in enumerate(item.lots or (None,)):
            yield LotLine(item, lot, number == 0)
