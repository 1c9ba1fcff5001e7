"""Published and constructed sheets typed as tables: each figure of `expected.csv`, through the command line.

`figure` is a way through the command's JSON: keys, places in brackets, or the first item whose key has a value.
`seen` says whether the value was read in the source (printed), typed into the tables (given), or is a sum of its
printed items; a note tells why they differ.
`misprint` is what the source adds up wrongly there: it must not come out.
"""

from __future__ import annotations

import csv
import json
import re
import shlex
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.typed import typed

HERE = Path(__file__).parent
UNITS = {"": 1.0, "1": 1.0, "Pa": 1.0, "daPa": 10.0, "in of water": 249.0889, "cfm": 0.3048**3 / 60.0, "m3/h": 1 / 3600}
STEP = re.compile(r"([^.\[\]]+)|\[(\d+)\]|\[([^=\]]+)=([^\]]+)\]")


def rows() -> list[Any]:
    found = []
    for table in sorted(HERE.glob("*/expected.csv")):
        with table.open(encoding="utf-8", newline="") as file:
            for number, row in enumerate(csv.DictReader(file), start=2):
                found.append(pytest.param(table.parent.name, row, id=f"{table.parent.name} {number}"))
    return found


@cache
def document(shop: str, command: str) -> dict[str, Any]:
    name, *words = shlex.split(command)
    said = typed(name, HERE / shop, *words, "--format", "json")
    assert said.returncode in (0, 1), said.stderr
    found: dict[str, Any] = json.loads(said.stdout)
    return found


def figure(found: Any, way: str) -> Any:
    for key, place, field, value in STEP.findall(way):
        if key:
            found = found[key]
        elif place:
            found = found[int(place)]
        else:
            found = next(item for item in found if item[field] == value)
    return found


@pytest.mark.parametrize(("shop", "row"), rows())
def test_a_sheets_figure_comes_out_of_the_command(shop: str, row: dict[str, str]) -> None:
    found = figure(document(shop, row["command"]), row["figure"])
    if not row["tolerance"]:
        assert found == row["value"]
        return
    value = float(row["value"])
    share = row["tolerance"].endswith("%")
    tolerance = float(row["tolerance"].rstrip("% ")) * (abs(value) / 100.0 if share else 1.0)
    assert found / UNITS[row["unit"]] == pytest.approx(value, abs=tolerance)
    if row["misprint"]:
        assert abs(found / UNITS[row["unit"]] - float(row["misprint"])) > 4.0 * tolerance


@pytest.mark.parametrize(("shop", "row"), rows())
def test_every_figure_says_where_it_comes_from(shop: str, row: dict[str, str]) -> None:
    assert row["source"] and row["place"] and row["seen"] in ("printed", "given", "own sum", "from memory")
    assert row["seen"] == "printed" or row["note"] or row["place"]


def test_a_way_through_a_document_finds_its_figure() -> None:
    found = {"cases": [{"paths": [{"machine": "A", "need_pa": 1.0}, {"machine": "B c", "need_pa": 2.0}]}]}
    assert figure(found, "cases[0].paths[machine=B c].need_pa") == 2.0
