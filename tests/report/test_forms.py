"""Text, JSON and CSV tell the same of any shop, in inches as in metric: the examples, the shops beside, some drawn."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from io import StringIO
from typing import Any

import numpy as np
import pytest

from ductcalc.report.blocks import Grid
from ductcalc.report.blocks import plain as words_in
from tests.report.answered import answered, text
from tests.scenes import CFM, INCH_WATER

DRAWN = [f"random {seed}" for seed in (1, 2, 3)]
OURS = [f"tests/report/shops/{name}" for name in ("annex", "cellar", "loft")]
EXAMPLES = [f"examples/{name}" for name in ("creamery", "joinery-class", "one-machine")]
QUICK = (
    "tree", "need", "need --full", "need --all-open --balance", "check", "check --full", "check --running", "losses",
    "gates", "gates --full", "card", "parts",
)  # fmt: skip
WHOLE = (EXAMPLES[0], OURS[0], DRAWN[0])
"""Of these every quick command is looked at, of the others the two that say most."""

EVERY = [
    *((command, shop) for shop in WHOLE for command in QUICK),
    *((command, shop) for shop in (*EXAMPLES, *OURS, *DRAWN) if shop not in WHOLE for command in ("check", "gates")),
    *(("losses", OURS[2]), ("parts", EXAMPLES[1]), ("card", OURS[1])),
    *(("improve", OURS[0]), ("improve --full", DRAWN[1]), ("size", OURS[2]), ("size", DRAWN[0])),
    *(("compare", DRAWN[2], DRAWN[2]), ("compare", OURS[1], OURS[2])),
]
Typed = tuple[str, ...]
each = pytest.mark.parametrize("words", EVERY, ids=" ".join)

UNITS = {
    "cfm": ("_m3_s", CFM), "m3/h": ("_m3_s", 1 / 3600), "fpm": ("_m_s", 0.3048 / 60), "m/s": ("_m_s", 1.0),
    "Pa": ("_pa", 1.0), **dict.fromkeys(("inwg", "in of water", "inches of water", "in. w.g."), ("_pa", INCH_WATER)),
}  # fmt: skip
"""Units of flow, speed and pressure: the end of their keys in JSON, and what one of them is in SI."""

COLUMNS = {
    **{f"_{unit.replace('/', '_').lower()}": UNITS[unit] for unit in ("cfm", "m3/h", "fpm", "m/s", "inwg", "Pa")},
    "_in": ("_m", 0.0254), "_ft": ("_m", 0.3048), "_mm": ("_m", 0.001), "_m": ("_m", 1.0),
}  # fmt: skip
"""Units of CSV's columns, lengths too: the end of their keys in JSON, and what one of them is in SI."""
FIGURE = re.compile(rf"(?<![\d.,/-])<?(\d[\d,]*(?:\.\d+)?)[ \u00a0]({'|'.join(map(re.escape, UNITS))})(?![\w/]| per)")
CONVERSION = "249.0889"
MARKS = re.compile(r"[\s.,:;()\"']+")
BESIDE_JSON = "joints: "
"""The lines of the losses that JSON lacks: what leaks in on the way."""

BESIDE_CSV = ("gates", "gates --full", "check --full", "check --running", "improve --full", "card")
"""Gate sets' CSV has every set solved, their JSON those that are told; a card has words alone; the others' CSV is that
of the bare command."""

WHERE = "comes_in"
"""A column of names, whose last letters are those of inches."""


def plain(said: str) -> str:
    return said.replace("\u00a0", " ")


def words_of(words: Typed) -> Typed:
    command, *rest = words
    first, *options = command.split()
    return (first, *rest, *options)


def made(words: Typed, units: str | None = None) -> Typed:
    return (*words_of(words), "--units", units) if units else words_of(words)


def document(words: Typed, units: str | None = None) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(answered(*made(words, units)).json)
    return found


def numbers(found: Any, key: str = "") -> Iterator[tuple[str, float]]:
    """Return every number of a document with its key."""
    if isinstance(found, dict):
        for name, value in found.items():
            yield from numbers(value, name)
    elif isinstance(found, list):
        for value in found:
            yield from numbers(value, key)
    elif isinstance(found, int | float) and not isinstance(found, bool):
        yield key, float(found)


def strings(found: Any) -> Iterator[str]:
    """Return every text of a document."""
    if isinstance(found, dict | list):
        for value in found.values() if isinstance(found, dict) else found:
            yield from strings(value)
    elif isinstance(found, str):
        yield found


