"""What each stream of a wye loses, and how that changes with its own flow, the outlet's flow and one sum.

Every law has the form loss_i(Q_i, Q_c, S) with S a sum of one term per stream of the wye. The slopes in
those three are all that an exact elimination of the tree needs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats
from ductcalc.physics.junction import (
    FACTOR_SLOPE,
    LARGER_INLET_K,
    LEAST_FACTOR,
    RIGHT_ANGLE_DEG,
    SMALL_BRANCH_RATIO,
    SQUARE_ANGLE_DEG,
    ninety_degree_factor,
)
from ductcalc.solve.geometry import Geometry
from ductcalc.solve.tree import Tree, rows_of

Method = Literal["momentum", "handbook", "factored"]


@dataclass(frozen=True)
class StreamLosses:
    """Losses (streams, cases) [Pa] and their slopes.

    own: slope in the stream's own flow [Pa s/m3]. with_outlet, with_sum: slopes in the outlet's flow and in
    the sum, (wyes, cases) when all streams of a wye share them, else (streams, cases).
    sum_slope: slope of the wye's sum in the stream's own flow.
    """

    loss: Floats
    own: Floats
    with_outlet: Floats
    with_sum: Floats
    sum_slope: Floats


@dataclass(frozen=True)
class JunctionLaw:
    """A junction method on one tree: `shared` says that slopes in outlet flow and sum are alike for all streams.

    evaluate(density [kg/m3], stream flows (streams, cases), outlet flows (wyes, cases)); a density may be (1, cases).
    """

    shared: bool
    evaluate: Callable[[float | Floats, Floats, Floats], StreamLosses]


class _Shape(NamedTuple):
    """Geometry of every stream (streams, 1 or cases) and its wye."""

    tree: Tree
    area: Floats
    cosine: Floats
    outlet_area: Floats
    stream_outlet_area: Floats
    entry_k: Floats
    branch: Flags
    steep: Flags
    steep_run: Flags
    larger: Floats
    ninety: Floats

    @classmethod
    def of(cls, tree: Tree, geometry: Geometry) -> _Shape:
        angle = geometry.angles_deg
        area = geometry.end_area_m2[tree.stream_section]
        outlet = geometry.outlet_area_m2[tree.stream_wye]
        branch = angle > 0.0
        steep = (angle >= SQUARE_ANGLE_DEG) & (angle <= RIGHT_ANGLE_DEG)
        gentle = tree.sum_streams((branch & ~steep).astype(np.float64))
        any_steep = tree.sum_streams(steep.astype(np.float64))
        all_steep = ((gentle == 0.0) & (any_steep > 0.0))[tree.stream_wye]
        larger = LARGER_INLET_K * np.maximum(1.0 - outlet / area, 0.0)
        cosine = np.where(steep, 0.0, np.cos(np.radians(angle)))
        steep_run = ~branch & all_steep
        ninety = np.where(steep, ninety_degree_factor(area / outlet), 0.0)
        kinds = branch, steep, steep_run, larger, ninety
        return cls(tree, area, cosine, geometry.outlet_area_m2, outlet, geometry.entry_k, *kinds)

    @property
    def plain(self) -> bool:
        return not (self.steep.any() or self.larger.any())


def junction_law(tree: Tree, method: Method, geometry: Geometry | None = None) -> JunctionLaw:
    """Return the law of a method on a tree with a geometry, its own one if left out."""
    geometry = geometry or tree.geometry
    law = _method_law(_Shape.of(tree, geometry), method)
    return law if np.isnan(geometry.own_k).all() else _with_own(tree, geometry, law)


def _with_own(tree: Tree, geometry: Geometry, law: JunctionLaw) -> JunctionLaw:
    """Wyes whose coefficient the user wrote: every stream loses it on the outlet's VP."""
    own, written = np.nan_to_num(geometry.own_k), ~np.isnan(geometry.own_k)
    outlet_area = geometry.outlet_area_m2[tree.stream_wye]

    def evaluate(density: float | Floats, flow: Floats, outlet: Floats) -> StreamLosses:
        found = law.evaluate(density, flow, outlet)
        out = rows_of(outlet, tree.stream_wye)
        slope = own * density / outlet_area**2 * out
        spread = [tree.stream_wye] if law.shared else [slice(None)]
        return StreamLosses(
            np.where(written, 0.5 * slope * out, found.loss),
            np.where(written, 0.0, found.own),
            np.where(written, slope, found.with_outlet[spread[0]]),
            np.where(written, 0.0, np.broadcast_to(found.with_sum[spread[0]], flow.shape)),
            found.sum_slope,
        )

    return JunctionLaw(False, evaluate)


def _method_law(shape: _Shape, method: Method) -> JunctionLaw:
    if method == "handbook":
        return _handbook(shape)
    if method == "factored":
        return JunctionLaw(False, lambda density, flow, outlet: _factored(shape, density, flow, outlet))
    if shape.plain:
        return _momentum(shape)
    return JunctionLaw(False, lambda density, flow, outlet: _exceptions(shape, density, flow, outlet))


def _momentum(shape: _Shape) -> JunctionLaw:
    """Control-volume balance: one static pressure where the streams meet."""
    tree, per_area2 = shape.tree, 1.0 / shape.area**2
    per_outlet2, cos_per_area = 1.0 / shape.outlet_area**2, shape.cosine / shape.area

    def evaluate(density: float | Floats, flow: Floats, outlet: Floats) -> StreamLosses:
        own = (density * per_area2) * flow
        sum_slope = cos_per_area * flow
        meeting = tree.sum_streams(sum_slope * flow)
        with_outlet = (density * per_outlet2) * outlet
        with_sum = -density / shape.outlet_area
        common = (0.5 * with_outlet) * outlet + with_sum * meeting
        loss = (0.5 * own) * flow + rows_of(common, tree.stream_wye)
        return StreamLosses(loss, own, with_outlet, with_sum, 2.0 * sum_slope)

    return JunctionLaw(True, evaluate)


