"""Read the reference tables as they are written: text, no units, no judgement."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from ductcalc.errors import InputError, Problem
from ductcalc.units.wording import quoted

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

NOT_FACTS = frozenset({"sources", "words"})


@dataclass(frozen=True)
class Table:
    """A reference table as written: each row maps every column to its text."""

    name: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[Mapping[str, str], ...]


@dataclass(frozen=True)
class Source:
    """Where numbers come from; what is not known is blank and `note` says so."""

    key: str
    author: str
    title: str
    year: str
    kind: str
    note: str


@cache
def data_folder() -> Traversable:
    """Return the folder of the tables: inside the package, or beside it in a checkout."""
    from importlib.resources import files

    shipped = files("ductcalc") / "data"
    return shipped if shipped.is_dir() else Path(__file__).resolve().parents[2] / "data"


@cache
def table_names() -> tuple[str, ...]:
    """Return the names of the tables that hold numbers, in alphabetical order."""
    names = (entry.name for entry in data_folder().iterdir())
    found = {name.removesuffix(".csv") for name in names if name.endswith(".csv")}
    return tuple(sorted(found - NOT_FACTS))


@cache
def table(name: str) -> Table:
    """Return a table as written.

    Raises InputError when there is no such table; its hint names the nearest one.
    """
    file = data_folder() / f"{name}.csv"
    if not name.isidentifier() or not file.is_file():
        raise InputError([_no_such_table(name)])
    first, *lines = file.read_text(encoding="utf-8").splitlines()
    header, *cells = csv.reader(lines, strict=True)
    rows = tuple(MappingProxyType(dict(zip(header, row, strict=True))) for row in cells)
    return Table(name, first.partition(": ")[2], tuple(header), rows)


@cache
def sources() -> Mapping[str, Source]:
    """Return every source by its key."""
    return MappingProxyType({row["key"]: Source(**row) for row in table("sources").rows})


def cite(source_key: str) -> str:
    """Return a source in one line, `author, title, year`, without the parts that are not known.

    >>> cite("cfr-1910-94").partition(",")[0]
    'US Code of Federal Regulations'
    """
    source = sources()[source_key]
    return ", ".join(part for part in (source.author, source.title, source.year) if part)


def _no_such_table(name: str) -> Problem:
    from difflib import get_close_matches

    near = get_close_matches(name.casefold(), table_names(), n=1)
    hint = f"did you mean {near[0]}?" if near else f"the tables are {', '.join(table_names())}"
    return Problem(f"no reference table is named {quoted(name)}", hint, given=name)