def held(found: Any) -> dict[str, np.ndarray]:
    """Return the sizes of a document's flows, speeds, pressures and lengths in SI."""
    listed = list(numbers(found))
    ends = {end for end, _ in COLUMNS.values()}
    return {end: np.abs([number for name, number in listed if name.endswith(end)] or [np.inf]) for end in ends}


def figures(said: str) -> Iterator[tuple[str, str, float, float]]:
    """Return every figure of flow, speed and pressure in a text: as shown, the end of its key, in SI, its rounding."""
    for shown in FIGURE.finditer(said):
        end, one = UNITS[shown[2]]
        digits = len(shown[1].partition(".")[2])
        step = 10.0**-digits if digits else {"cfm": 1.0, "m/s": 1.0}.get(shown[2], 10.0)
        if shown[1] != CONVERSION:
            yield shown[0].replace("\u00a0", " "), end, float(shown[1].replace(",", "")) * one, 0.51 * step * one


@each
def test_exit_code_and_verdict_of_json_are_those_of_the_text(words: Typed) -> None:
    found = document(words)
    assert found.get("exit_code", 0) in (0, answered(*made(words)).returncode)
    if "verdict" in found:
        assert plain(text(*made(words))).startswith(plain(found["verdict"]))


@pytest.mark.parametrize("command", ["check", "check --full"])
@pytest.mark.parametrize("shop", [*EXAMPLES, *OURS, *DRAWN])
def test_words_of_the_verdict_are_the_grades_of_json(command: str, shop: str) -> None:
    cases = [case for case in document((command, shop))["cases"] if case["filter"] == "loaded"]
    machines = [machine for case in cases for machine in case["machines"] if machine["runs"]]
    grades = {
        "SHORT": any(machine["grade"] == "short" for machine in machines),
        "just short": any(machine["grade"] == "just short" for machine in machines),
        "CHIPS SETTLE": any(case["chips"] == "settles" for case in cases),
        "NO ANSWER": any(case["status"] != "solved" for case in cases),
    }
    grids = [block for block in answered(*made((command, shop))).blocks if isinstance(block, Grid)]
    cells = {part for grid in grids for row in grid.rows for cell in row for part in words_in(cell).split(", ")}
    assert cells & set(grades) == {word for word in grades if grades[word]}


@each
def test_every_figure_of_the_text_is_one_of_json(words: Typed) -> None:
    found = document(words)
    known, said = held(found), plain(" ".join(strings(found)))
    lines = [line for line in text(*made(words)).splitlines() if not line.startswith(BESIDE_JSON)]
    shown = [figure for line in lines for figure in figures(line)]
    assert [
        text for text, end, value, least in shown if text not in said and np.abs(known[end] - value).min() > least
    ] == []


@pytest.mark.parametrize("words", [words for words in EVERY if words[0] not in BESIDE_CSV], ids=" ".join)
def test_every_figure_of_csv_is_one_of_json(words: Typed) -> None:
    known = held(document(words))
    compared = 0
    for row in csv.DictReader(StringIO(answered(*made(words)).csv), strict=True):
        for column, cell in row.items():
            unit = next((unit for end, unit in COLUMNS.items() if column.endswith(end) and column != WHERE), None)
            for figure in cell.split(" x ") if unit and cell else ():
                end, one = unit
                value = abs(float(figure)) * one
                assert np.abs(known[end] - value).min() <= 1e-5 * value + 1e-9, (column, cell)
                compared += 1
    assert compared


@each
def test_inches_and_metres_tell_the_same(words: Typed) -> None:
    inch, metric = (document(words, units) for units in ("inch", "metric"))
    assert list(numbers(inch)) == list(numbers(metric))
    pairs = zip(*(figures(text(*made(words, units))) for units in ("inch", "metric")), strict=True)
    for (first, end, value, least), (second, other, same, room) in pairs:
        assert end == other and abs(value - same) <= least + room, (first, second)


@each
@pytest.mark.parametrize("width", [60, 80])
def test_names_are_whole_on_a_narrow_page(words: Typed, width: int) -> None:
    names = {machine["machine"] for case in document(("check", words[1]))["cases"] for machine in case["machines"]}
    wide, lines = plain(text(*made(words))), text(*made(words), width=width).splitlines()
    shown = [name for name in names if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", wide)]
    assert [name for name in shown if not stands(name, lines)] == []


def stands(name: str, lines: list[str]) -> bool:
    """Whether the words of a name come one after the other, each in the line of the one before or in the next."""
    rows = [set(MARKS.split(line)) for line in lines]
    reached = set(range(-1, len(lines)))
    for word in MARKS.split(name):
        reached = {row for row, shown in enumerate(rows) if word in shown and {row, row - 1} & reached}
    return bool(reached)
