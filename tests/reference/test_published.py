"""Every published value is met within its stated tolerance, and the table is what it claims to be."""

from __future__ import annotations

import pytest

NEVER_A_PUBLISHED_SOURCE = ("from memory", "common practice", "own calculation", "computed", "key not seen")
DESCRIBED = ("author", "title", "year", "table_or_example", "source", "tolerance", "tolerance_reason", "unit")


def test_the_printed_answer_is_met(published_row, answer, allowed) -> None:  # type: ignore[no-untyped-def]
    printed = float(published_row["answer"])
    assert answer(published_row) == pytest.approx(printed, rel=0.0, abs=allowed(published_row))


def test_no_tolerance_is_wide_enough_to_hide_a_missing_factor(published_row, allowed) -> None:  # type: ignore[no-untyped-def]
    assert 0.0 < allowed(published_row) <= 0.2 * abs(float(published_row["answer"]))


def test_the_row_says_where_it_comes_from_and_why_its_tolerance(published_row) -> None:  # type: ignore[no-untyped-def]
    assert all(published_row[column].strip() for column in DESCRIBED)
    assert not any(words in published_row["source"] for words in NEVER_A_PUBLISHED_SOURCE)


def test_at_least_a_hundred_published_values_test_formulas(reference_rows) -> None:  # type: ignore[no-untyped-def]
    formulas = [row for row in reference_rows("published") if not row["function"].startswith("catalog.")]
    assert len(formulas) >= 100


def test_at_least_a_hundred_published_values_are_met_within_one_percent(reference_rows, allowed) -> None:  # type: ignore[no-untyped-def]
    tight = [row for row in reference_rows("published") if allowed(row) <= 0.01 * abs(float(row["answer"]))]
    assert len(tight) >= 100


def test_no_row_is_there_twice(reference_rows) -> None:  # type: ignore[no-untyped-def]
    rows = reference_rows("published") + reference_rows("memory_and_practice")
    names = [row["id"] for row in rows]
    questions = [(row["function"], row["inputs"], row["unit"]) for row in rows]
    assert len(set(names)) == len(names)
    assert len(set(questions)) == len(questions)
