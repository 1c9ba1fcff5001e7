"""[improve] of shop.toml: the least length of a hose."""

from __future__ import annotations

import pytest

from ductcalc.errors import InputError
from tests.scenes import two_machines


@pytest.mark.parametrize(("written", "metres"), [("3 ft", 0.9144), ("60 cm", 0.6), ("0 m", 0.0)])
def test_least_hose_is_a_length(written: str, metres: float) -> None:
    assert two_machines(improve={"least_hose": written}).settings.improve.least_hose_m == pytest.approx(metres)


def test_nothing_written_is_the_documented_default() -> None:
    assert two_machines().settings.improve.least_hose_m is None


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"least_hose": "3"}, 'improve.least_hose: "3" has no unit'),
        ({"least_hose": "900 ft"}, "improve.least_hose"),
        ({"least_hos": "3 ft"}, "did you mean least_hose"),
        ("short", "improve is not a section"),
    ],
)
def test_a_wrong_entry_is_told_with_its_place_and_a_repair(settings: object, said: str) -> None:
    with pytest.raises(InputError, match=said):
        two_machines(improve=settings)
