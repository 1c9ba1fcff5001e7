"""One row of the duct table, and the run that a finger walks from a machine towards the collector."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

from ductcalc.errors import Place
from ductcalc.shop.kinds import TRAITS, PieceKind, Traits


def _no_cells() -> Mapping[str, str]:
    return MappingProxyType({})


class Wanted(NamedTuple):
    """The air that a port is to get: a flow [m3/s], or a speed [m/s] in the port, or `off` for never used."""

    flow_m3_s: float | None = None
    speed_m_s: float | None = None
    off: bool = False


@dataclass(frozen=True)
class Drop:
    """A machine's stated suction [Pa] at a speed [m/s] or a flow [m3/s] in its connection.

    It is a static suction, velocity pressure included, unless `total` says that it is a loss of total pressure.
    """

    pressure_pa: float
    speed_m_s: float | None = None
    flow_m3_s: float | None = None
    total: bool = False


@dataclass(frozen=True)
class Piece:
    """One row of the duct table in SI units; what was left blank is None.

    size_m: inside diameter; a wye's is its outlet, a reducer's the one downstream.
    angles_deg: one angle, several for a double wye.
    joins: runs that come in at a wye (`cap` is closed for now), or the run that `like` copies.
    opening: share of a gate's travel; leak: leak area as a share of a shut gate's bore.
    radius: bend radius over diameter. factor: loss of hose over pipe. wall_m: thickness of a pipe's sheet. rise_m: how
    much of the length goes up.
    cells: the row's texts as written, by column; two pieces are equal whatever their texts.
    """

    kind: PieceKind
    machine: str | None = None
    style: str | None = None
    size_m: float | None = None
    length_m: float | None = None
    angles_deg: tuple[float, ...] = ()
    count: int | None = None
    joins: tuple[str, ...] = ()
    wanted: Wanted | None = None
    drop: Drop | None = None
    inlet_m2: float | None = None
    material: str | None = None
    k: float | None = None
    radius: float | None = None
    factor: float | None = None
    roughness_m: float | None = None
    wall_m: float | None = None
    opening: float | None = None
    leak: float | None = None
    rise_m: float | None = None
    note: str | None = None
    place: Place | None = None
    cells: Mapping[str, str] = field(default_factory=_no_cells, compare=False, repr=False)

    @property
    def traits(self) -> Traits:
        """What is true of every piece of its kind."""
        return TRAITS[self.kind]

    @property
    def settled_deg(self) -> tuple[float, ...]:
        """Its angles [deg], those that a blank stands for where none is written."""
        return self.angles_deg or self.traits.usual_deg


@dataclass(frozen=True)
class Run:
    """A line of pieces in the order of the air: it ends at the collector or joins another run at a wye."""

    name: str
    pieces: tuple[Piece, ...]
    place: Place | None = None

    @property
    def is_outlet(self) -> bool:
        """Whether it is the outlet duct, behind the collector."""
        return self.pieces[0].kind == "collector"

    @property
    def is_last(self) -> bool:
        """Whether it leads to the collector."""
        return self.pieces[-1].kind == "collector" and not self.is_outlet

