"""What no row names and every duct needs: hangers and sealant by stated spacing and yield, hose clamps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil, pi

from ductcalc.answers.parts.lengths import Lengths
from ductcalc.answers.parts.rules import Rules
from ductcalc.answers.parts.uses import HOSE, Source, Stretch, Use
from ductcalc.catalog import fact
from ductcalc.errors import Place
from ductcalc.model.loss import Loss
from ductcalc.shop.hanging import Wye
from ductcalc.shop.names import key_of
from ductcalc.shop.parts import PartName

ROUNDING = 1e-9


def hangers(used: Sequence[Use], rules: Rules) -> Iterator[Use]:
    """Yield hangers by row: one for each started spacing of pipe of one size in one run.

    A row stands for those hangers that its length adds to the rows of its run and size before it.
    """
    so_far: dict[tuple[str, tuple[float, ...]], float] = {}
    for use in used:
        if use.name.kind != "pipe":
            continue
        key = (use.source.run, use.name.sizes_m)
        before = so_far.get(key, 0.0)
        after = so_far[key] = before + (use.source.length_m or 0.0)
        count = _started(after, rules.hanger_spacing_m) - _started(before, rules.hanger_spacing_m)
        source = Source(use.source.run, use.source.place, count, use.source.length_m)
        yield Use(PartName("hanger", None, use.name.sizes_m), source, True)


def _started(length_m: float, spacing_m: float) -> int:
    return ceil(length_m / spacing_m - ROUNDING)


def clamps(plans: Sequence[Lengths]) -> Iterator[Use]:
    """Yield the clamps of each piece of hose, those at a coupling of two hoses among them."""
    each = round(fact("parts", "clamps").value)
    for plan in plans:
        if plan.name.kind == "flex":
            for source in (*plan.sources, *plan.couplings):
                clamped = Source(source.run, source.place, each * source.count)
                yield Use(PartName("clamp", None, plan.name.sizes_m), clamped, True)


def seams(
    wyes: Sequence[Wye], stretches: Sequence[Stretch], used: Sequence[Use], plans: Sequence[Lengths]
) -> Iterator[Source]:
    """Yield every joint that is sealed, with the length around it [m]; the ends of hoses are clamped instead.

    used: what the table takes, without the couplings of the plans. A joint belongs to the row behind it. A coupling
    between two rows makes two joints of one, a coupling within a row makes two more.
    """
    for stretch in stretches:
        yield from _seams_of(stretch)
    for wye in wyes:
        closed = sum(key_of(name) == "cap" for name in wye.hung.piece.joins)
        if closed:
            yield _seam(wye.hung.run, wye.hung.piece.place, wye.hung.bore_m, closed)
    for use in used:
        if use.name.kind == "elbow" and use.source.count > 1:
            yield _seam(use.source.run, use.source.place, use.name.sizes_m[0], use.source.count - 1)
        elif use.name.kind == "coupling" and use.name.style != HOSE:
            yield _seam(use.source.run, use.source.place, use.name.sizes_m[0], use.source.count)
    for plan in plans:
        for source in plan.couplings if plan.name.kind == "pipe" else ():
            yield _seam(source.run, source.place, plan.name.sizes_m[0], 2 * source.count)


def _seam(run: str, place: Place | None, bore_m: float, count: int) -> Source:
    return Source(run, place, count, count * pi * bore_m)


End = tuple[bool, float, float, Place | None]
"""A thing in the line: whether it is hose, its bores [m] upstream and downstream, its row."""


def _seams_of(stretch: Stretch) -> Iterator[Source]:
    first = stretch.heads[0] if stretch.heads else ()
    collector = stretch.ends_at.place if stretch.ends_at is not None else None
    # a collector row with a coefficient of its own is a loss as well as the end
    line = [_end(loss) for loss in (*first, *stretch.body) if loss.kind != "other" or loss.place != collector]
    if stretch.starts_at is not None:
        line.insert(0, (False, stretch.start_bore_m, stretch.start_bore_m, stretch.starts_at.place))
    if stretch.ends_at is not None:
        bore = stretch.pieces[-1].bore_m if stretch.pieces else stretch.start_bore_m
        line.append((False, bore, bore, stretch.ends_at.place))
    yield from _between(line, stretch.run)
    for other in stretch.heads[1:]:
        # the shared hose itself is put on by hand
        yield from _between([_end(loss) for loss in other if loss.assumed or loss.kind == "machine"], stretch.run)


def _end(loss: Loss) -> End:
    before, after = loss.ends_m or (loss.bore_m, loss.bore_m)
    return loss.kind == "hose", before, after, loss.place


def _between(line: Sequence[End], run: str) -> Iterator[Source]:
    for (hose, _, _, _), (next_hose, bore, _, place) in pairwise(line):
        if not hose and not next_hose:
            yield _seam(run, place, bore, 1)
