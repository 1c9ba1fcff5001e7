"""The least air that keeps chips moving: in each size sold, for each material, in some air."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.answers.columns import Column, Columns
from ductcalc.catalog import HOSE, materials, sizes_sold, styles, transport_speed
from ductcalc.model.air import local_air
from ductcalc.physics.conveying import thin_air_speed_factor
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.settings import AirSettings
from ductcalc.units.closed_list import UnitSystem


@dataclass(frozen=True)
class LeastFlow:
    """The least flow [m3/s] of a material in a size [m]: its least speed [m/s] in air of that density [kg/m3]."""

    size_m: float
    material: str
    speed_m_s: float
    density_kg_m3: float

    @property
    def flow_m3_s(self) -> float:
        """The flow."""
        return self.speed_m_s * float(bore_area(self.size_m))


LEAST_FLOWS: Columns[LeastFlow] = (
    Column("size", lambda one: one.size_m, "size"),
    Column("material", lambda one: one.material),
    Column("least_speed", lambda one: one.speed_m_s, "speed"),
    Column("flow", lambda one: one.flow_m3_s, "flow"),
    Column("density", lambda one: one.density_kg_m3, "density"),
    Column("citation", lambda one: transport_speed(one.material).cited),
)


def least_flows(units: UnitSystem, air: AirSettings) -> tuple[LeastFlow, ...]:
    """Return the flows that go at a material's full speed (table `transport`, times sqrt(1.2 / density)), by size."""
    unit = "in" if units == "inch" else "mm"
    sizes = sorted({size for make in (*styles("pipe"), HOSE) for size in sizes_sold(make, unit)})
    density = local_air(air).density_kg_m3
    factor = float(thin_air_speed_factor(density))
    speeds = {material: transport_speed(material).value * factor for material in materials()}
    return tuple(LeastFlow(size, material, speed, density) for size in sizes for material, speed in speeds.items())
