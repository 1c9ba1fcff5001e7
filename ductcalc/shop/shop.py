"""The shop: runs, collectors and settings, as written; what is known of a collector."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple

from ductcalc.errors import Place
from ductcalc.shop.piece import Run
from ductcalc.shop.settings import Settings
from ductcalc.shop.tuned import Tuned

if TYPE_CHECKING:
    from ductcalc.units.closed_list import Unit, UnitSystem

CurveBasis = Literal["fan static", "fan total", "inlet suction"]
CollectorPart = Literal["cyclone", "filter clean", "filter loaded"]
FILTER_PARTS: frozenset[CollectorPart] = frozenset({"filter clean", "filter loaded"})


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

    blower: points of the curve, rising in flow; empty when only `advertised` (both maxima) is known, or no curve.
    cyclone, filter_clean, filter_loaded: a rated point, None when nothing was written.
    absent: parts that were written as `none`: they do not exist.
    contains: parts that the curve's points already include.
    basis: None when it was not stated. outlet_size_m is needed by `fan total`, test_pipe_m by `inlet suction`.
    density_kg_m3, viscosity_pa_s: air at which curve and rated points hold; None means standard air.
    usual_flow_m3_s: where no curve is known, the flow [m3/s] at which parts that nobody wrote are rated.
    """

    name: str
    blower: tuple[FlowPressure, ...] = ()
    advertised: FlowPressure | None = None
    cyclone: FlowPressure | None = None
    filter_clean: FlowPressure | None = None
    filter_loaded: FlowPressure | None = None
    absent: frozenset[CollectorPart] = frozenset()
    contains: frozenset[CollectorPart] = frozenset()
    basis: CurveBasis | None = None
    outlet_size_m: float | None = None
    test_pipe_m: float | None = None
    density_kg_m3: float | None = None
    viscosity_pa_s: float | None = None
    usual_flow_m3_s: float | None = None
    place: Place | None = None

    @property
    def has_curve(self) -> bool:
        """Whether anything is known of its blower."""
        return bool(self.blower) or self.advertised is not None

    def states(self, *parts: CollectorPart) -> bool:
        """Whether one of these parts is stated to be there: in a row of its own, or contained in the curve."""
        return any(part in self.contains or getattr(self, part.replace(" ", "_")) for part in parts)

    @property
    def silent(self) -> bool:
        """Whether nothing is said of cyclone and filter, not even that they do not exist."""
        return not self.absent and not self.states("cyclone", *FILTER_PARTS)


class WrittenColumn(NamedTuple):
    """A column of the duct table: its letter in the spreadsheet and the unit in its header, None without."""

    letter: str | None
    unit: Unit | None


def _no_columns() -> Mapping[str, WrittenColumn]:
    return MappingProxyType({})


@dataclass(frozen=True)
class WrittenTable:
    """How the duct table was written, so that one more cell can be read the same way.

    decimal_commas: a point may part thousands.
    """

    columns: Mapping[str, WrittenColumn] = field(default_factory=_no_columns)
    decimal_commas: bool = False


@dataclass(frozen=True)
class Shop:
    """Everything that was written about one shop, in SI units.

    first_units: the unit system of the first size cell, in which answers are shown unless told otherwise.
    remarks: what the reader had to decide about the files themselves (encoding, separator), for the report.
    changes: what was changed of it as a what-if, in words. tuned: what readings made of
    badly known numbers. table: how its duct table was written.
    """

    name: str
    runs: tuple[Run, ...]
    collectors: tuple[Collector, ...] = ()
    settings: Settings = field(default_factory=Settings)
    first_units: UnitSystem = "inch"
    remarks: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    tuned: tuple[Tuned, ...] = ()
    table: WrittenTable = field(default_factory=WrittenTable, compare=False, repr=False)

    @property
    def system(self) -> UnitSystem:
        """The units in which the shop is written, which say whether sizes and lengths are sold in inches or metric."""
        return self.settings.units or self.first_units
