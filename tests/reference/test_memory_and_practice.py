"""Values recalled or of common practice: met too, but kept apart and never counted as published."""

from __future__ import annotations

import pytest

MARKS = ("from memory", "common practice, no source", "key not seen", "its source was not kept")


def test_the_recalled_value_is_met(memory_row, answer, allowed) -> None:  # type: ignore[no-untyped-def]
    recalled = float(memory_row["answer"])
    assert answer(memory_row) == pytest.approx(recalled, rel=0.0, abs=allowed(memory_row))


def test_the_row_says_that_it_is_no_published_value(memory_row) -> None:  # type: ignore[no-untyped-def]
    assert any(mark in memory_row["source"] for mark in MARKS)
