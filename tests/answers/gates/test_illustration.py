"""The illustration shop of round figures, each cell, and the three things that are seen in it at once."""

from __future__ import annotations

from functools import cache

import pytest

from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.cases.case import Case
from tests.gate_shops import CFM, illustration

FPM = 0.3048 / 60.0
BORES = (4.0, 4.0, 4.0, 6.0, 2.5)
CELLS = (
    ("6 in", (0,), (564,), 2870),
    ("6 in", (0, 1), (395, 395), 4020),
    ("6 in", (0, 1, 2), (291, 291, 291), 4440),
    ("6 in", (3,), (833,), 4240),
    ("6 in", (0, 3), (260, 630), 4530),
    ("6 in", (4,), (233,), 1190),
    ("6 in", (0, 4), (499, 170), 3400),
    ("8 in", (0,), (589,), 1690),
    ("8 in", (0, 1), (431, 431), 2470),
    ("8 in", (0, 1, 2), (324, 324, 324), 2790),
    ("8 in", (3,), (920,), 2640),
    ("8 in", (0, 3), (292, 706), 2860),
    ("8 in", (4,), (235,), 670),
    ("8 in", (0, 4), (530, 180), 2040),
)
"""Main, open drops, cfm each, speed in the main [fpm]: invented shop, worked by hand from its own assumptions."""


@cache
def solved(main: str) -> Gates:
    return gates(illustration(BORES, main), 3)


def answer(main: str, places: tuple[int, ...]) -> Case:
    found = solved(main)
    return found.asked.case(found.asked.opened.index(sum(1 << place for place in places)))


def main_speed(main: str, places: tuple[int, ...]) -> float:
    """Speed in the main [fpm]."""
    root = solved(main).asked.store.model.tree.root
    return answer(main, places).sections[root].velocity_m_s / FPM


@pytest.mark.parametrize(("main", "places", "air", "speed"), CELLS)
def test_cell(main: str, places: tuple[int, ...], air: tuple[int, ...], speed: int) -> None:
    got = [machine.flow_m3_s / CFM for machine in answer(main, places).asked_machines]
    assert got == pytest.approx(air, rel=0.035)
    assert main_speed(main, places) == pytest.approx(speed, rel=0.035)


def test_one_gate_at_a_time_starves_the_main_and_the_program_says_which_gate_to_open_with_it() -> None:
    found = solved("6 in")
    alone = answer("6 in", (0,))
    assert alone.settling and alone.slowest is not None and alone.slowest.section == "main 1"
    assert ("machine 0", ("machine 1",)) in found.needs_company
    assert not answer("6 in", (0, 1)).settling


def test_an_eight_inch_main_lets_chips_settle_in_every_set_of_the_illustration_and_no_gate_helps() -> None:
    found = solved("8 in")
    listed = [answer(main, places) for main, places, _, _ in CELLS if main == "8 in"]
    assert all(one.settling for one in listed)
    assert not any(len(h.before.asked) == 1 for h in found.helped)
    cures = {cure.before.name: cure for cure in found.uncured}
    assert set(cures) == set(found.machines)
    smaller = cures["machine 0"].smaller
    assert smaller is not None and not smaller.after.settling
    assert [name for name, _, _ in smaller.sections] == ["main 1"]


def test_a_healthy_main_hides_two_slow_branches() -> None:
    found = answer("6 in", (0, 3))
    assert main_speed("6 in", (0, 3)) > 4000.0
    assert len(found.settling) == 2
    assert found.slowest is not None and found.slowest.section.startswith("drop")
