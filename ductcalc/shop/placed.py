"""A list of machines with their places along a main that is still to be laid out, in SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ductcalc.errors import Place
from ductcalc.shop.piece import Wanted

if TYPE_CHECKING:
    from ductcalc.units.closed_list import UnitSystem


@dataclass(frozen=True)
class WantedAir:
    """The air that a machine wants: as a cell of the duct table, in numbers, and where it comes from ("": written)."""

    cell: str
    wanted: Wanted
    source: str = ""


@dataclass(frozen=True)
class PlacedMachine:
    """A port of a machine [m]: its size, how far along the main, how high the main is above it, how far aside."""

    machine: str
    air: WantedAir
    port_m: float
    along_m: float
    height_m: float
    reach_m: float
    note: str
    place: Place


@dataclass(frozen=True)
class MachineList:
    """The machines in the order of the table, the units in which their ports are written, and remarks on the file."""

    machines: tuple[PlacedMachine, ...]
    units: UnitSystem
    remarks: tuple[str, ...] = ()
