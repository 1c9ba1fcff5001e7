"""Measure reading by hand: `python -m tests.bench.reading` in the project's folder, some seconds.

A duct table of 20,000 rows against one of 2,000 (ten times the work where it is linear) and against the bare csv
module; the slowest reference table and the facts of the longest item. Not a test.
"""

from __future__ import annotations

import csv
import tempfile
from pathlib import Path

from ductcalc.catalog.fact import fact_rows
from ductcalc.catalog.read import table, table_names
from ductcalc.tables import read_shop
from tests.bench.timing import medians


def table_of(drops: int) -> str:
    """Return a duct table of a main with so many drops, ten rows each."""
    lines = ["run,piece,machine,size,length,joins,flow", "main,cap,,4 in,,,"]
    for number in range(drops):
        lines += [f",wye,,6 in,,drop {number},", f",pipe,,6 in,{number % 40 + 1} ft 6 in,,"]
    lines.append(",collector,,6 in,,,")
    for number in range(drops):
        lines.append(f"drop {number},port,machine {number},4 in,,,{300 + number % 90} cfm")
        lines += [",flex,,4 in,5 ft,,", ",gate,,4 in,,,"] + [",pipe,,4 in,9 ft,,"] * 5
    return "\n".join(lines)


def ducts(folder: Path) -> None:
    """Print how reading grows with the rows, and what it takes beside the csv module."""
    paths = {drops: folder / f"{drops}.csv" for drops in (200, 2000)}
    for drops, path in paths.items():
        path.write_text(table_of(drops), encoding="utf-8")
    found = medians(
        {
            "few": lambda: read_shop(paths[200]),
            "many": lambda: read_shop(paths[2000]),
            "csv": lambda: list(csv.reader(paths[2000].read_text(encoding="utf-8").splitlines())),
        },
        5,
    )
    print(f"20,000 rows: {found['many'] * 1e3:.0f} ms, {found['many'] / found['few']:.1f} times that of 2,000 rows")
    print(f"20,000 rows, ours / csv module alone: {found['many'] / found['csv']:.0f}")


def catalog() -> None:
    """Print the slowest reference table and the facts of the longest item, each read afresh."""
    things = {name: (lambda name=name: table.__wrapped__(name)) for name in (*table_names(), "sources", "words")}
    found = medians(things, 11)
    slowest = max(found, key=found.__getitem__)
    print(f"reference tables: the slowest, {slowest}, {found[slowest] * 1e3:.2f} ms")
    facts = medians({"facts": lambda: fact_rows.__wrapped__("branch_entry", "type II run term")}, 11)
    print(f"facts of the longest item: {facts['facts'] * 1e3:.2f} ms")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as home:
        ducts(Path(home))
    catalog()
