"""The shop's settings as written in shop.toml, in SI units; None means that the documented default holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple

from ductcalc.shop.parts import PartsSettings

if TYPE_CHECKING:
    from ductcalc.units.closed_list import UnitSystem

Junction = Literal["momentum", "handbook", "factored"]
Friction = Literal["colebrook", "handbook"]


def _empty() -> Mapping[str, float]:
    return MappingProxyType({})


def _nowhere() -> Mapping[str, tuple[str, ...]]:
    return MappingProxyType({})


class AirSettings(NamedTuple):
    """Altitude [m], temperature [K], relative humidity [0..1]; or density and viscosity outright."""

    altitude_m: float | None = None
    temperature_k: float | None = None
    humidity: float | None = None
    pressure_pa: float | None = None
    density_kg_m3: float | None = None
    viscosity_pa_s: float | None = None


@dataclass(frozen=True)
class GateSet:
    """A named choice of open machines; `helpers` of them make no chips; `flow_m3_s` are wanted flows in this set."""

    name: str
    open: tuple[str, ...]
    helpers: tuple[str, ...] = ()
    flow_m3_s: Mapping[str, float] = field(default_factory=_empty)


class GateSettings(NamedTuple):
    """Leak of shut gates as a share of the gate's bore, and the named sets in the order written."""

    leak: float | None = None
    sets: tuple[GateSet, ...] = ()


class MachineSettings(NamedTuple):
    """What is said of one machine outside the duct table; own_blower_pa is its own blower's pressure; metal is None
    where nothing is said.
    """

    name: str
    own_blower_pa: float | None = None
    metal: bool | None = None
    material: str | None = None


class MaterialSettings(NamedTuple):
    """The shop's default material, and kg of chips per kg of air while cutting (loading)."""

    default: str | None = None
    loading: float | None = None


class MethodSettings(NamedTuple):
    """Choices of method; None is the documented default. joint_leakage_class 0 is `none`."""

    junction: Junction | None = None
    friction: Friction | None = None
    flex_factor: float | None = None
    hose_bend_k: float | None = None
    joint_leakage_class: float | None = None
    machine_k: float | None = None


@dataclass(frozen=True)
class RoomSettings:
    """Where the cleaned air goes, and whether a flued fuel-burning heater burns in the room."""

    exhaust: Literal["indoors", "outdoors"] | None = None
    heater: bool = False


class PipeSettings(NamedTuple):
    """Thickness of the pipe's sheet [m] where its row does not say it."""

    wall_m: float | None = None


class SizeSettings(NamedTuple):
    """Inside diameters [m] that may be bought, rising; empty means the sizes that are commonly sold."""

    sizes_m: tuple[float, ...] = ()


class ImproveSettings(NamedTuple):
    """What holds for changes that are tried: least_hose_m [m] is the shortest hose that a machine can do with."""

    least_hose_m: float | None = None


@dataclass(frozen=True)
class FindingSettings:
    """Names of the unasked warnings that are switched off everywhere, and those at one run or machine alone."""

    off: tuple[str, ...] = ()
    off_at: Mapping[str, tuple[str, ...]] = field(default_factory=_nowhere)


class MachineCut(NamedTuple):
    """A cut that a machine takes without a pause: width [m], depth [m], feed [m/s], and the bulk that it makes."""

    machine: str
    width_m: float
    depth_m: float
    feed_m_s: float
    makes: str


@dataclass(frozen=True)
class RunningSettings:
    """What running costs: hours, tariff, motor, heating, filter, drum and cuts; None means that it was not said.

    hours_s: time of running in a year [s]; heated_s: that part of it in which the room is heated [s]. tariff: money
    for a kilowatt-hour, currency: its word as written ("" without one). Efficiencies are shares [-].
    """

    hours_s: float | None = None
    tariff: float | None = None
    currency: str = ""
    motor_w: float | None = None
    motor_efficiency: float | None = None
    fan_efficiency: float | None = None
    inside_k: float | None = None
    outside_k: float | None = None
    heated_s: float | None = None
    filter_m2: float | None = None
    drum_m3: float | None = None
    wood_kg_m3: float | None = None
    cuts: tuple[MachineCut, ...] = ()


@dataclass(frozen=True)
class Settings:
    """All of shop.toml."""

    air: AirSettings = field(default_factory=AirSettings)
    gates: GateSettings = field(default_factory=GateSettings)
    machines: tuple[MachineSettings, ...] = ()
    material: MaterialSettings = field(default_factory=MaterialSettings)
    room: RoomSettings = field(default_factory=RoomSettings)
    method: MethodSettings = field(default_factory=MethodSettings)
    parts: PartsSettings = field(default_factory=PartsSettings)
    improve: ImproveSettings = field(default_factory=ImproveSettings)
    pipe: PipeSettings = field(default_factory=PipeSettings)
    size: SizeSettings = field(default_factory=SizeSettings)
    running: RunningSettings = field(default_factory=RunningSettings)
    findings: FindingSettings = field(default_factory=FindingSettings)
    units: UnitSystem | None = None
