"""A small sound shop in text, and a way to read what a change of it does."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from ductcalc.errors import InputError, Problem
from ductcalc.shop import Shop
from ductcalc.tables import read_shop

COLUMNS = (
    "run,piece,machine,style,size,length,angle,count,joins,flow,drop,inlet,material,k,radius,factor,roughness,"
    "opening,leak,rise,note"
)
COLLECTOR = """item,flow,pressure,power,exponent,collector
blower,0 cfm,11 inwg,,,
blower,600 cfm,10 inwg,2 hp,,
blower,1400 cfm,3 inwg,,,
cyclone,800 cfm,2 inwg,,,
filter clean,800 cfm,0.6 inwg,,1,
filter loaded,800 cfm,2.4 inwg,,,
"""


def _row(**cells: str) -> str:
    """Return one line of a duct table with all columns."""
    return ",".join(
        f'"{cells[c].replace(chr(34), chr(34) * 2)}"' if c in cells else "" for c in COLUMNS.split(",")
    )


def _duct(
    *, port: dict[str, str] | None = None, second: dict[str, str] | None = None, extra: str = ""
) -> str:
    """Return a duct table of one run: header 1, port 2, one free row 3, pipe 4, collector 5."""
    head = {"run": "main", "piece": "port", "machine": "saw", "size": "4 in", "flow": "400 cfm"}
    lines = [
        COLUMNS,
        _row(**(head | (port or {}))),
        _row(**(second or {"piece": "gate", "size": "4 in"})),
        _row(piece="pipe", size="4 in", length="10 ft"),
        _row(piece="collector", size="4 in"),
    ]
    return "\n".join(lines) + "\n" + extra


@pytest.fixture
def row() -> Callable[..., str]:
    """Return the maker of one line."""
    return _row


@pytest.fixture
def duct() -> Callable[..., str]:
    """Return the maker of a sound duct table with changed rows."""
    return _duct


@pytest.fixture
def collector_text() -> str:
    """Return a sound collector table."""
    return COLLECTOR


@pytest.fixture
def shop_of(tmp_path: Path) -> Callable[..., Shop]:
    """Return a function that writes files and reads them as a shop."""

    def read(duct_text: str | bytes, collector: str | None = None, settings: str | None = None) -> Shop:
        for name, text in (("duct.csv", duct_text), ("collector.csv", collector), ("shop.toml", settings)):
            if text is not None:
                (tmp_path / name).write_bytes(text.encode() if isinstance(text, str) else text)
        return read_shop(tmp_path)

    return read


@pytest.fixture
def problems_of(shop_of: Callable[..., Shop]) -> Callable[..., tuple[Problem, ...]]:
    """Return a function that reads files which are wrong, and returns the problems."""

    def read(*args: str | bytes | None, **kwargs: str | None) -> tuple[Problem, ...]:
        with pytest.raises(InputError) as caught:
            shop_of(*args, **kwargs)
        return caught.value.problems

    return read
