"""Bulk factors: the computed ones are computed again."""

from __future__ import annotations

import pytest

from ductcalc.catalog import fact, styles
from ductcalc.physics.conveying import expansion

POUND_FT3 = 0.45359237 / 0.3048**3
SOLID_AND_LOOSE = (
    (33.7, 10.9), (23.1, 7.6), (26.2, 8.8), (30.6, 10.3), (32.4, 11.5),
    (37.4, 11.4), (37.4, 10.5), (28.7, 8.8), (21.8, 7.8), (25.0, 8.8),
)  # fmt: skip
"""Oven-dry weight [lb/ft3] of solid wood and of its sawdust: Thompson and Darwin, ten southern species."""


def test_sawdust_is_the_mean_of_ten_species_and_its_band_holds_briggs() -> None:
    ratios = [expansion(solid, loose) for solid, loose in SOLID_AND_LOOSE]
    found = fact("bulk", "sawdust, expansion")
    assert found.value == pytest.approx(sum(ratios) / 10, abs=0.005)
    assert found.high == pytest.approx(max(ratios), abs=0.005)
    assert found.low == fact("bulk", "sawdust, settled, expansion").value < min(ratios)


def test_the_weight_of_wood_is_the_mean_of_ten_species_and_its_band_their_ends() -> None:
    solids = [solid for solid, _ in SOLID_AND_LOOSE]
    found = fact("bulk", "wood")
    assert found.value / POUND_FT3 == pytest.approx(sum(solids) / 10, abs=0.05)
    assert (found.low / POUND_FT3, found.high / POUND_FT3) == pytest.approx((min(solids), max(solids)))


def test_the_high_end_of_shavings_is_that_of_fresh_ones_in_a_bag() -> None:
    fresh = fact("bulk", "fresh shavings in a bag")
    assert fact("bulk", "shavings, expansion").high == round(expansion(fact("bulk", "wood").value, fresh.low))


@pytest.mark.parametrize("kind", styles("bulk"))
def test_every_kind_that_a_cut_may_make_has_its_expansion(kind: str) -> None:
    found = fact("bulk", f"{kind}, expansion")
    assert 1.0 < found.low <= found.value <= found.high
