"""What was written: the frozen shop in SI units, how its runs hang together, and its settings."""

from ductcalc.shop.kinds import PieceKind
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Drop, Piece, Run, Wanted
from ductcalc.shop.settings import (
    AirSettings,
    FindingSettings,
    GateSet,
    GateSettings,
    ImproveSettings,
    MachineSettings,
    MaterialSettings,
    MethodSettings,
    RoomSettings,
    Settings,
)
from ductcalc.shop.shop import Collector, CurveBasis, FlowPressure, Shop, WrittenColumn, WrittenTable

__all__ = [
    "AirSettings",
    "Collector",
    "CurveBasis",
    "Drop",
    "FindingSettings",
    "FlowPressure",
    "GateSet",
    "GateSettings",
    "ImproveSettings",
    "MachineSettings",
    "MaterialSettings",
    "MethodSettings",
    "Piece",
    "PieceKind",
    "RoomSettings",
    "Run",
    "Settings",
    "Shop",
    "Wanted",
    "WrittenColumn",
    "WrittenTable",
    "key_of",
]
