"""Of 100 changes of the program 97 are noticed by the tests that mirror it; what lives is known as an equal."""

from __future__ import annotations

import os

import pytest

from tests.mutants.hunt import Fate, equals, hunted
from tests.mutants.seeds import ROOT, drawn, fixed, kept, sites

LONG = bool(os.environ.get("DUCTCALC_LONG"))


@pytest.mark.skipif(not LONG, reason="changes the program 150 times: DUCTCALC_LONG=1")
def test_the_mirror_tests_notice_nearly_every_change() -> None:
    fates: list[Fate] = list(hunted([*fixed(), *kept()]))
    told = [fate for fate in fates if fate.by != "known"]
    assert len(told) > 130
    assert sum(fate.by in ("mirror", "endless") for fate in told) >= 0.97 * len(told)
    assert not [fate.mutant.name for fate in told if fate.by == "nobody"]


def test_every_change_that_is_called_an_equal_can_still_be_made() -> None:
    modules = {one[0] for one in equals()}
    files = [file for file in (ROOT / "ductcalc").rglob("*.py") if file.stem in modules]
    assert equals() <= {(file.stem, m.function, m.old, m.new) for file in files for m in sites(file)}


def test_the_changes_that_are_kept_are_of_every_kind_and_can_still_be_made() -> None:
    assert len(kept()) == 150
    assert len({one.kind for one in kept()}) == 8


def test_the_same_seed_draws_the_same_changes_of_every_room_and_kind() -> None:
    first = drawn(150, 1)
    assert first == drawn(150, 1)
    assert len({one.kind for one in first}) == 8
    rooms = {path.name for path in (ROOT / "ductcalc").iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert {one.file.split("/")[1] for one in first} >= rooms


def test_what_once_went_unnoticed_can_still_be_done() -> None:
    assert len(fixed()) == len({(one.file, one.start) for one in fixed()}) >= 10
    assert all(one.old != one.new for one in fixed())
