"""A table is a tuple of columns: pandas, JSON, CSV and the text grid are made from it.

Here are the forms in SI, with the unit at the end of every name; `report/columns.py` has those in a reader's units.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, Generic, NamedTuple, TypeVar, cast

from ductcalc.units.display import Shown

if TYPE_CHECKING:
    import pandas
    import pint

Row = TypeVar("Row")
Part = TypeVar("Part")

SI_ENDINGS: dict[Shown, str] = {
    "flow": "_m3_s",
    "speed": "_m_s",
    "density": "_kg_m3",
    "viscosity": "_pa_s",
    "pressure": "_pa",
    "area": "_m2",
    "length": "_m",
    "size": "_m",
    "temperature": "_k",
    "power": "_w",
    "angle": "_deg",
    "share": "",
}
"""What follows the name of a quantity in SI; a share is a plain ratio."""


class Column(NamedTuple, Generic[Row]):
    """A column of a table whose rows are all of one kind.

    key: its name without the unit, `csv` the one in CSV where that is another; empty when only text has it. get: its
    value in SI, words ready to print, or None for an empty cell. dimension: what the number measures. heading: its
    title in text, in one or two lines, the unit left out; None when text lacks it. right: aligned right, as numbers
    with a dimension are anyway. drop: on a narrow page columns leave in this order (None: never).
    """

    key: str
    get: Callable[[Row], Any]
    dimension: Shown | None = None
    heading: str | None = None
    drop: int | None = None
    right: bool = False
    csv: str = ""

    @property
    def si_name(self) -> str:
        """Its name where values are in SI."""
        return self.key + ("" if self.dimension is None else SI_ENDINGS[self.dimension])


Columns = tuple[Column[Row], ...]


def record(columns: Columns[Row], row: Row) -> dict[str, Any]:
    """Return one row in SI, name to value."""
    return {column.si_name: column.get(row) for column in columns if column.key}


def records(columns: Columns[Row], rows: Iterable[Row]) -> list[dict[str, Any]]:
    """Return rows in SI, name to value."""
    return [record(columns, row) for row in rows]


def frame(columns: Columns[Row], rows: Iterable[Row]) -> pandas.DataFrame:
    """Return rows in SI as a pandas table."""
    import pandas

    named = [column for column in columns if column.key]
    values = [[column.get(row) for column in named] for row in rows]
    return pandas.DataFrame(values, columns=[column.si_name for column in named])


def within(kind: type[Row], part_of: Callable[[Row], Part | None], columns: Columns[Part]) -> Columns[Row]:
    """Return the columns of a part of rows of a kind; all are empty where a row lacks it."""

    def inside(column: Column[Part]) -> Column[Row]:
        get = column.get
        return Column(column.key, lambda row: None if (part := part_of(row)) is None else get(part), *column[2:])

    return tuple(inside(column) for column in columns)


def quantity(answer: object, field: str) -> pint.Quantity[Any]:
    """Return a field of an answer, such as `flow_m3_s`, as a pint quantity.

    Raises AttributeError for a field that is not there, ValueError for one without a unit or a value.
    """
    from ductcalc import units

    value = getattr(answer, field)
    dimension = next((d for d, ending in SI_ENDINGS.items() if ending and field.endswith(ending)), None)
    if dimension is None or value is None:
        raise ValueError(f"{field} has no unit or no value")
    found: pint.Quantity[Any] = units.quantity(float(value), cast(units.Dimension, dimension))
    return found
