"""Cautions that the shop itself gives reason for."""

from __future__ import annotations

import ductcalc
from ductcalc.report.check.text import check_blocks
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from tests.scenes import two_machines


def _text(**settings: object) -> str:
    answer = ductcalc.check(two_machines(**settings))
    return rendered(check_blocks(answer, Display("inch")), Page(None, "utf-8", False))


def test_air_blown_outdoors_is_named_with_its_flow_and_the_heater() -> None:
    said = _text(room={"exhaust": "outdoors", "heater": True})
    (line,) = [line for line in said.splitlines() if "CAUTION (heater)" in line]
    assert "cfm" in line and "heater" in line


def test_a_heater_alone_is_named() -> None:
    assert "CAUTION (heater), shop.toml, room.heater" in _text(room={"heater": True})


def test_a_machine_that_throws_metal_is_named() -> None:
    assert "CAUTION (metal)" in _text(machines={"planer": {"metal": True}})


def test_none_of_them_stands_where_nothing_was_said() -> None:
    said = _text()
    assert "CAUTION" not in said
