"""Read the reference tables as they are written: text, no units, no judgement."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from ductcalc.errors import InputError, Problem
from ductcalc.units.wording import quoted

NOT_FACTS = frozenset({"sources", "words", "metal_names"})
NOT_READ = frozenset({"from memory", "common practice, no source"})
"""Confidence of numbers for which nobody looked into the source."""


@dataclass(frozen=True)
class Table:
    """A reference table as written: each row maps every column to its text."""

    name: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[Mapping[str, str], ...]


class Source(NamedTuple):
    """Where numbers come from; what is not known is blank and `note` says so.

    seen: how it was read where that was not the source itself, as `read in an excerpt`.
    """

    key: str
    author: str
    title: str
    year: str
    kind: str
    seen: str
    note: str


@cache
def data_folder() -> Path:
    """Return the folder of the tables: inside the package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    shipped = package / "data"
    return shipped if shipped.is_dir() else package.parent / "data"


@cache
def table_names() -> tuple[str, ...]:
    """Return the names of the tables that hold numbers, in alphabetical order."""
    names = (entry.name for entry in data_folder().iterdir())
    found = {name.removesuffix(".csv") for name in names if name.endswith(".csv")}
    return tuple(sorted(found - NOT_FACTS))


def every_table() -> tuple[str, ...]:
    """Return the names of all tables: those that hold numbers, then sources and words."""
    return (*table_names(), *sorted(NOT_FACTS))


def rows_of_source(source_key: str) -> Mapping[str, int]:
    """Return how many rows of each table rest on a source, tables without one left out."""
    counted = {name: sum(row["source"] == source_key for row in table(name).rows) for name in table_names()}
    return {name: count for name, count in counted.items() if count}


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


def cite(source_key: str, table: str = "", confidence: str = "published") -> str:
    """Return where a number comes from in one line, and how it was seen: the only place where a source is worded.

    `author, title, year, table (mark)`, without the parts that are not known. table: place in the source.
    confidence: as in the tables; what was published but not read there says how it was seen.

    >>> cite("crane-410", "converging wyes", "from memory").rpartition(", ")[2]
    'converging wyes (from memory)'
    """
    source = sources()[source_key]
    said = ", ".join(part for part in (source.author, source.title, source.year, table) if part)
    seen = "" if confidence in NOT_READ else source.seen
    sure = "" if confidence == "published" or confidence in said else confidence
    marks = ", ".join(mark for mark in (seen, sure) if mark)
    return f"{said} ({marks})" if marks else said


def _no_such_table(name: str) -> Problem:
    from difflib import get_close_matches

    near = get_close_matches(name.casefold(), every_table())
    hint = f"did you mean {near[0]}?" if near else f"the tables are {', '.join(every_table())}"
    return Problem(f"no reference table is named {quoted(name)}", hint, given=name)
