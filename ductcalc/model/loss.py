"""One thing that takes pressure: what it is, on which bore, by which decided numbers."""

from __future__ import annotations

from typing import NamedTuple

from ductcalc.errors import Place
from ductcalc.model.decided import Decided
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.kinds import LossKind


class Loss(NamedTuple):
    """A piece as the model sees it: a coefficient on the VP in `bore_m`, or straight friction, or both.

    k: sum of its coefficients, None when it has none. shut_k: coefficient while shut (gates only).
    length_m, roughness_m, factor: straight length, absolute roughness, multiple of a pipe's friction.
    ends_m: bores [m] at the two ends of a reducer, upstream first.
    assumed: True for a piece that nobody wrote (a reducer between unlike neighbours).
    """

    kind: LossKind
    label: str
    bore_m: float
    k: Decided | None = None
    shut_k: Decided | None = None
    length_m: float = 0.0
    roughness_m: Decided | None = None
    factor: Decided | None = None
    rise_m: float = 0.0
    place: Place | None = None
    note: str | None = None
    assumed: bool = False
    ends_m: tuple[float, float] | None = None

    @property
    def area_m2(self) -> float:
        """Area [m2] of the bore on which the coefficient is charged."""
        return float(bore_area(self.bore_m))

    @property
    def has_friction(self) -> bool:
        """Whether it has a straight length with friction."""
        return self.roughness_m is not None and self.length_m > 0.0
