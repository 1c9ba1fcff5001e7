"""What a stretch of duct is called."""

from __future__ import annotations

import pytest

from ductcalc.shop.standing import title_between


@pytest.mark.parametrize(
    ("run", "start", "title"),
    [("main", "Saw", "main, Saw to planer"), ("saw hose", "Saw", "saw hose to planer"), ("saw hose", "", "saw hose")],
)
def test_a_run_that_bears_its_machines_name_says_it_once(run: str, start: str, title: str) -> None:
    assert title_between(run, start, "planer") == title
