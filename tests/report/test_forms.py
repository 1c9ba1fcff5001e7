"""Text, JSON and CSV tell the same of any shop, in inches as in metric: the examples, the shops beside, some drawn."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest

from tests.report.answered import answered, text
from tests.scenes import CFM, INCH_WATER

DRAWN = [f"random {seed}" for seed in (1, 2, 3)]
OURS = [f"tests/report/shops/{name}" for name in ("annex", "cellar", "loft")]
EXAMPLES = [f"examples/{name}" for name in ("creamery", "joinery-class", "one-machine")]
QUICK = ("tree", "check", "check --full", "check --running", "losses", "gates", "gates --full", "card", "parts")
SLOW = [("improve", OURS[0]), ("improve --full", DRAWN[1]), ("size", OURS[2]), ("size", DRAWN[0])]
COMPARED = [("compare", DRAWN[2], DRAWN[2]), ("compare", OURS[1], OURS[2])]
EVERY = [
    *((command, shop) for shop in (*EXAMPLES, *OURS, *DRAWN) for command in QUICK),
    *SLOW,
    *COMPARED,
]
Typed = tuple[str, ...]
each = pytest.mark.parametrize("words", EVERY, ids=" ".join)

UNITS = {
    "cfm": ("_m3_s", CFM), "m3/h": ("_m3_s", 1 / 3600), "fpm": ("_m_s", 0.3048 / 60), "m/s": ("_m_s", 1.0),
    "inwg": ("_pa", INCH_WATER), "Pa": ("_pa", 1.0),
}  # fmt: skip
"""Units of flow, speed and pressure: the end of their keys in JSON, and what one of them is in SI."""

COLUMNS = {"_cfm": "cfm", "_m3_h": "m3/h", "_fpm": "fpm", "_m_s": "m/s", "_inwg": "inwg", "_pa": "Pa"}
FIGURE = re.compile(r"(?<![\d.,/-])<?(\d[\d,]*(?:\.\d+)?)[ \u00a0](cfm|m3/h|fpm|m/s|inwg|Pa)\b(?!/| per)")
CONVERSION = "249.0889"


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


def figures(said: str) -> Iterator[tuple[str, float, float, str]]:
    """Return every figure of flow, speed and pressure in a text: as shown, in SI, how far rounding goes, its key."""
    for shown in FIGURE.finditer(said):
        key, one = UNITS[shown[2]]
        digits = len(shown[1].partition(".")[2])
        step = 10.0**-digits if digits else {"cfm": 1.0, "m/s": 1.0}.get(shown[2], 10.0)
        if shown[1] != CONVERSION:
            yield shown[0].replace("\u00a0", " "), float(shown[1].replace(",", "")) * one, 0.51 * step * one, key


@each
def test_exit_code_and_verdict_are_those_of_the_text(words: Typed) -> None:
    found = document(words)
    assert found.get("exit_code", 0) == answered(*made(words)).returncode
    if "verdict" in found:
        assert text(*made(words)).replace("\u00a0", " ").startswith(found["verdict"].replace("\u00a0", " "))


@each
def test_every_figure_of_the_text_is_one_of_json(words: Typed) -> None:
    found = document(words)
    held = list(numbers(found))
    said = " ".join(strings(found)).replace("\u00a0", " ")
    for shown, value, least, key in figures(text(*made(words))):
        near = any(name.endswith(key) and abs(abs(number) - value) <= least for name, number in held)
        assert near or shown in said, shown


@each
def test_every_figure_of_csv_is_one_of_json(words: Typed) -> None:
    held = [(name, number) for name, number in numbers(document(words))]
    for row in csv.DictReader(StringIO(answered(*made(words)).csv), strict=True):
        for column, cell in row.items():
            ending = next((COLUMNS[end] for end in COLUMNS if column.endswith(end)), None)
            if ending and cell:
                key, one = UNITS[ending]
                value = float(cell) * one
                assert any(name.endswith(key) and number == pytest.approx(value, rel=1e-5, abs=1e-9) for name, number in held), (column, cell)
