"""Every published value is met within its stated tolerance, and the table is what it claims to be.

A row counts where the program itself calls what the row asks, and where its number is no row of the shipped tables.
Printed figures of whole systems, in `tests/published_shops/`, count as well.
"""

from __future__ import annotations

import ast
import csv
import json
from pathlib import Path

import pytest

import ductcalc
from ductcalc import catalog
from ductcalc.catalog.fittings import INTERPOLATED
from tests.reference.conftest import STEPS, si

NEVER_A_PUBLISHED_SOURCE = ("from memory", "common practice", "own calculation", "computed", "key not seen")
DESCRIBED = ("author", "title", "year", "table_or_example", "source", "tolerance", "tolerance_reason", "unit")
PRINTED_DIGIT = {"half of the last printed digit", "value of a table", "value of a regulation"}
PACKAGE = Path(ductcalc.__file__).parent
SHOPS = Path(__file__).parents[1] / "published_shops"


def half_digit(printed: str) -> float:
    """Return half of the last digit of a number as printed; of a whole number half of one."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def names_in(node: ast.AST) -> set[str]:
    return {each.id for each in ast.walk(node) if isinstance(each, ast.Name)} | {
        each.attr for each in ast.walk(node) if isinstance(each, ast.Attribute)
    }


@pytest.fixture(scope="module")
def called() -> set[str]:
    """Give the names of all functions that answers come to, from the rooms around physics inwards."""
    inner: dict[str, set[str]] = {}
    used: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        module = ast.parse(path.read_text("utf-8"))
        for part in module.body:
            if path.parent.name == "physics" and isinstance(part, ast.FunctionDef):
                inner[part.name] = names_in(part) - {part.name}
            elif not isinstance(part, ast.Import | ast.ImportFrom):
                used |= names_in(part)
    reached: set[str] = set()
    while new := (used & inner.keys()) - reached:
        reached |= new
        used = used.union(*(inner[name] for name in new))
    return used


def test_the_printed_answer_is_met(published_row, answer, allowed) -> None:  # type: ignore[no-untyped-def]
    printed = float(published_row["answer"])
    assert answer(published_row) == pytest.approx(printed, rel=0.0, abs=allowed(published_row))


def test_the_program_calls_what_the_row_asks(published_row, called) -> None:  # type: ignore[no-untyped-def]
    room, _dot, word = published_row["function"].partition(".")
    asked = {word} if room != "step" else set(STEPS[word].__code__.co_names) & called
    assert asked and asked <= called


def test_every_function_of_physics_is_called(called) -> None:  # type: ignore[no-untyped-def]
    written = {
        part.name
        for path in (PACKAGE / "physics").glob("*.py")
        for part in ast.parse(path.read_text("utf-8")).body
        if isinstance(part, ast.FunctionDef)
    }
    assert len(written) > 40
    assert written - called == set()


def test_a_tolerance_wider_than_the_printed_digits_says_why(published_row, allowed) -> None:  # type: ignore[no-untyped-def]
    if allowed(published_row) > 1.25 * half_digit(published_row["answer"]):
        assert published_row["tolerance_reason"] not in PRINTED_DIGIT


def test_no_tolerance_is_wide_enough_to_hide_a_missing_factor(published_row, allowed) -> None:  # type: ignore[no-untyped-def]
    assert 0.0 < allowed(published_row) <= 0.11 * abs(float(published_row["answer"]))


def test_the_row_says_where_it_comes_from_and_why_its_tolerance(published_row) -> None:  # type: ignore[no-untyped-def]
    assert all(published_row[column].strip() for column in DESCRIBED)
    assert not any(words in published_row["source"] for words in NEVER_A_PUBLISHED_SOURCE)


def printed_figures() -> list[dict[str, str]]:
    """Return the rows of published systems whose figure was read in the source, and not typed into their tables."""
    found = []
    for table in SHOPS.glob("*/expected.csv"):
        with table.open(encoding="utf-8", newline="") as file:
            found += [row for row in csv.DictReader(file) if row["seen"] == "printed"]
    return found


def test_many_published_values_of_thirty_titles_count(reference_rows) -> None:  # type: ignore[no-untyped-def]
    rows = reference_rows("published")
    assert len(rows) + len(printed_figures()) >= 250
    assert len({row["title"] for row in rows}) >= 30


def test_most_published_values_are_met_within_one_percent(reference_rows, allowed) -> None:  # type: ignore[no-untyped-def]
    rows = reference_rows("published")
    tight = [row for row in rows if allowed(row) <= 0.01 * abs(float(row["answer"]))]
    assert len(tight) >= 100


def test_a_counted_elbow_is_read_between_printed_values(published_row) -> None:  # type: ignore[no-untyped-def]
    room, _dot, word = published_row["function"].partition(".")
    if room == "catalog":
        found = getattr(catalog, word)(**{key: si(value) for key, value in json.loads(published_row["inputs"]).items()})
        assert found.confidence == INTERPOLATED


def test_no_row_is_there_twice(reference_rows) -> None:  # type: ignore[no-untyped-def]
    rows = reference_rows("published") + reference_rows("not_counted")
    names = [row["id"] for row in rows]
    questions = [(row["function"], row["inputs"], row["unit"]) for row in rows]
    assert len(set(names)) == len(names)
    assert len(set(questions)) == len(questions)
