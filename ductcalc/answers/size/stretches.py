"""The design as a whole: stretches that keep one size, the sizes each may have, and the shop hung in them.

A design is one bore [m] for each stretch. Rules of the trade that every design keeps: nothing is smaller than what
flows into it, a drop has at least its port's size and at most one more, hose, gate and elbows have the stretch's size,
and written reducers follow the sizes around them.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf

from ductcalc.arrays import Flags
from ductcalc.catalog import is_adapter, sizes_for
from ductcalc.errors import InputError, Problem
from ductcalc.model.model import Model
from ductcalc.shop.bore import RECTANGULAR, Rectangle
from ductcalc.shop.hanging import Hanging, HungPiece, Section, hang, sized
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Run
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import SAME_M, PlacedPiece, in_sizes, section_ends, standing, title_between
from ductcalc.units.wording import quoted

Design = tuple[float, ...]
ASKED, UNUSED, NOTHING = "kept as asked", "no set uses it", "nothing in it to size"
HARDLY = 0.1
"""Share by which a size must differ from every one that hangs already to be worth stocking; our judgement."""


def narrower(bore_m: float, other_m: float) -> bool:
    """Whether a bore is a smaller size than another, and not the same one in another make."""
    return bore_m < other_m - SAME_M and not is_adapter(bore_m, other_m)


@dataclass(frozen=True)
class Stretch:
    """A stretch of straight-through duct as the table writes it: run and number, as `trunk 2`.

    sections: its own, those of runs that copy it, and a main's capped end with the stretch that it lengthens, by
    number. now_m: bores [m] of its pieces as written, each once.
    sizes_m: the bores [m] it may have, rising; of a held stretch none. port_m: its largest port, 0 without one.
    shared: air of several machines passes. title: its name for people. ends: where it begins and ends. copies: how many
    sections are written by copying it. held: why it is not chosen.
    """

    name: str
    run: str
    number: int
    sections: tuple[int, ...]
    now_m: tuple[float, ...]
    sizes_m: tuple[float, ...]
    port_m: float
    shared: bool
    title: str
    ends: tuple[str, str] = ("", "")
    copies: int = 0
    held: str | None = None

    @property
    def written_m(self) -> float:
        """Its largest bore [m] as written."""
        return max(self.now_m)

    def next_size(self, bore_m: float, steps: int) -> float | None:
        """Return the next size up (1) or down (-1), None where there is none."""
        if steps > 0:
            return next((size for size in self.sizes_m if size > bore_m + SAME_M), None)
        return next((size for size in reversed(self.sizes_m) if size < bore_m - SAME_M), None)


@dataclass(frozen=True)
class Plan:
    """A shop with every size written out, how it hangs together, and its stretches."""

    shop: Shop
    hanging: Hanging
    stretches: tuple[Stretch, ...]
    _hung: dict[tuple[int, Design], Run] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def of_section(self) -> tuple[int, ...]:
        """The stretch of each section."""
        found = {section: n for n, stretch in enumerate(self.stretches) for section in stretch.sections}
        return tuple(found[section] for section in range(len(found)))

    @cached_property
    def joints(self) -> tuple[tuple[int, int, bool], ...]:
        """Stretches that flow into one another at wyes, in the order of the air: from, to, whether straight on."""
        at = self.of_section
        wyes = self.hanging.wyes
        found = ((at[s.section], at[wye.outlet], s.straight) for wye in wyes for s in wye.streams)
        return tuple(dict.fromkeys(found))

    @property
    def free(self) -> tuple[int, ...]:
        """Stretches that are chosen."""
        return tuple(number for number, stretch in enumerate(self.stretches) if stretch.sizes_m)

    @property
    def written(self) -> Design:
        """The largest bore of each stretch as written."""
        return tuple(stretch.written_m for stretch in self.stretches)

    def breaks(self) -> tuple[str, ...]:
        """Return in words which rules the sizes as written break, stretch by stretch."""
        free = [stretch for stretch in self.stretches if stretch.sizes_m]
        under = [f"{one.title} is under its port" for one in free if narrower(min(one.now_m), one.port_m)]
        pairs = ((self.stretches[start], self.stretches[to]) for start, to, _ in self.joints)
        narrow = [
            f"{to.title} is narrower than {start.title} that flows into it"
            for start, to in pairs
            if to.sizes_m and narrower(min(to.now_m), min(start.now_m))
        ]
        return (*under, *narrow)

    def upward(self, design: Sequence[float]) -> Design | None:
        """Return the design with everything as wide as what flows into it; None where no such size is sold."""
        bores = list(design)
        for start, to, _ in self.joints:
            if bores[to] < bores[start] - SAME_M and self.stretches[to].sizes_m:
                wider = [size for size in self.stretches[to].sizes_m if size >= bores[start] - SAME_M]
                if not wider:
                    return None
                bores[to] = wider[0]
        return tuple(bores)

    def downward(self, design: Sequence[float]) -> Design | None:
        """Return the design with everything as narrow as what it flows into; None where no such size may be."""
        bores = list(design)
        for start, to, _ in reversed(self.joints):
            if bores[start] > bores[to] + SAME_M and self.stretches[start].sizes_m and self.stretches[to].sizes_m:
                narrower = [size for size in self.stretches[start].sizes_m if size <= bores[to] + SAME_M]
                if not narrower:
                    return None
                bores[start] = narrower[-1]
        return tuple(bores)

    def step(self, design: Design, number: int, steps: int) -> Design | None:
        """Return the design with one stretch a size up (1) or down (-1), all others following the rules."""
        size = self.stretches[number].next_size(design[number], steps)
        if size is None:
            return None
        moved = [*design[:number], size, *design[number + 1 :]]
        return self.upward(moved) if steps > 0 else self.downward(moved)

    def taken_back(self, design: Design, numbers: Sequence[int]) -> tuple[Design | None, Design | None]:
        """Return the design with some stretches as near as may be to what is written, the rules kept up or down."""
        bores = list(design)
        for number in numbers:
            written = self.stretches[number].written_m
            bores[number] = min(self.stretches[number].sizes_m, key=lambda size, now=written: abs(size - now))  # type: ignore[misc]
        return self.upward(bores), self.downward(bores)

    def whole(self, design: Design, steps: int) -> Design | None:
        """Return the design with all that several machines share a size up or down; None where nothing can move."""
        shared = [n for n in self.free if self.stretches[n].shared] or list(self.free)
        bores = list(design)
        for number in shared:
            bores[number] = self.stretches[number].next_size(design[number], steps) or design[number]
        found = self.upward(bores)
        return None if found is None or found == design else found

    def hung(self, design: Design) -> Shop:
        """Return the shop with a design's sizes."""
        runs = tuple(self._run(number, design) for number in range(len(self.shop.runs)))
        return replace(self.shop, runs=runs)

    @cached_property
    def _placed(self) -> tuple[tuple[tuple[PlacedPiece, int], ...], ...]:
        """For each run its pieces with the stretch of each; nothing for runs that copy another or lie behind."""
        named = ((n, self.hanging.sections[section]) for n, s in enumerate(self.stretches) for section in s.sections)
        by_name = {(key_of(section.run), _place(section)): n for n, section in named}
        found = []
        for run in self.shop.runs:
            own = run.pieces[0].kind not in ("like", "collector")
            found.append(tuple((p, by_name[key_of(run.name), max(p.section, 1)]) for p in standing(run)) if own else ())
        return tuple(found)

    def _run(self, number: int, design: Design) -> Run:
        run, placed = self.shop.runs[number], self._placed[number]
        if not placed:
            return run
        key = number, tuple(design[stretch] for stretch in dict.fromkeys(stretch for _, stretch in placed))
        if key not in self._hung:
            at = {one.section: stretch for one, stretch in placed}

            def size_of(one: PlacedPiece) -> float | None:
                return design[at[one.section]] if self.stretches[at[one.section]].sizes_m else None

            self._hung[key] = replace(run, pieces=tuple(in_sizes([one for one, _ in placed], size_of)))
        return self._hung[key]


