"""The numbers of a tree for a batch of cases: resistances, friction rows, leaks; arrays only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ductcalc.arrays import Flags, Floats, Places
from ductcalc.solve.geometry import Geometry, geometries_side_by_side

NO_LOAD = np.ones((1, 1))


@dataclass(frozen=True)
class FrictionRows:
    """Straight lengths of one bore and roughness in a section.

    section: (rows,). loss: (rows, 1 or cases), length/bore * density / (2 area^2) [Pa s2/m6], so that the
    pressure lost is f * loss * flow^2. reynolds_per_flow: (rows, 1 or cases) [s/m3]. roughness: relative, likewise.
    """

    section: Places
    loss: Floats
    reynolds_per_flow: Floats
    roughness: Floats

    @cached_property
    def rounds(self) -> tuple[slice, ...]:
        """Stretches of rows in which no section comes twice, so that adding them up is one step each."""
        falls = np.flatnonzero(np.diff(self.section) <= 0) + 1
        edges = [0, *falls.tolist(), len(self.section)]
        return tuple(slice(a, b) for a, b in pairwise(edges))


@dataclass(frozen=True)
class Numbers:
    """Everything that a solve needs beside topology; every array is (rows, 1) or (rows, cases).

    fixed: loss of fixed coefficients [Pa s2/m6]: pressure = fixed * flow^2.
    before: the part of `fixed` that lies ahead of the stretch whose joints leak.
    shut: 1 where the section holds a shut gate (its joints then leak at the suction of its end), else 0.
    closed: True where no air can pass (capped, or behind a tight shut gate).
    leak: joint leakage constant [m3/s/Pa^0.65].
    power: (sections, 1 or cases) resistance [Pa s^p/m^3p] of losses with the exponent `power_exponent`.
    source: (sections, 1 or cases) pressure [Pa] of a machine's own blower at the section's port.
    wye_load: (1, 1 or cases) by which losses at wyes grow (chips in the air); None is not at all.
    geometry: bores and angles where cases differ in them, None: those of the tree.
    """

    density_kg_m3: float
    fixed: Floats
    before: Floats
    shut: Floats
    closed: Flags
    leak: Floats
    friction: FrictionRows
    power: Floats | None = None
    power_exponent: float = 2.0
    source: Floats | None = None
    wye_load: Floats | None = None
    geometry: Geometry | None = None

    @property
    def cases(self) -> int:
        """Number of cases that the arrays span."""
        own = [getattr(self, f.name) for f in fields(self)]
        wide = [a.shape[1] for a in [*own, self.friction.loss] if isinstance(a, np.ndarray)]
        return int(max(*wide, 1 if self.geometry is None else self.geometry.cases))

    def take(self, columns: Places | slice) -> Numbers:
        """Return the numbers of some cases only."""

        def cut(a: NDArray[Any]) -> NDArray[Any]:
            return a if a.shape[1] == 1 else np.ascontiguousarray(a[:, columns])

        rows = self.friction
        return Numbers(
            self.density_kg_m3,
            cut(self.fixed),
            cut(self.before),
            cut(self.shut),
            cut(self.closed),
            cut(self.leak),
            FrictionRows(rows.section, cut(rows.loss), cut(rows.reynolds_per_flow), cut(rows.roughness)),
            None if self.power is None else cut(self.power),
            self.power_exponent,
            None if self.source is None else cut(self.source),
            None if self.wye_load is None else cut(self.wye_load),
            None if self.geometry is None else self.geometry.take(columns),
        )


def side_by_side(
    parts: Sequence[Numbers], widths: Sequence[int], geometries: Sequence[Geometry] | None = None
) -> Numbers:
    """Join batches of trees of one topology into one, each part stretched to its number of cases.

    geometries: the parts' bores and angles, where they differ; left out, all are those of one tree.
    """
    first = parts[0]

    def join(arrays: Sequence[NDArray[Any]]) -> NDArray[Any]:
        wide = [np.broadcast_to(a, (a.shape[0], width)) for a, width in zip(arrays, widths, strict=True)]
        return np.hstack(wide)

    def own(name: str) -> NDArray[Any]:
        return join([getattr(part, name) for part in parts])

    rows = _alike([part.friction for part in parts])
    friction = FrictionRows(
        rows[0].section,
        *(join([getattr(row, name) for row in rows]) for name in ("loss", "reynolds_per_flow", "roughness")),
    )
    power = None if first.power is None else own("power")
    source = None if first.source is None else own("source")
    wye_load = None
    if any(part.wye_load is not None for part in parts):
        wye_load = join([NO_LOAD if part.wye_load is None else part.wye_load for part in parts])
    geometry = None if geometries is None else geometries_side_by_side(geometries, widths)
    return Numbers(
        first.density_kg_m3, own("fixed"), own("before"), own("shut"), own("closed"), own("leak"),
        friction, power, first.power_exponent, source, wye_load, geometry,
    )


def _alike(parts: Sequence[FrictionRows]) -> list[FrictionRows]:
    """Return the parts' rows laid out alike; a section that has fewer than in another part gets some without loss."""
    if all(np.array_equal(part.section, parts[0].section) for part in parts):
        return list(parts)
    keys = [_places(part) for part in parts]
    order = {key: row for row, key in enumerate(sorted(set().union(*keys)))}
    section = np.array([section for _, section in order], dtype=np.intp)
    return [_laid_out(part, [order[key] for key in own], section) for part, own in zip(parts, keys, strict=True)]


def _places(rows: FrictionRows) -> list[tuple[int, int]]:
    """Return (place within the section, section) of each row."""
    seen: dict[int, int] = {}
    found = []
    for section in rows.section.tolist():
        seen[section] = seen.get(section, -1) + 1
        found.append((seen[section], section))
    return found


def _laid_out(rows: FrictionRows, where: Sequence[int], section: Places) -> FrictionRows:
    def spread(values: Floats, empty: float) -> Floats:
        result = np.full((len(section), values.shape[1]), empty)
        result[where] = values
        return result

    return FrictionRows(
        section, spread(rows.loss, 0.0), spread(rows.reynolds_per_flow, 1.0), spread(rows.roughness, 0.0)
    )
