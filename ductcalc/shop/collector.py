"""What is known of a dust collector: blower points, cyclone, filter, and what the points already contain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ductcalc.errors import Place

CurveBasis = Literal["fan static", "fan total", "inlet suction"]
Part = Literal["cyclone", "filter clean", "filter loaded"]
FILTERS: frozenset[Part] = frozenset({"filter clean", "filter loaded"})


@dataclass(frozen=True)
class FlowPressure:
    """A flow [m3/s] with its pressure [Pa]; `exponent` is the power of flow in a part's own law, if stated."""

    flow_m3_s: float
    pressure_pa: float
    power_w: float | None = None
    exponent: float | None = None
    place: Place | None = None


@dataclass(frozen=True)
class Collector:
    """A collector as written, in SI units.

    blower: points of the curve, rising in flow; empty when only `advertised` (both maxima) is known.
    cyclone, filter_clean, filter_loaded: a rated point, None when nothing was written.
    absent: parts that were written as `none`: they do not exist.
    contains: parts that the curve's points already include.
    basis: None when it was not stated. outlet_size_m is needed by `fan total`, test_pipe_m by `inlet suction`.
    density_kg_m3, viscosity_pa_s: air at which curve and rated points hold; None means standard air.
    """

    name: str
    blower: tuple[FlowPressure, ...] = ()
    advertised: FlowPressure | None = None
    cyclone: FlowPressure | None = None
    filter_clean: FlowPressure | None = None
    filter_loaded: FlowPressure | None = None
    absent: frozenset[Part] = frozenset()
    contains: frozenset[Part] = frozenset()
    basis: CurveBasis | None = None
    outlet_size_m: float | None = None
    test_pipe_m: float | None = None
    density_kg_m3: float | None = None
    viscosity_pa_s: float | None = None
    place: Place | None = None

    def states(self, *parts: Part) -> bool:
        """Whether one of these parts is stated to be there: in a row of its own, or contained in the curve."""
        return any(part in self.contains or getattr(self, part.replace(" ", "_")) for part in parts)

    @property
    def silent(self) -> bool:
        """Whether nothing is said of cyclone and filter, not even that they do not exist."""
        return not self.absent and not self.states("cyclone", *FILTERS)
