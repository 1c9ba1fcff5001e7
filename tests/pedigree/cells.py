"""One cell of a reference table changed, and everything that is made of the tables computed again."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

from ductcalc.catalog import read

NUMBERS = ("value", "low", "high")


class Cell(NamedTuple):
    """Where a number stands: its table, its row (from 0) and its column."""

    table: str
    row: int
    column: str

    @property
    def item(self) -> str:
        """What the row is called."""
        return read.table(self.table).rows[self.row]["item"]

    def __str__(self) -> str:
        return f"{self.table} {self.item} (row {self.row + 3}) {self.column}"


def every_cell() -> Iterator[Cell]:
    """Yield each number of each table that a report may take; facts that only stand beside are left out."""
    for name in read.table_names():
        for number, row in enumerate(read.table(name).rows):
            if not row["note"].startswith("fact only"):
                for column in NUMBERS:
                    yield Cell(name, number, column)


def forget() -> None:
    """Empty every cache of the package, so that tables are read again."""
    for name, module in list(sys.modules.items()):
        if name.startswith("ductcalc"):
            for thing in list(vars(module).values()):
                if hasattr(thing, "cache_clear"):
                    thing.cache_clear()


@contextmanager
def changed(cell: Cell, number: Callable[[float], float]) -> Iterator[None]:
    """Change one cell for a while."""
    as_written = read.table

    def table(name: str) -> read.Table:
        found = as_written(name)
        if name != cell.table:
            return found
        rows = list(found.rows)
        text = repr(number(float(rows[cell.row][cell.column])))
        rows[cell.row] = MappingProxyType({**rows[cell.row], cell.column: text})
        return replace(found, rows=tuple(rows))

    users = [m for n, m in list(sys.modules.items()) if n.startswith("ductcalc") and vars(m).get("table") is as_written]
    forget()
    for module in users:
        vars(module)["table"] = table
    try:
        yield
    finally:
        for module in users:
            vars(module)["table"] = as_written
        forget()
