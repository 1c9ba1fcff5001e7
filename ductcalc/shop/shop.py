"""The shop: runs, collectors and settings, as written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from ductcalc.shop.collector import Collector
from ductcalc.shop.piece import Run
from ductcalc.shop.settings import Settings, UnitSystem

if TYPE_CHECKING:
    from ductcalc.units.closed_list import Unit


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
    changes: what was changed of it as a what-if, in words. table: how its duct table was written.
    """

    name: str
    runs: tuple[Run, ...]
    collectors: tuple[Collector, ...] = ()
    settings: Settings = field(default_factory=Settings)
    first_units: UnitSystem = "inch"
    remarks: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    table: WrittenTable = field(default_factory=WrittenTable, compare=False, repr=False)

    @property
    def system(self) -> UnitSystem:
        """The units in which the shop is written, which say whether sizes and lengths are sold in inches or metric."""
        return self.settings.units or self.first_units
