"""What is written about parts: how pipe and hose are sold and cut, what lies around, what things cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

from ductcalc.errors import Place
from ductcalc.shop.kinds import TRAITS, PartKind

ANY_MAKE = "any make"
BY_LENGTH = frozenset(traits.part for traits in TRAITS.values() if traits.part and traits.has_length)


def _empty() -> Mapping[str, tuple[float, ...]]:
    return MappingProxyType({})


class PartName(NamedTuple):
    """What tells one part from another; None or empty where nothing is said.

    sizes_m: inside diameters [m]; of a reducer or adapter both ends, the smaller one first; of a wye its outlet, its
    straight inlet, its branches. angles_deg: of an elbow, a taper, or each branch of a wye. radius: R/D of an elbow.
    style: build, or make of pipe; of a piece named other its note. make: of a wye, gate or cap that of the pipe it is
    put on; of an adapter both, where they differ.
    """

    kind: PartKind
    style: str | None = None
    sizes_m: tuple[float, ...] = ()
    angles_deg: tuple[float, ...] = ()
    radius: float | None = None
    make: str | None = None

    @property
    def by_length(self) -> bool:
        """Whether it is cut from lengths: pipe and hose."""
        return self.kind in BY_LENGTH

    @property
    def tapers(self) -> bool:
        """Whether it leads from one size to another."""
        return self.kind in ("reducer", "adapter")


@dataclass(frozen=True)
class StockPart:
    """Parts that lie around: so many alike; length_m [m] of each, for pipe and hose."""

    name: PartName
    count: int = 1
    length_m: float | None = None
    place: Place | None = None


class Price(NamedTuple):
    """What one part costs as it is sold, in the money of whoever wrote it; what `name` leaves open matches anything."""

    name: PartName
    price: float
    length_m: float | None = None
    place: Place | None = None


@dataclass(frozen=True)
class PartsSettings:
    """How parts are bought and cut, lengths in [m]; None and empty mean the documented default.

    sticks_m: lengths of pipe sold, by make or for `ANY_MAKE`. hose_m: lengths of hose sold. kerf_m: lost in each cut of
    pipe. hanger_spacing_m: pipe for each hanger. sealant_yield_m: joint that one tube seals. keep_m: shortest left-over
    worth keeping.
    """

    sticks_m: Mapping[str, tuple[float, ...]] = field(default_factory=_empty)
    hose_m: tuple[float, ...] = ()
    kerf_m: float | None = None
    hanger_spacing_m: float | None = None
    sealant_yield_m: float | None = None
    keep_m: float | None = None
    prices: tuple[Price, ...] = ()
