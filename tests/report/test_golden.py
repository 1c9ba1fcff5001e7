"""Every report reads as its golden file says."""

from __future__ import annotations

import pytest

from tests.report.goldens import GOLDEN, NAMES, kept, report


@pytest.mark.parametrize("name", NAMES)
def test_report_is_the_golden_one(name: str) -> None:
    assert report(name) == kept(name).read_text(encoding="utf-8")


def test_every_golden_file_is_compared() -> None:
    assert {path.name for path in GOLDEN.iterdir()} == {kept(name).name for name in NAMES}
