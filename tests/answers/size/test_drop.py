"""One run at every size sold, all else as written."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc.cases.choices import Ask
from ductcalc.errors import InputError
from ductcalc.report.display import Display
from ductcalc.report.size.words import drop_verdict
from ductcalc.shop.change import changed, sections_sized
from ductcalc.shop.hanging import spelled_out
from tests.answers.size.test_sizing import INCH, lone, pair

HUNGRY_SAW = {"open": ["saw", "sander"], "flow": {"saw": "700 cfm"}}


def test_each_size_is_what_a_check_says_of_it() -> None:
    answer = ductcalc.size_drop(pair(), "drop")
    assert answer.machines == ("sander",) and answer.sets == ("sander",)
    for one in answer.sizes:
        checked = ductcalc.check(
            changed(spelled_out(pair()), [sections_sized({("drop", 1): one.size_m})]), [Ask.machines("sander")]
        ).loaded[0]
        assert one.all_fine == checked.well and one.word == checked.word


def test_the_smallest_size_that_is_fine_and_not_under_its_port_is_best() -> None:
    answer = ductcalc.size_drop(pair(), "drop")
    fine = [one.size_m for one in answer.sizes if one.all_fine and one.size_m > 3.9 * INCH]
    assert answer.best is not None and answer.best.size_m == min(fine)
    assert [one.under_port for one in answer.sizes] == [one.size_m < 3.9 * INCH for one in answer.sizes]


def test_the_poorest_port_is_the_one_that_gives_the_grade_also_off_the_run() -> None:
    answer = ductcalc.size_drop(pair(gates={"sets": {"both": HUNGRY_SAW}}), "drop")
    for one in answer.sizes:
        assert one.poorest is not None and one.slowest is not None
        assert (one.poorest[0].name, one.poorest[1].machine) == ("both", "saw")
        assert one.air == ("just short" if one.poorest[1].share >= 0.9 else "short")
    assert "saw" in drop_verdict(answer, Display("inch"))


def test_nothing_comes_nearest_when_no_size_has_an_answer() -> None:
    answer = ductcalc.size_drop(lone(early=True), "line")
    assert answer.best is None and answer.nearest is None


def test_frame_has_a_row_for_each_size() -> None:
    answer = ductcalc.size_drop(pair(), "drop")
    assert len(answer.frame()) == len(answer.sizes) > 1


@pytest.mark.parametrize(("name", "said"), [("drip", "no run is named"), ("spare", "no wanted set uses")])
def test_a_run_that_cannot_be_sized_is_an_error(name: str, said: str) -> None:
    found = pair(gates={"sets": {"spare": ["saw"]}})
    with pytest.raises(InputError, match=said):
        ductcalc.size_drop(found, "drop" if name == "spare" else name, sets_only=name == "spare")
