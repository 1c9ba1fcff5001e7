"""Invented shops in a few words: each helper is one row of a table, as a person would write it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import ductcalc
from ductcalc.shop import Shop

SHOPS = Path(__file__).parent / "report" / "shops"
EXAMPLES = Path(__file__).parents[1] / "examples"

Row = dict[str, object]
Rows = list[Row]

STRONG = (
    ("0 cfm", "14 inwg"),
    ("400 cfm", "13.5 inwg"),
    ("800 cfm", "12 inwg"),
    ("1200 cfm", "8 inwg"),
    ("1500 cfm", "2 inwg"),
)
CFM = 0.3048**3 / 60.0
INCH_WATER = 249.0889


def piece(kind: str, size: str | None = None, **cells: object) -> Row:
    row: Row = {"piece": kind, "size": size, **cells}
    return {key: str(value) for key, value in row.items() if value is not None}


def port(machine: str, size: str | None = None, flow: str | None = "400 cfm", **cells: object) -> Row:
    return piece("port", size, machine=machine, flow=flow, **cells)


def pipe(length: str, size: str | None = None, **cells: object) -> Row:
    return piece("pipe", size, length=length, **{"style": "spiral", **cells})


def hose(length: str, count: int | None = 0, size: str | None = None, **cells: object) -> Row:
    return piece("flex", size, length=length, count=count, **cells)


def gate(size: str | None = None, **cells: object) -> Row:
    return piece("gate", size, **cells)


def elbow(size: str | None = None, **cells: object) -> Row:
    return piece("elbow", size, **{"style": "5-gore", **cells})


def reducer(size: str, **cells: object) -> Row:
    return piece("reducer", size, **cells)


def wye(joins: str, size: str | None = None, **cells: object) -> Row:
    return piece("wye", size, joins=joins, **cells)


def other(k: object, size: str | None = None, **cells: object) -> Row:
    return piece("other", size, k=k, **cells)


def end(size: str | None = None, **cells: object) -> Row:
    return piece("collector", size, **cells)


def cap(size: str) -> Row:
    return piece("cap", size)


def run(name: str, *rows: Row) -> Rows:
    return [{"run": name, **row} for row in rows]


def points(*pairs: tuple[str, str], item: str = "blower") -> Rows:
    return [{"item": item, "flow": flow, "pressure": pressure} for flow, pressure in pairs]


def rated(item: str, flow: str, pressure: str, **cells: object) -> Row:
    return {"item": item, "flow": flow, "pressure": pressure, **cells}


def none(item: str) -> Row:
    return {"item": item, "pressure": "none"}


NO_PARTS = [none("cyclone"), none("filter clean"), none("filter loaded")]
BARE = [*points(*STRONG), *NO_PARTS]
TIGHT: dict[str, Any] = {"method": {"joint_leakage": "none"}, "gates": {"leak": "0 %"}}


def shop(*runs: Rows, table: Sequence[Mapping[str, object]] = BARE, **settings: Any) -> Shop:
    """Build a shop of runs and the rows of its collector table; settings by section."""
    return ductcalc.shop_from_rows([row for rows in runs for row in rows], table, settings)


def tight(*runs: Rows, table: Sequence[Mapping[str, object]] = BARE, **settings: Any) -> Shop:
    """Build a shop without any leakage, whose sums a hand can follow."""
    return shop(*runs, table=table, **{**TIGHT, **settings})


def two_machines(**settings: Any) -> Shop:
    """Build two gated machines of unlike lengths on one main."""
    return shop(
        run(
            "trunk",
            port("band saw", "4 in", flow="400 cfm", k=1.5),
            hose("3 ft"),
            gate(),
            pipe("20 ft"),
            wye("drop", "6 in", angle="45"),
            pipe("15 ft"),
            end(),
        ),
        run("drop", port("planer", "5 in", flow="500 cfm", k=2.0), gate(), pipe("6 ft")),
        **settings,
    )