def plan_of(model: Model, keep: Iterable[str] = (), used: Flags | None = None) -> Plan:
    """Return the stretches of a model's shop and what each may be.

    keep: runs that stay as written. used: sections (sections,) that some set uses, None for all of them.
    Raises InputError when a run to keep is not there.
    """
    shop = replace(model.shop, runs=tuple(_written(run) for run in model.shop.runs))
    hanging = hang(shop, sound=True)
    sources = {key_of(run.name): key_of(_source(shop, run).name) for run in shop.runs}
    kept = {sources[run_named(shop, name)] for name in keep}
    grouped: dict[tuple[str, int], list[int]] = {}
    ahead = _stubs(hanging)
    for number in sorted(range(len(hanging.sections)), key=ahead.__contains__):
        end = number
        while end in ahead:
            end = ahead[end]
        section = hanging.sections[end]
        grouped.setdefault((sources[key_of(section.run)], _place(section)), []).append(number)
    idle = {key for key, numbers in grouped.items() if used is not None and not any(used[n] for n in numbers)}
    held = {key: ASKED if key[0] in kept else UNUSED if key in idle else None for key in grouped}
    for key, numbers in grouped.items():
        if any(isinstance(hung.bore_m, Rectangle) for hung in hanging.sections[numbers[0]].pieces):
            held[key] = held[key] or RECTANGULAR
    around = _Around(model, shop, hanging, {n for key, numbers in grouped.items() if held[key] for n in numbers})
    found = [around.stretch(_run_of(shop, key[0]), numbers, held[key]) for key, numbers in grouped.items()]
    order = {run.name: number for number, run in enumerate(shop.runs)}
    return Plan(shop, hanging, tuple(sorted(found, key=lambda one: (order[one.run], one.number))))


