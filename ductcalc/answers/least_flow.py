"""The least air that keeps chips moving: in each size sold, for each material, in some air."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.catalog import HOSE, materials, sizes_sold, styles, transport_speed
from ductcalc.model.air import local_air
from ductcalc.physics.conveying import thin_air_speed_factor
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.settings import AirSettings
from ductcalc.units.closed_list import UnitSystem


@dataclass(frozen=True)
class MaterialFlows:
    """A material, its least speed [m/s] in the air looked at, and the least flow [m3/s] in each size."""

    material: str
    speed_m_s: float
    flows_m3_s: tuple[float, ...]


@dataclass(frozen=True)
class LeastFlows:
    """Least flows in the sizes sold [m] of one system of units, in air of a density [kg/m3]."""

    sizes_m: tuple[float, ...]
    materials: tuple[MaterialFlows, ...]
    density_kg_m3: float


def least_flows(units: UnitSystem, air: AirSettings) -> LeastFlows:
    """Return the flows that go at a material's full speed (table `transport`, times sqrt(1.2 / density))."""
    unit = "in" if units == "inch" else "mm"
    sizes = tuple(sorted({size for make in (*styles("pipe"), HOSE) for size in sizes_sold(make, unit)}))
    density = local_air(air).density_kg_m3
    factor = float(thin_air_speed_factor(density))
    speeds = {material: transport_speed(material).value * factor for material in materials()}
    flows = {material: tuple(speed * float(bore_area(size)) for size in sizes) for material, speed in speeds.items()}
    return LeastFlows(sizes, tuple(MaterialFlows(m, speeds[m], flows[m]) for m in speeds), density)
