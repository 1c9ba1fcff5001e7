"""Where a tube can be held, and what it reads there in solved cases: static suction, speed, drop across the filter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from ductcalc.arrays import Flags, Floats, Places
from ductcalc.cases.variants import Found
from ductcalc.catalog import fact
from ductcalc.model.decided import Pick
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model
from ductcalc.model.numbers import shut_extra, stretch_numbers
from ductcalc.model.sections import ModelSection
from ductcalc.physics.velocity import bore_area, velocity_pressure
from ductcalc.shop.change import HOLE
from ductcalc.shop.names import key_of
from ductcalc.shop.readings import Where
from ductcalc.solve.losses import first_root, section_losses
from ductcalc.solve.newton import Solved
from ductcalc.units.display import to_display

TapKind = Literal["port", "at", "gate", "end", "collector inlet", "filter", "blower outlet"]
INLET: TapKind = "collector inlet"
FILTER: TapKind = "filter"
OUTLET: TapKind = "blower outlet"
SAME_PLACE_M = 0.01
"""Two places along a run that are so near each other are the same: distances are written to a few digits."""


@dataclass(frozen=True)
class Tap:
    """A place where a tube is held. where: as readings.csv writes it.

    section: whose air passes. behind: what that air has yet to pass to the section's end; part, share: the piece in
    which the tap sits, and how much of it lies behind the tap. bore_m: of the duct there [m].
    """

    kind: TapKind
    where: str
    section: int
    bore_m: float
    behind: tuple[Loss, ...] = ()
    part: Loss | None = None
    share: float = 0.0

    @property
    def in_duct(self) -> bool:
        """Whether it is a hole in a duct with air passing, where static suction and speed can be read."""
        return self.kind not in (FILTER, OUTLET)


class Taps:
    """Finds taps of a model by what is written of them."""

    def __init__(self, model: Model) -> None:
        """Take a model; its runs are looked at when they are asked for."""
        self.model = model
        self.of_run: dict[str, list[int]] = {}
        for number, section in enumerate(model.sections):
            self.of_run.setdefault(key_of(section.run), []).append(number)

    def port(self, run: str) -> Tap | None:
        """Behind the machine: three bores down its pipe, or where its hose begins; None without a machine there."""
        first = self.of_run[key_of(run)][0]
        section = self.model.sections[first]
        if not section.heads:
            return None
        body, name = section.body, f"port {section.run}"
        if body and body[0].kind == "pipe" and body[0].length_m > 0.0:
            distance = min(fact("measuring", "tap distance").value * body[0].bore_m, 0.5 * body[0].length_m)
            return Tap("port", name, first, body[0].bore_m, body[1:], body[0], 1.0 - distance / body[0].length_m)
        return Tap("port", name, first, _bore_ahead(section), body)

    def gate(self, run: str) -> Tap | None:
        """Behind the run's first gate, towards the main."""
        for number in self.of_run[key_of(run)]:
            section = self.model.sections[number]
            for place, loss in enumerate(section.body):
                if loss.shut_k is not None:
                    return Tap("gate", f"gate {section.run}", number, loss.bore_m, section.body[place + 1 :])
        return None

    def gate_distance_m(self, run: str) -> float | None:
        """How far [m] along the run its first gate stands."""
        walked = 0.0
        for number in self.of_run[key_of(run)]:
            for loss in self.model.sections[number].body:
                if loss.shut_k is not None:
                    return walked
                walked += loss.length_m
        return None

    def end(self, run: str) -> Tap | None:
        """Just before the wye where the run joins; None for the one that ends at the collector."""
        last = self.of_run[key_of(run)][-1]
        if last == self.model.tree.root:
            return None
        section = self.model.sections[last]
        return Tap("end", f"end {section.run}", last, section.end_bore_m)

    def at(self, run: str, distance_m: float, written: str | None = None) -> Tap | None:
        """So far [m] along the run, on the machine's side of what stands there; None beyond its end."""
        walked = 0.0
        for number in self.of_run[key_of(run)]:
            section = self.model.sections[number]
            for place, loss in enumerate(section.body):
                walked += loss.length_m
                if loss.length_m > 0.0 and walked >= distance_m - SAME_PLACE_M:
                    share = min(max((walked - distance_m) / loss.length_m, 0.0), 1.0)
                    name = f"{section.run} at {self._written(distance_m)}" if written is None else written
                    return Tap("at", name, number, loss.bore_m, section.body[place + 1 :], loss, share)
        return None

    def _written(self, distance_m: float) -> str:
        """Return a distance along a run as a person of the shop writes it."""
        number, unit = to_display(distance_m, "length", self.model.shop.system)
        return f"{number:.4g} {unit}"

    def length_m(self, run: str) -> float:
        """Length of pipe and hose [m] of a run."""
        return sum(self.model.sections[number].length_m for number in self.of_run[key_of(run)])

    def find(self, where: Where) -> Tap | None:
        """Return the tap that a reading names; None where the model has no such place."""
        match where.word:
            case "port" | "gate" | "end" | "at":
                assert where.run is not None
                if where.word == "at":
                    return self.at(where.run, where.distance_m or 0.0, where.written)
                found: Tap | None = getattr(self, where.word)(where.run)
                return found
            case "collector inlet":
                return self.inlet
            case "filter":
                return self.filter
            case "blower outlet":
                return self.outlet
            case "motor":
                return None

    @property
    def inlet(self) -> Tap:
        """The collector's inlet, where the duct ends; ahead of a hole that stands right before the collector."""
        root, tree = self.model.tree.root, self.model.tree
        above = tree.wye_above[root]
        if above >= 0 and not self.model.sections[root].length_m:
            streams = tree.wyes[above].streams
            if any(key_of(self.model.sections[stream].run).startswith(HOLE) for stream in streams):
                root = streams[tree.wyes[above].straight.index(True)]
        return Tap(INLET, INLET, root, self.model.sections[root].end_bore_m)

    @property
    def filter(self) -> Tap | None:
        """Across the filter; None where there is none."""
        made = self.model.collector
        if made is None or made.filter_at("clean") is None:
            return None
        return Tap(FILTER, FILTER, self.model.tree.root, self.model.sections[-1].end_bore_m)

    @property
    def outlet(self) -> Tap | None:
        """Where the outlet duct begins; None without one."""
        made = self.model.collector
        if made is None or not made.outlet or made.outlet_bore_m is None:
            return None
        return Tap(OUTLET, OUTLET, self.model.tree.root, made.outlet_bore_m)

    def of_runs(self) -> Iterator[Tap]:
        """Yield the taps worth drilling in the order of a walk: each run from its machine to its end, the collector."""
        for run in self.model.shop.runs:
            if key_of(run.name) in self.of_run:
                yield from self._of_run(run.name)
        yield self.inlet
        if self.filter is not None:
            yield self.filter

    def ahead_of_wyes(self) -> Iterator[Tap]:
        """Yield the taps of every main ahead of each of its wyes, beside those of a walk."""
        for sections in self.of_run.values():
            walked = 0.0
            for number in sections[:-1]:
                walked += self.model.sections[number].length_m
                tap = self.at(self.model.sections[number].run, walked) if walked else None
                if tap is not None and not tap.behind:
                    yield tap

    def _of_run(self, run: str) -> Iterator[Tap]:
        port, gate, end = self.port(run), self.gate(run), self.end(run)
        if port is not None:
            yield port
        distance = self.gate_distance_m(run)
        if gate is not None and distance:
            ahead = self.at(run, distance)
            if ahead is not None:
                yield ahead
        if gate is not None:
            yield gate
        if end is not None and (gate is None or gate.section != end.section or gate.behind):
            yield end


