"""The least air in each size sold: published figures, and the shop's own air."""

from __future__ import annotations

import math

import pytest

from ductcalc.answers.least_flow import LeastFlows, least_flows
from ductcalc.catalog import sizes_sold
from ductcalc.shop.settings import AirSettings

SEA = AirSettings()


def flow(found: LeastFlows, size_m: float, material: str) -> float:
    number = next(n for n, size in enumerate(found.sizes_m) if math.isclose(size, size_m))
    return next(one for one in found.materials if one.material == material).flows_m3_s[number]


@pytest.mark.parametrize(
    ("size_mm", "material", "m3_h"),
    [(100, "dry chips", 565), (120, "dry chips", 814), (160, "dry chips", 1448), (80, "damp chips", 507)],
)
def test_flows_of_connections_are_the_regulations(size_mm, material, m3_h):
    assert flow(least_flows("metric", SEA), size_mm / 1000, material) * 3600 == pytest.approx(m3_h, abs=1.0)


def test_thin_air_needs_more_by_the_root_of_density():
    sea, high = least_flows("inch", SEA), least_flows("inch", AirSettings(density_kg_m3=1.0))
    wanted = math.sqrt(sea.density_kg_m3 / 1.0)
    assert flow(high, 0.1016, "dry chips") / flow(sea, 0.1016, "dry chips") == pytest.approx(wanted)


@pytest.mark.parametrize(("units", "unit"), [("inch", "in"), ("metric", "mm")])
def test_sizes_are_those_sold_of_any_make(units, unit):
    assert set(sizes_sold("spiral", unit)) | set(sizes_sold("hose", unit)) == set(least_flows(units, SEA).sizes_m)
