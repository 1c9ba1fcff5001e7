"""The stretches whose bore may be chosen, the sizes sold for each, and the shop with a choice of them."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.parts.uses import HOSE, pipe_make
from ductcalc.catalog import default_style, sizes_sold
from ductcalc.errors import InputError, Problem
from ductcalc.shop.change import changed, section_size
from ductcalc.shop.hanging import Hanging, HungPiece, hang, sized
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Run
from ductcalc.shop.shop import Shop
from ductcalc.units.wording import quoted

Places = NDArray[np.intp]
"""Pieces that keep the size that is written for them: what they are screwed to decides it."""

ASKED, UNUSED, NOTHING = "kept as asked", "no set uses it", "nothing in it to size"
SAME_M = 1e-6


@dataclass(frozen=True)
class Stretch:
    """A stretch of straight-through pipe as the table writes it: run and number, as `trunk 2`.

    sections: its own and those of runs that copy it, by number. now_m: bores [m] of its pieces as written, each once.
    sizes_m: the bores [m] that may be chosen, rising; of a held stretch none. held: why it is not chosen.
    """

    name: str
    run: str
    number: int
    sections: tuple[int, ...]
    now_m: tuple[float, ...]
    sizes_m: tuple[float, ...]
    held: str | None = None

    @property
    def ways(self) -> int:
        """How many ways there are to have it: its sizes, or one as it stands."""
        return max(1, len(self.sizes_m))


@dataclass(frozen=True)
class Plan:
    """A shop with every size written out, and its stretches. Places are one number of a size for each stretch."""

    shop: Shop
    hanging: Hanging
    stretches: tuple[Stretch, ...]

    @cached_property
    def ways(self) -> Places:
        """Ways to have each stretch (stretches,)."""
        return np.array([stretch.ways for stretch in self.stretches], dtype=np.intp)

    @property
    def possible(self) -> int:
        """How many sizings there are."""
        found = 1
        for stretch in self.stretches:
            found *= stretch.ways
        return found

    @cached_property
    def stretch_of(self) -> Places:
        """The stretch of each section (sections,)."""
        found = np.zeros(len(self.hanging.sections), dtype=np.intp)
        for number, stretch in enumerate(self.stretches):
            found[list(stretch.sections)] = number
        return found

    def size_m(self, number: int, place: int) -> float | None:
        """Return the bore [m] at a place of a stretch, None of a held one."""
        sizes = self.stretches[number].sizes_m
        return sizes[place] if sizes else None

    def with_sizes(self, places: Sequence[int] | Places) -> Shop:
        """Return the shop with the sizes at these places; what is as written already is no change."""
        changes = []
        for stretch, place in zip(self.stretches, places, strict=True):
            if stretch.sizes_m and not same_bores(stretch.now_m, stretch.sizes_m[int(place)]):
                changes.append(section_size(stretch.run, stretch.number, stretch.sizes_m[int(place)]))
        return changed(self.shop, changes)

    def nearest(self) -> Places:
        """Return the places nearest to what is written (stretches,)."""
        places = np.zeros(len(self.stretches), dtype=np.intp)
        for number, stretch in enumerate(self.stretches):
            if stretch.sizes_m:
                now = max(stretch.now_m)
                places[number] = min(range(stretch.ways), key=lambda n: abs(stretch.sizes_m[n] - now))
        return places


def same_bores(now_m: Sequence[float], size_m: float) -> bool:
    """Whether all pieces have this bore already."""
    return all(abs(bore - size_m) < SAME_M for bore in now_m)


def plan_of(shop: Shop, keep: Iterable[str] = (), used: NDArray[np.bool_] | None = None) -> Plan:
    """Return the stretches of a shop and what may be chosen for each.

    keep: runs that stay as written. used: sections (sections,) that some set uses, None for all of them.
    Raises InputError when a run to keep is not there, or the runs do not hang together.
    """
    written = written_out(shop)
    hanging = hang(written)
    kept = {run_named(written, name) for name in keep}
    sources = {key_of(run.name): key_of(_source(written, run).name) for run in written.runs}
    grouped: dict[tuple[str, int], list[int]] = {}
    for number, section in enumerate(hanging.sections):
        place = int(section.name.rsplit(" ", 1)[1])
        grouped.setdefault((sources[key_of(section.run)], place), []).append(number)
    held = {sources[key] for key in kept}
    stretches = [
        _stretch(written, hanging, place, numbers, run in held, used is None or bool(used[numbers].any()))
        for (run, place), numbers in grouped.items()
    ]
    order = {key_of(run.name): number for number, run in enumerate(written.runs)}
    return Plan(written, hanging, tuple(sorted(stretches, key=lambda s: (order[key_of(s.run)], s.number))))


def written_out(shop: Shop) -> Shop:
    """Return the shop with the size of every piece written, so that a change of one stretch moves no other one."""
    return replace(shop, runs=tuple(_written(run) for run in shop.runs))


def _written(run: Run) -> Run:
    if run.pieces[0].kind in ("like", "collector") or all(piece.size_m is None for piece in run.pieces):
        return run
    return sized(run)


def run_named(shop: Shop, name: str) -> str:
    """Return the form in which a run's name is compared; raises InputError when there is no such run."""
    runs = {key_of(run.name): run.name for run in shop.runs}
    if key_of(name) in runs:
        return key_of(name)
    near = difflib.get_close_matches(key_of(name), list(runs), n=1, cutoff=0.5)
    hint = f"did you mean {runs[near[0]]}?" if near else "runs: " + ", ".join(runs.values())
    raise InputError([Problem(f"no run is named {quoted(name)}", hint, given=name)])


def _source(shop: Shop, run: Run) -> Run:
    """Return the run whose rows stand for this one: itself, or the one that it copies."""
    runs = {key_of(one.name): one for one in shop.runs}
    for _ in shop.runs:
        if run.pieces[0].kind != "like" or key_of(run.pieces[0].joins[0]) not in runs:
            break
        run = runs[key_of(run.pieces[0].joins[0])]
    return run


def _stretch(shop: Shop, hanging: Hanging, place: int, numbers: Sequence[int], kept: bool, used: bool) -> Stretch:
    first = hanging.sections[numbers[0]]
    run = _source(shop, next(run for run in shop.runs if key_of(run.name) == key_of(first.run)))
    sized = [hung for hung in first.pieces if not hung.piece.traits.keeps_bore]
    bores = [hung.bore_m for hung in sized] + ([first.bore_m] if first.starts == "wye" else [])
    held = ASKED if kept else NOTHING if not bores else None if used else UNUSED
    now = tuple(dict.fromkeys(bores)) or (first.bore_m,)
    sizes = () if held else sizes_for(shop, sized)
    return Stretch(f"{run.name} {place}", run.name, place, tuple(numbers), now, sizes, held)


def sizes_for(shop: Shop, pieces: Iterable[HungPiece]) -> tuple[float, ...]:
    """Return the bores [m] in which all pipe and hose among some pieces is sold, rising.

    The shop's own list stands for every make. A make without a list in the shop's units is taken as sold in all sizes
    of the default make. Source: table `sizes`, rows of kind size.
    """
    if shop.settings.size.sizes_m:
        return shop.settings.size.sizes_m
    unit = "mm" if shop.system == "metric" else "in"
    makes = {pipe_make(h.piece) if h.piece.kind == "pipe" else HOSE for h in pieces if h.piece.traits.has_length}
    common = sizes_sold(default_style("pipe") or "", unit)
    lists = [sizes_sold(make, unit) or common for make in sorted(makes)] or [common]
    found = set(lists[0]).intersection(*lists[1:])
    return tuple(sorted(found)) or common
