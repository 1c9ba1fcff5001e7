"""Lengths in which pipe and hose are sold, and what cutting, hanging and sealing take."""

from __future__ import annotations

import pytest

from ductcalc.catalog import fact, lengths_sold

FOOT = 0.3048


@pytest.mark.parametrize(
    ("make", "unit", "lengths"),
    [
        ("spiral", "ft", (10 * FOOT,)),
        ("spiral", "m", (3.0,)),
        ("snap lock", "ft", (5 * FOOT,)),
        ("plastic", None, (10 * FOOT,)),
        ("hose", "ft", tuple(n * FOOT for n in (5, 10, 20, 25, 50))),
        ("hose", "m", (5.0, 10.0)),
        ("steel", None, ()),
        ("snap-lock", "m", ()),
    ],
)
def test_lengths_sold_rise_and_are_in_metres(make: str, unit: str | None, lengths: tuple[float, ...]) -> None:
    assert lengths_sold(make, unit) == pytest.approx(lengths)


def test_the_yield_of_a_tube_is_below_that_of_a_bead_with_nothing_lost() -> None:
    """300 ml in a bead of 6 mm: the row's high end is that length, its value less."""
    found = fact("parts", "sealant yield")
    bead_m = 300e-6 / (3.141592653589793 * 0.003**2)
    assert found.high == pytest.approx(bead_m, rel=0.01)
    assert found.value < found.high


def test_round_metric_rules_agree_with_those_in_feet() -> None:
    for item in ("hanger spacing", "keep"):
        assert fact("parts", f"{item} metric").value == pytest.approx(fact("parts", item).value, rel=0.02)
