"""The least air in each size sold: published figures, and the shop's own air."""

from __future__ import annotations

import math

import pytest

from ductcalc.answers.least_flow import LeastFlow, least_flows
from ductcalc.catalog import sizes_sold
from ductcalc.shop.settings import AirSettings

SEA = AirSettings()


def flow(found: tuple[LeastFlow, ...], size_m: float, material: str) -> float:
    return next(one.flow_m3_s for one in found if math.isclose(one.size_m, size_m) and one.material == material)


@pytest.mark.parametrize(
    ("size_mm", "material", "m3_h"),
    [(100, "dry chips", 565), (120, "dry chips", 814), (160, "dry chips", 1448), (80, "damp chips", 507)],
)
def test_flows_of_connections_are_the_regulations(size_mm, material, m3_h):
    assert flow(least_flows("metric", SEA), size_mm / 1000, material) * 3600 == pytest.approx(m3_h, abs=1.0)


def test_thin_air_needs_more_by_the_root_of_density():
    sea, high = least_flows("inch", SEA), least_flows("inch", AirSettings(density_kg_m3=1.0))
    wanted = math.sqrt(sea[0].density_kg_m3 / 1.0)
    assert flow(high, 0.1016, "dry chips") / flow(sea, 0.1016, "dry chips") == pytest.approx(wanted)


@pytest.mark.parametrize(("units", "unit"), [("inch", "in"), ("metric", "mm")])
def test_sizes_are_those_sold_of_any_make(units, unit):
    sold = {*sizes_sold("spiral", unit), *sizes_sold("hose", unit)}
    assert {one.size_m for one in least_flows(units, SEA)} == sold