def run_named(shop: Shop, name: str) -> str:
    """Return the form in which a run's name is compared; raises InputError when there is no such run."""
    runs = {key_of(run.name): run.name for run in shop.runs}
    if key_of(name) in runs:
        return key_of(name)
    near = difflib.get_close_matches(key_of(name), list(runs), cutoff=0.5)
    hint = f"did you mean {runs[near[0]]}?" if near else "runs: " + ", ".join(runs.values())
    raise InputError([Problem(f"no run is named {quoted(name)}", hint, given=name)])


def _place(section: Section) -> int:
    """Return which one of its run a section is, from 1 on."""
    return int(section.name.rsplit(" ", 1)[1])


def _stubs(hanging: Hanging) -> dict[int, int]:
    """Return sections at a main's capped end, which no port's air passes, and which one each lengthens."""
    passed = {port.section for port in hanging.ports}
    for wye in hanging.wyes:
        if any(stream.section in passed for stream in wye.streams):
            passed.add(wye.outlet)
    straight = ((s.section, wye.outlet) for wye in hanging.wyes for s in wye.streams if s.straight)
    run = [section.run for section in hanging.sections]
    return {start: to for start, to in straight if start not in passed and run[start] == run[to]}


def _written(run: Run) -> Run:
    if run.pieces[0].kind in ("like", "collector") or all(piece.size_m is None for piece in run.pieces):
        return run
    return sized(run)


def _run_of(shop: Shop, key: str) -> Run:
    return next(run for run in shop.runs if key_of(run.name) == key)


def _source(shop: Shop, run: Run) -> Run:
    """Return the run whose rows stand for this one: itself, or the one that it copies."""
    for _ in shop.runs:
        if run.pieces[0].kind != "like":
            break
        run = _run_of(shop, key_of(run.pieces[0].joins[0]))
    return run


