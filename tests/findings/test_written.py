"""Figures read in the unit that they were likely meant in."""

from __future__ import annotations

import pytest

from ductcalc.findings.written import in_other_units, is_doubtful_size, length_meant, pressures_meant, unit_written
from ductcalc.shop import Shop
from ductcalc.shop.piece import Piece
from tests import scenes as s

CFM = s.CFM


def name(text: str | None, value: float, dimension: str = "flow") -> str | None:
    unit = unit_written(text, value, dimension)  # type: ignore[arg-type]
    return None if unit is None else unit.name


def test_unit_in_the_cell_is_read() -> None:
    assert name("565 cfm", 565 * CFM) == "cfm"
    assert name("565 m3/h", 565 / 3600) == "m3/h"


def test_unit_of_the_heading_is_found_from_the_value() -> None:
    assert name("565", 565 * CFM) == "cfm"
    assert name("565", 565 / 3600) == "m3/h"


def test_without_a_cell_it_is_the_unit_of_a_round_number() -> None:
    assert name(None, 565 * CFM) == "cfm"
    assert name(None, 0.123456789) is None


def test_lengths_in_feet_and_inches_are_feet() -> None:
    assert name("12 ft 6 in", 3.81, "length") == "ft"
    assert name("3 x 5 ft", 4.572, "length") == "ft"


def test_text_that_cannot_be_read_has_no_unit() -> None:
    assert name("about 500", 500 * CFM) is None
    assert list(in_other_units("about 500", 500 * CFM, "flow")) == []


def test_number_is_carried_into_every_other_unit_of_its_kind() -> None:
    found = {meant.words: meant.value for meant in in_other_units("565 cfm", 565 * CFM, "flow")}
    assert found["565 m3/h"] == pytest.approx(565 / 3600)
    assert "565 cfm" not in found


@pytest.mark.parametrize(
    ("value_pa", "words"),
    [
        (900 * 9.80665, "900 Pa"),
        (250.0, "250 mm water"),
        (12 * 9.80665, "12 inwg"),
        (300 * 249.0889, "300 mm water"),
    ],
)
def test_pressure_is_read_in_the_unit_beside(value_pa: float, words: str) -> None:
    assert words in [meant.words for meant in pressures_meant(value_pa)]


def test_pressure_that_is_round_in_no_unit_is_not_read_otherwise() -> None:
    assert list(pressures_meant(1234.56789)) == []


def test_bores_of_small_shops_are_not_doubtful() -> None:
    assert [is_doubtful_size(bore) for bore in (0.012, 0.025, 0.4, 0.6, 0.61, 2.54)] == [
        True, False, False, False, True, True,
    ]  # fmt: skip


def hose(length: str, **settings: object) -> tuple[Piece, Shop]:
    shop = s.shop(s.run("a", s.port("saw", "5 in"), s.hose(length, 1), s.end()), **settings)
    return shop.runs[0].pieces[1], shop


@pytest.mark.parametrize(("length", "words"), [("10 m", "10 ft"), ("2.9 m", None), ("33 ft", None), ("1000 cm", None)])
def test_very_long_hose_in_metres_is_feet_in_a_table_of_inches(length: str, words: str | None) -> None:
    meant = length_meant(hose(length)[0], "inch")
    assert (None if meant is None else meant.words) == words


def test_very_long_hose_in_a_metric_table_is_what_it_says() -> None:
    assert length_meant(hose("10 m")[0], "metric") is None
