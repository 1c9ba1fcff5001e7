"""[size] of shop.toml: the inside diameters that may be bought."""

from __future__ import annotations

import pytest

from ductcalc.errors import InputError
from tests.scenes import two_machines


@pytest.mark.parametrize(
    ("written", "metres"),
    [(["6 in", "100 mm", "6 in"], (0.1, 0.1524)), ("5 in", (0.127,))],
)
def test_sizes_are_bores_in_rising_order_each_once(written: object, metres: tuple[float, ...]) -> None:
    assert two_machines(size={"sizes": written}).settings.size.sizes_m == pytest.approx(metres)


def test_nothing_written_leaves_the_sizes_that_are_sold() -> None:
    assert two_machines(size={}).settings.size.sizes_m == ()


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"sizes": []}, "list of sizes"),
        ({"sizes": [4, 5]}, "list of sizes"),
        ({"sizes": ["4"]}, "no unit"),
        ({"sizes": [f"{size} mm" for size in range(100, 121)]}, "21 sizes"),
    ],
)
def test_a_wrong_entry_is_told_with_its_place(settings: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said) as raised:
        two_machines(size=settings)
    place = raised.value.problems[0].place
    assert place is not None and place.key == "size.sizes"
