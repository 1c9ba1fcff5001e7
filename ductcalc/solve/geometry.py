"""Bores and angles of a tree's sections and wyes, for all cases alike or case by case."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np

from ductcalc.arrays import Floats, Places


@dataclass(frozen=True)
class Geometry:
    """Every array is (rows, 1) or (rows, cases).

    start_area_m2, end_area_m2: bore areas at the sections' two ends [m2], a row per section.
    outlet_area_m2: outlet areas [m2], a row per wye. A row per stream, as the tree stores them: angles_deg to the
    outlet's axis, entry_k of the velocity-pressure sheet, own_k that replaces any method (nan: the method decides).
    """

    start_area_m2: Floats
    end_area_m2: Floats
    outlet_area_m2: Floats
    angles_deg: Floats
    entry_k: Floats
    own_k: Floats

    @property
    def cases(self) -> int:
        """Number of cases that the arrays span."""
        return max(int(array.shape[1]) for array in self._arrays())

    def take(self, columns: Places | slice) -> Geometry:
        """Return the geometry of some cases only; itself when all are alike."""
        if self.cases == 1:
            return self
        return self._each(lambda array: array if array.shape[1] == 1 else np.ascontiguousarray(array[:, columns]))

    def _arrays(self) -> list[Floats]:
        return [getattr(self, field.name) for field in fields(self)]

    def _each(self, change: Callable[[Floats], Floats]) -> Geometry:
        return Geometry(*map(change, self._arrays()))


def geometries_side_by_side(parts: Sequence[Geometry], widths: Sequence[int]) -> Geometry:
    """Join the geometries of variants of one tree, stretched to their cases; what is alike stays narrow."""
    return Geometry(*(_joined([getattr(part, field.name) for part in parts], widths) for field in fields(Geometry)))


def _joined(arrays: Sequence[Floats], widths: Sequence[int]) -> Floats:
    first = arrays[0]
    if all(array is first or np.array_equal(array, first, equal_nan=True) for array in arrays) and first.shape[1] == 1:
        return first
    return np.hstack([np.broadcast_to(a, (len(a), width)) for a, width in zip(arrays, widths, strict=True)])
