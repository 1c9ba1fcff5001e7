"""The shop: runs, collectors and settings, as written."""

from __future__ import annotations

from dataclasses import dataclass, field

from ductcalc.shop.collector import Collector
from ductcalc.shop.piece import Run
from ductcalc.shop.settings import Settings, UnitSystem


@dataclass(frozen=True)
class Shop:
    """Everything that was written about one shop, in SI units.

    first_units: the unit system of the first size cell, in which answers are shown unless told otherwise.
    remarks: what the reader had to decide about the files themselves (encoding, separator), for the report.
    """

    name: str
    runs: tuple[Run, ...]
    collectors: tuple[Collector, ...] = ()
    settings: Settings = field(default_factory=Settings)
    first_units: UnitSystem = "inch"
    remarks: tuple[str, ...] = ()
