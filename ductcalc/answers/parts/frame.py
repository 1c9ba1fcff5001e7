"""The parts as pandas tables in SI units."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas

    from ductcalc.answers.parts.parts import Item, Parts

ITEMS = (
    "part",
    "style",
    "sizes_m",
    "angles_deg",
    "needed",
    "needed_m",
    "have",
    "buy",
    "sold_length_m",
    "price",
    "cost",
    "assumed",
)
ROWS = ("part", "style", "sizes_m", "angles_deg", "run", "row", "count", "length_m")
CUTS = ("part", "style", "sizes_m", "stick", "stick_length_m", "bought", "run", "row", "length_m", "left_m")


def parts_frame(parts: Parts, table: str) -> pandas.DataFrame:
    """Return one of the tables `items` (a row per lot to buy), `rows`, `cuts` (a row per piece cut).

    Raises ValueError for another name.
    """
    if table not in _TABLES:
        raise ValueError(f"{table!r} is not one of {', '.join(_TABLES)}")
    columns, rows_of = _TABLES[table]
    import pandas

    return pandas.DataFrame(list(rows_of(parts)), columns=list(columns))


def _named(item: Item) -> list[Any]:
    return [item.name.kind, item.name.style, item.name.sizes_m, item.name.angles_deg]


def _items(parts: Parts) -> Iterator[list[Any]]:
    for item in parts.items:
        needs: list[Any] = [item.needed, item.needed_m, item.have]
        for lot in item.lots:
            yield [*_named(item), *needs, lot.count, lot.length_m, lot.price, lot.cost, item.assumed]
            # a second lot of the same item needs nothing more
            needs = [0, 0.0, 0]
        if not item.lots:
            yield [*_named(item), *needs, 0, None, None, None, item.assumed]


def _rows(parts: Parts) -> Iterator[list[Any]]:
    for item in parts.items:
        for source in item.sources:
            row = source.place.row if source.place else None
            yield [*_named(item), source.run, row, source.count, source.length_m]


def _cuts(parts: Parts) -> Iterator[list[Any]]:
    for plan in parts.plans:
        named = [plan.name.kind, plan.name.style, plan.name.sizes_m]
        for number, stick in enumerate(plan.sticks, start=1):
            for cut in stick.cuts:
                row = cut.place.row if cut.place else None
                tail = [cut.run, row, cut.length_m, stick.left_m]
                yield [*named, number, stick.length_m, stick.bought, *tail]


_TABLES: dict[str, tuple[tuple[str, ...], Callable[[Parts], Iterator[list[Any]]]]] = {
    "items": (ITEMS, _items),
    "rows": (ROWS, _rows),
    "cuts": (CUTS, _cuts),
}