def _bore_ahead(section: ModelSection) -> float:
    """Return the bore [m] behind a section's port, where its first piece begins."""
    if not section.body:
        return section.end_bore_m
    first = section.body[0]
    return first.ends_m[0] if first.ends_m else first.bore_m


@dataclass(frozen=True)
class TapReadings:
    """What is read at taps (taps, cases): static suction [Pa] (drop across the filter, pressure at the blower's
    outlet), mean speed [m/s] and its velocity pressure [Pa] (nan at the filter). settled: cases with an answer."""

    static_pa: Floats
    speed_m_s: Floats
    vp_pa: Floats
    settled: Flags


@dataclass(frozen=True)
class TapTable:
    """Taps of one model, laid out so that what lies behind all of them is computed in one call."""

    model: Model
    taps: tuple[Tap, ...]

    def read(self, found: Found) -> TapReadings:
        """Return what is read at the taps in a variant of the model, in every choice it was solved for."""
        return self.at(found.variant.pick, found.state.shut, found.solved)

    def at(self, pick: Pick, shut: Flags, solved: Solved) -> TapReadings:
        """Return what is read at the taps; shut: (sections, cases), pick: as the cases were solved with."""
        section = self._section
        flow = np.where(self._at_inlet[:, None], (solved.flow + solved.leak)[section], solved.flow[section])
        lost = self._lost(pick, np.maximum(solved.flow[section], 0.0), shut[section])
        density = self.model.air.density_kg_m3
        speed = flow / self._area[:, None]
        vp = np.asarray(velocity_pressure(density, speed))
        static = np.where(np.isinf(lost), 0.0, solved.end[section] - np.where(np.isinf(lost), 0.0, lost) + vp)
        for place, tap in enumerate(self.taps):
            if not tap.in_duct:
                static[place], speed[place], vp[place] = self._collector(tap, pick, flow[place]), np.nan, np.nan
        return TapReadings(static, speed, vp, solved.converged)

    @cached_property
    def _section(self) -> Places:
        return np.array([tap.section for tap in self.taps], dtype=np.intp)

    @cached_property
    def _area(self) -> Floats:
        return np.array([float(bore_area(tap.bore_m)) for tap in self.taps])

    @cached_property
    def _at_inlet(self) -> Flags:
        return np.array([tap.kind in (INLET, FILTER, OUTLET) for tap in self.taps], dtype=bool)

    def _lost(self, pick: Pick, flow: Floats, shut: Flags) -> Floats:
        """Return what the air loses between each tap and its section's end [Pa]; infinite behind a tight shut gate."""
        count = len(self.taps)
        bodies = [tap.behind for tap in self.taps] + [() if tap.part is None else (tap.part,) for tap in self.taps]
        numbers = stretch_numbers(self.model, bodies, pick)
        twice = np.concatenate([flow, flow])
        root = first_root(numbers.friction, twice)
        root, _, _ = section_losses(numbers, root, twice)
        whole = section_losses(numbers, root, twice)[1]
        share = np.array([[tap.share] for tap in self.taps])
        extra = np.array([[shut_extra(self.model, tap.behind, pick)] for tap in self.taps])
        gates = np.where(np.isinf(extra), np.inf, np.where(np.isinf(extra), 0.0, extra) * flow**2)
        lost: Floats = whole[:count] + share * whole[count:] + np.where(shut & (extra > 0.0), gates, 0.0)
        return lost

    def _collector(self, tap: Tap, pick: Pick, flow: Floats) -> Floats:
        made = self.model.collector
        assert made is not None
        if tap.kind == OUTLET:
            return made.outlet_losses(flow, pick)
        part = made.filter_at("clean")
        assert part is not None
        law = part.term(made.air, made.rated, pick)
        return np.asarray(law.coefficient * np.maximum(flow, 0.0) ** law.exponent)
