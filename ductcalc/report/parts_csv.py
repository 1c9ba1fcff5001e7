"""The shopping list as CSV: a line for each item and length sold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.parts.parts import Item, Parts
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.parts_words import NAMES, rows_words


def parts_csv(parts: Parts, display: Display) -> str:
    """Return a line for each item; an item sold in two lengths has two, what it needs on the first.

    `needed` and `needed_length` add up over the rows of the duct table that `rows` names.
    """
    size, length = ending("size", display), ending("length", display)
    columns = (
        "part",
        "style",
        f"size_{size}",
        "angle_deg",
        "radius_over_diameter",
        "needed",
        f"needed_length_{length}",
        "have",
        "buy",
        f"sold_length_{length}",
        "price",
        "cost",
        "assumed",
        "rows",
    )
    return csv_text(columns, (row for item in parts.items for row in _lines(item, display)))


def _lines(item: Item, display: Display) -> Iterator[list[Any]]:
    name = item.name
    label = [
        NAMES.get(name.kind, name.kind),
        name.style,
        " x ".join(display.size_number(size) for size in name.sizes_m),
        " + ".join(f"{angle:g}" for angle in name.angles_deg),
        name.radius,
    ]
    needs: list[Any] = [item.needed, shown(item.needed_m, "length", display), item.have]
    rows = rows_words(item.sources, item.needed_m is None).replace("\u00a0", " ")
    if not item.lots:
        yield [*label, *needs, 0, None, None, None, item.assumed, rows]
    for lot in item.lots:
        sold = shown(lot.length_m, "length", display)
        yield [*label, *needs, lot.count, sold, lot.price, lot.cost, item.assumed, rows]
        needs, rows = [None, None, None], ""