class _Around:
    """What the sizes of a stretch hang on: sizes used in the shop, ports and held duct up and down the air's way.

    least, most: what is up the way and held down the way [m] (sections,). ports: largest port [m] (sections,).
    """

    def __init__(self, model: Model, shop: Shop, hanging: Hanging, held: set[int]) -> None:
        self.model, self.shop, self.hanging = model, shop, hanging
        self.used = {
            hung.bore_m for s in hanging.sections for hung in _sized(s) if not isinstance(hung.bore_m, Rectangle)
        }
        self.least, self.most = [0.0] * len(hanging.sections), [inf] * len(hanging.sections)
        self.machines: list[set[str]] = [set() for _ in hanging.sections]
        for port in hanging.ports:
            self.least[port.section] = max(self.least[port.section], port.hung.bore_m)
            self.machines[port.section].add(key_of(port.machine))
        self.ports = tuple(self.least)
        self.ends = section_ends(hanging)
        for number in held:
            if hanging.sections[number].starts != "cap":
                bores = [hung.bore_m for hung in _sized(hanging.sections[number])] or [hanging.sections[number].bore_m]
                self.least[number], self.most[number] = max(self.least[number], *bores), min(bores)
        for wye in reversed(hanging.wyes):
            for stream in wye.streams:
                self.most[stream.section] = min(self.most[stream.section], self.most[wye.outlet])
        for wye in hanging.wyes:
            for stream in wye.streams:
                self.least[wye.outlet] = max(self.least[wye.outlet], self.least[stream.section])
                self.machines[wye.outlet] |= self.machines[stream.section]

    def stretch(self, run: Run, numbers: Sequence[int], held: str | None) -> Stretch:
        sections = [self.hanging.sections[number] for number in numbers]
        first, own = sections[0], [section for section in sections if section.run == sections[0].run]
        sized_pieces = [hung for section in own for hung in _sized(section)]
        bores = [hung.bore_m for hung in sized_pieces] + ([first.bore_m] if first.starts == "wye" else [])
        now = tuple(dict.fromkeys(bores)) or (first.bore_m,)
        port = max(self.ports[number] for number in numbers)
        held = NOTHING if not bores else None if held == UNUSED and first.starts == "cap" else held
        sizes: tuple[float, ...] = ()
        if not held:
            found = tuple(self._sizes(sized_pieces, max(self.least[n] for n in numbers), port, max(now)))
            sizes = tuple(s for s in found if s <= min(self.most[n] for n in numbers) + SAME_M) or found[:1]
        return Stretch(
            f"{run.name} {_place(first)}",
            run.name,
            _place(first),
            tuple(numbers),
            now,
            sizes,
            port,
            any(len(self.machines[number]) > 1 for number in numbers),
            title_between(run.name, *self.ends[numbers[0]]),
            self.ends[numbers[0]],
            len(sections) - len(own),
            held if sizes or held else NOTHING,
        )

    def _sizes(self, pieces: Sequence[HungPiece], least_m: float, port_m: float, now_m: float) -> Iterator[float]:
        """Yield the sizes sold and used that may hang here: from the least on, in a drop to one more or as written.

        A size that is hardly another than one that is used is not brought in beside it.
        """
        sold = sizes_for(self.shop, [hung.piece for hung in pieces])
        new = {size for size in sold if all(abs(size - used) > HARDLY * used for used in self.used)}
        sizes = sorted(new | self.used)
        fits = [size for size in sizes if size >= least_m - SAME_M]
        if not fits or not is_adapter(fits[0], least_m):
            fits = [size for size in sizes if size < least_m and is_adapter(size, least_m)][-1:] + fits
        if not port_m:
            yield from fits
            return
        one_up = next((size for size in fits[1:] if not is_adapter(size, fits[0])), 0.0)
        apart = (size for size in fits if size in (fits[0], now_m) or not is_adapter(size, fits[0]))
        yield from (size for size in apart if size <= max(one_up, now_m, fits[0]) + SAME_M)


def _sized(section: Section) -> Iterator[HungPiece]:
    return (hung for hung in section.pieces if not hung.piece.traits.keeps_bore)