def _handbook(shape: _Shape) -> JunctionLaw:
    """Velocity-pressure sheet: entry coefficient on the branch, acceleration paid, nothing regained."""
    tree = shape.tree
    entry = 1.0 + shape.entry_k

    def evaluate(density: float | Floats, flow: Floats, outlet: Floats) -> StreamLosses:
        slope = density * flow / shape.area**2
        pressure = 0.5 * slope * flow
        weighted = tree.sum_streams(pressure * flow)
        safe = np.maximum(outlet, 1e-30)
        with_outlet_kinetic = density * outlet / shape.outlet_area**2
        kinetic = 0.5 * with_outlet_kinetic * outlet
        mean = weighted / safe
        slower = kinetic < mean
        with_outlet = np.where(slower, -with_outlet_kinetic, mean / safe)
        with_sum = np.where(slower, 0.0, -1.0 / safe)
        loss = pressure * entry - rows_of(np.where(slower, kinetic, mean), tree.stream_wye)
        return StreamLosses(loss, slope * entry, with_outlet, with_sum, 3.0 * pressure)

    return JunctionLaw(True, evaluate)


def _exceptions(shape: _Shape, density: float | Floats, flow: Floats, outlet: Floats) -> StreamLosses:
    return _and_larger(shape, _unlike(shape, shape.ninety, density, flow, outlet), density, outlet)


def _unlike(shape: _Shape, ninety: Floats, density: float | Floats, flow: Floats, outlet: Floats) -> StreamLosses:
    """Momentum with the forms for angles of 75 degrees and more."""
    tree = shape.tree
    out = rows_of(outlet, tree.stream_wye)
    per_outlet2 = density / shape.stream_outlet_area**2
    sum_slope = np.where(shape.steep_run, 0.0, 2.0 * shape.cosine * flow / shape.area)
    sum_term = np.where(shape.steep_run, 0.0, shape.cosine * flow**2 / shape.area)
    steep_only = shape.steep & _beside_steep_run(shape)
    sum_slope, sum_term = np.where(steep_only, 1.0, sum_slope), np.where(steep_only, flow, sum_term)
    total = tree.sum_streams(sum_term)[tree.stream_wye]
    own = density * flow / shape.area**2
    with_outlet = per_outlet2 * out
    with_sum = np.broadcast_to(-density / shape.stream_outlet_area, flow.shape)
    loss = 0.5 * own * flow + 0.5 * with_outlet * out + with_sum * total
    rest = out - flow
    steep = (
        ninety * (0.5 * own * flow + 0.5 * with_outlet * out - per_outlet2 * rest**2),
        ninety * (own + 2.0 * per_outlet2 * rest),
        ninety * (with_outlet - 2.0 * per_outlet2 * rest),
    )
    run = (
        0.5 * per_outlet2 * (1.55 * total * out - total**2),
        0.5 * per_outlet2 * 1.55 * total,
        0.5 * per_outlet2 * (1.55 * out - 2.0 * total),
    )
    loss = np.where(shape.steep, steep[0], np.where(shape.steep_run, run[0], loss))
    own = np.where(shape.steep, steep[1], np.where(shape.steep_run, 0.0, own))
    with_outlet = np.where(shape.steep, steep[2], np.where(shape.steep_run, run[1], with_outlet))
    with_sum = np.where(shape.steep, 0.0, np.where(shape.steep_run, run[2], with_sum))
    return StreamLosses(loss, own, with_outlet, with_sum, sum_slope)


def _and_larger(shape: _Shape, found: StreamLosses, density: float | Floats, outlet: Floats) -> StreamLosses:
    """Add what an inlet larger than the outlet costs, on the outlet's VP."""
    out = rows_of(outlet, shape.tree.stream_wye)
    slope = shape.larger * density / shape.stream_outlet_area**2 * out
    loss = found.loss + 0.5 * slope * out
    return StreamLosses(loss, found.own, found.with_outlet + slope, found.with_sum, found.sum_slope)


def _beside_steep_run(shape: _Shape) -> Flags:
    runs = shape.tree.sum_streams(shape.steep_run.astype(np.float64))
    return runs[shape.tree.stream_wye] > 0.0


def _factored(shape: _Shape, density: float | Floats, flow: Floats, outlet: Floats) -> StreamLosses:
    """Momentum with the empirical factor of later pipe-fitting handbooks on its branches."""
    base = _unlike(shape, np.where(shape.steep, 1.0, 0.0), density, flow, outlet)
    out = np.maximum(rows_of(outlet, shape.tree.stream_wye), 1e-30)
    share = flow / out
    falling = FACTOR_SLOPE * (1.0 - share)
    wide = shape.branch & (shape.area > SMALL_BRANCH_RATIO * shape.stream_outlet_area)
    factor = np.where(wide, np.maximum(falling, LEAST_FACTOR), 1.0)
    turn = np.where(wide & (falling > LEAST_FACTOR), -FACTOR_SLOPE / out, 0.0)
    found = StreamLosses(
        factor * base.loss,
        factor * base.own + turn * base.loss,
        factor * base.with_outlet - turn * share * base.loss,
        factor * base.with_sum,
        base.sum_slope,
    )
    return _and_larger(shape, found, density, outlet)
