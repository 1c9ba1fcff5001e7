"""The tree that a solver walks: sections upstream first, wyes, streams; areas and angles; no names."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain
from operator import attrgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ductcalc.arrays import Floats, Places
from ductcalc.solve.geometry import Geometry
from ductcalc.solve.paths import Level, levels_of


@dataclass(frozen=True)
class WyeShape:
    """One wye: sections that come in, the section that goes on, outlet area [m2], per stream angle [deg] and entry
    coefficient of the velocity-pressure sheet. own_k: coefficient on the outlet's VP that replaces any method."""

    streams: tuple[int, ...]
    outlet: int
    outlet_area_m2: float
    angles_deg: tuple[float, ...]
    straight: tuple[bool, ...]
    entry_k: tuple[float, ...]
    own_k: float | None = None


@dataclass(frozen=True)
class Tree:
    """Topology and fixed geometry of one collector's ducts.

    start_area_m2, end_area_m2: (sections,) bore areas at each section's two ends [m2].
    wyes: ordered with the most streams first, so that sums over a wye's streams are additions of slices:
    streams are stored first, second, third of all wyes, and `stream_section` (streams,) names their sections.
    """

    start_area_m2: Floats
    end_area_m2: Floats
    wyes: tuple[WyeShape, ...]
    stream_section: Places = field(init=False)
    counts: tuple[int, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Sort the wyes and lay out the streams."""
        length = np.array([len(wye.streams) for wye in self.wyes], dtype=np.intp)
        order = np.argsort(-length, kind="stable")
        depth = length.max(initial=0)
        counts = tuple(int(np.count_nonzero(length > place)) for place in range(depth))
        object.__setattr__(self, "wyes", tuple(map(self.wyes.__getitem__, order.tolist())))
        object.__setattr__(self, "counts", counts)
        object.__setattr__(self, "stream_section", self._per_stream("streams", np.intp))

    @property
    def size(self) -> int:
        """Number of sections."""
        return len(self.end_area_m2)

    @property
    def root(self) -> int:
        """The last section, which ends at the collector."""
        return self.size - 1

    @cached_property
    def offsets(self) -> tuple[int, ...]:
        """Where the first, second, third streams begin in the stream arrays."""
        return tuple(int(sum(self.counts[:place])) for place in range(len(self.counts)))

    @cached_property
    def wye_above(self) -> tuple[int, ...]:
        """For each section the wye that it starts from, -1 for a section that starts at a port or a cap."""
        above = np.full(self.size, -1)
        above[self.outlet_section] = np.arange(len(self.wyes))
        return tuple(above.tolist())

    @cached_property
    def section_below(self) -> Places:
        """For each section the one that its air goes on to (sections,), the number of sections for the last one."""
        below = np.full(self.size, self.size)
        below[self.stream_section] = self.outlet_section[self.stream_wye]
        return below

    @cached_property
    def leaves(self) -> Places:
        """Sections that start at a port or a cap."""
        begins = np.ones(self.size, dtype=bool)
        begins[self.outlet_section] = False
        return np.flatnonzero(begins)

    @cached_property
    def outlet_section(self) -> Places:
        """For each wye the section that goes on."""
        return self._of_wyes("outlet").astype(np.intp)

    @cached_property
    def geometry(self) -> Geometry:
        """Its own bores and angles, one case."""
        return Geometry(
            self.start_area_m2.reshape(-1, 1),
            self.end_area_m2.reshape(-1, 1),
            self._of_wyes("outlet_area_m2").reshape(-1, 1),
            self._per_stream("angles_deg", np.float64).reshape(-1, 1),
            self._per_stream("entry_k", np.float64).reshape(-1, 1),
            self._of_wyes("own_k")[self.stream_wye].reshape(-1, 1),
        )

    @cached_property
    def stream_wye(self) -> Places:
        """For each stream its wye."""
        return np.concatenate([np.arange(count) for count in (0, *self.counts)])

    @cached_property
    def walk(self) -> tuple[tuple[int, int, tuple[int, ...], tuple[int, ...]], ...]:
        """Wyes upstream first: (wye, outlet section, stream sections, stream numbers)."""
        steps = []
        for number in sorted(range(len(self.wyes)), key=lambda n: self.wyes[n].outlet):
            wye = self.wyes[number]
            numbers = tuple(self.offsets[place] + number for place in range(len(wye.streams)))
            steps.append((number, wye.outlet, wye.streams, numbers))
        return tuple(steps)

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """How an elimination takes the tree apart."""
        return levels_of(self)

    def _of_wyes(self, name: str) -> Floats:
        """One number of every wye (wyes,), nan where it has none."""
        return np.array([getattr(wye, name) for wye in self.wyes], dtype=np.float64)

    def _per_stream(self, name: str, kind: type) -> NDArray[Any]:
        """One number of every stream (streams,), from tuples wye by wye to the order in which streams are stored."""
        values = chain.from_iterable(map(attrgetter(name), self.wyes))
        by_wye: NDArray[Any] = np.fromiter(values, kind, sum(self.counts))
        return by_wye[self._stored]

    @cached_property
    def _stored(self) -> Places:
        """For each stream, in the order in which they are stored, its place in an order wye by wye."""
        length = np.bincount(self.stream_wye, minlength=len(self.wyes))
        place = np.repeat(np.arange(len(self.counts)), self.counts)
        stored: Places = (np.cumsum(length) - length)[self.stream_wye] + place
        return stored

    def sum_streams(self, values: Floats) -> Floats:
        """Sum (streams, cases) over each wye's streams in their order: (wyes, cases)."""
        total = values[: len(self.wyes)].copy()
        for offset, count in zip(self.offsets[1:], self.counts[1:], strict=True):
            total[:count] += values[offset : offset + count]
        return total


def rows_of(values: Floats, numbers: Places) -> Floats:
    """Return these rows of values (rows, cases): what brackets do, in half the time where there is one case."""
    return values.take(numbers, axis=0)
