"""Next pipe size up and down: each stretch, each bore in it, and a whole main of one size at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ductcalc.answers.improve.candidate import SECTION, Candidate
from ductcalc.catalog import is_adapter, sizes_for
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.change import Change, section_size, together
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, Run
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, by_section, in_run, rows_of, run_named, standing


def pipe_sizes(shop: Shop) -> Iterator[Candidate]:
    """Yield the next size up and down of every stretch, and of every main that has several stretches of one size."""
    for run in shop.runs:
        if run.is_outlet:
            continue
        uniform: dict[float, list[int]] = {}
        for number, pieces in by_section(run).items():
            sized = [one for one in pieces if not one.piece.traits.keeps_bore]
            bores = list(dict.fromkeys(one.bore_m for one in sized))
            if any(isinstance(one.bore_m, Rectangle) for one in pieces):
                continue
            for bore in bores:
                yield from _stretch(shop, run, number, bore, sized, len(bores) == 1)
            if len(bores) == 1 and pieces[0].piece.kind != "port":
                uniform.setdefault(bores[0], []).append(number)
        for bore, numbers in uniform.items():
            if len(numbers) > 1:
                yield from _main(shop, run, numbers, bore)


def next_sizes(shop: Shop, pieces: Sequence[PlacedPiece], bore_m: float) -> Iterator[float]:
    """Yield the next size up and the next one down in which all pipe and hose of some pieces is sold.

    Sizes that only an adapter sets apart are one size: 150 mm is 6 in.
    """
    sold = sizes_for(shop, [one.piece for one in pieces])
    others = sorted(size for size in sold if not is_adapter(size, bore_m))
    yield from [size for size in others if size > bore_m][:1]
    yield from [size for size in others if size < bore_m][-1:]


def _stretch(
    shop: Shop, run: Run, number: int, bore_m: float, sized: Sequence[PlacedPiece], whole: bool
) -> Iterator[Candidate]:
    mine = [one for one in sized if one.bore_m == bore_m]
    for size in next_sizes(shop, mine, bore_m):
        yield Candidate(
            "pipe size",
            section_size(run.name, number, size) if whole else bore_in_section(run.name, number, bore_m, size),
            "size",
            bore_m,
            size,
            run.name,
            mine[0].name,
            (mine[0].name,),
            rows_of(mine),
            touches=frozenset([_touch(run, number)]),
            rank=SECTION,
        )


def _main(shop: Shop, run: Run, numbers: Sequence[int], bore_m: float) -> Iterator[Candidate]:
    pieces = [one for one in standing(run) if one.section in numbers and not one.piece.traits.keeps_bore]
    for size in next_sizes(shop, pieces, bore_m):
        steps = [section_size(run.name, number, size) for number in numbers]
        yield Candidate(
            "main size",
            together(f"{run.name}, {len(numbers)} stretches: bore {1000.0 * size:.5g} mm", steps),
            "size",
            bore_m,
            size,
            run.name,
            None,
            tuple(f"{run.name} {number}" for number in numbers),
            rows_of(pieces),
            touches=frozenset(_touch(run, number) for number in numbers),
            rank=SECTION,
        )


def _touch(run: Run, number: int) -> tuple[str, str, int]:
    return ("bore", key_of(run.name), number)


def bore_in_section(run: str, number: int, bore_m: float, size_m: float) -> Change:
    """Give the pieces of one bore [m] in a section another one [m], and with them the reducers that lead to it."""

    def resized(one: PlacedPiece) -> Piece:
        goes_along = not one.piece.traits.keeps_bore or one.piece.kind == "reducer"
        here = one.section == number and one.bore_m == bore_m and goes_along
        return replace(one.piece, size_m=size_m) if here else one.piece

    def apply(shop: Shop) -> Shop:
        return in_run(shop, run, [resized(one) for one in standing(run_named(shop, run))])

    return Change(f"{run} {number}: bore {1000.0 * size_m:.5g} mm in place of {1000.0 * bore_m:.5g} mm", apply)
