"""What the rules look at: a shop with every number decided, and its cases as solved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import AirGrade, air_grade
from ductcalc.findings.observation import Watch
from ductcalc.model.collector import ModelCollector
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import SectionCache
from ductcalc.shop.hanging import spelled_out
from ductcalc.shop.kinds import PieceKind
from ductcalc.shop.names import key_of, the
from ductcalc.shop.piece import Run
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, standing


@dataclass(frozen=True)
class Subject:
    """A shop that is spelled out, with its numbers, and its cases with an answer (loaded filter).

    choices: what each case was asked. copies: compared names of the runs that say `like`; what is seen in the run that
    they copy is not said again.
    """

    model: Model
    choices: tuple[Choice, ...]
    cases: tuple[Case, ...]
    copies: frozenset[str] = frozenset()

    @property
    def shop(self) -> Shop:
        """The shop, spelled out."""
        return self.model.shop

    @property
    def collector(self) -> ModelCollector:
        """The collector; shops without one are not looked at by rules that need it."""
        assert self.model.collector is not None
        return self.model.collector

    @cached_property
    def pieces(self) -> tuple[PlacedPiece, ...]:
        """Every piece of the ducts up to the collector that is written, run by run."""
        return tuple(one for run in self.written_runs for one in standing(run))

    @property
    def written_runs(self) -> Iterator[Run]:
        """The runs that are written, neither copied by `like` nor the outlet duct."""
        return (run for run in self.shop.runs if not run.is_outlet and key_of(run.name) not in self.copies)

    @cached_property
    def joined_at(self) -> dict[str, tuple[Run, int]]:
        """For each run that joins another one, by compared name: that one, and the place of the wye in it."""
        return {
            key_of(name): (run, place)
            for run in self.shop.runs
            for place, piece in enumerate(run.pieces)
            if piece.kind == "wye"
            for name in piece.joins
        }

    @cached_property
    def section_number(self) -> dict[str, int]:
        """Number of each section by its name."""
        return {section.name: number for number, section in enumerate(self.model.sections)}

    @cached_property
    def ports_above(self) -> tuple[tuple[int, ...], ...]:
        """For each section the usable ports whose air passes it."""
        found: list[list[int]] = [[] for _ in self.model.sections]
        for number, port in enumerate(self.model.ports):
            if not port.off:
                for section in self.model.path(number):
                    found[section].append(number)
        return tuple(map(tuple, found))

    @cached_property
    def together(self) -> tuple[Case, ...]:
        """The cases of several machines."""
        return tuple(case for case in self.cases if not case.single)

    def of_kind(self, kind: PieceKind) -> Iterator[PlacedPiece]:
        """Yield the pieces of a kind."""
        return (one for one in self.pieces if one.piece.kind == kind)

    def straights(self) -> Iterator[PlacedPiece]:
        """Yield pipe and hose."""
        return (one for one in self.pieces if one.piece.traits.has_length)

    def watch_piece(self, one: PlacedPiece) -> Watch | None:
        """Return the air to watch for a piece: of the machine that gets least of what it wants through it."""
        number = self.section_number.get(one.name)
        return None if number is None else self.watch_ports(self.ports_above[number])

    def watch_ports(self, ports: tuple[int, ...]) -> Watch | None:
        """Return the air to watch for some ports: of the poorest port, in the smallest case where one is short."""
        found: list[tuple[bool, int, float, int, int]] = []
        for port in ports:
            key, off = key_of(self.model.ports[port].machine), self.model.ports[port].off
            for number, case in enumerate(self.cases):
                if key in case.running_keys and not off:
                    share = float(case.port_flow_m3_s[port] / case.port_wanted_m3_s[port])
                    found.append((air_grade(share) != "short", len(case.asked), share, number, port))
        if not found:
            return None
        *_, number, port = min(found)
        return Watch(number, self.model.ports[port].machine, self.model.ports[port].run)

    def watch_worst(self) -> Watch | None:
        """Return the air to watch for what concerns the whole shop."""
        return self.watch_ports(tuple(range(len(self.model.ports))))

    @cached_property
    def _case_of(self) -> dict[str, int]:
        found: dict[str, int] = {}
        for number, case in enumerate(self.cases):
            for key in case.running_keys:
                if key not in found or len(case.asked) < len(self.cases[found[key]].asked):
                    found[key] = number
        return found

    def case_of(self, machine: str) -> int | None:
        """Return the number of the case with the fewest machines in which a machine runs."""
        return self._case_of.get(key_of(machine))

    def grade_of(self, port: int) -> AirGrade | None:
        """Return the grade of a port's air in its own machine's case; None when it is not known."""
        share = self.share_of(port)
        return None if share is None else air_grade(share)

    def share_of(self, port: int) -> float | None:
        """Return air over wanted at a port in its own machine's case; None when it is not known."""
        found = self.case_of(self.model.ports[port].machine)
        if found is None or self.model.ports[port].off:
            return None
        case = self.cases[found]
        return float(case.port_flow_m3_s[port] / case.port_wanted_m3_s[port])


def case_words(case: Case) -> str:
    """Return what is open in a case, in a sentence."""
    return f"{the(case.name)} alone" if case.single else f'"{case.name}"'


def subject_of(
    model: Model, choices: Sequence[Choice], cases: Sequence[Case], made: SectionCache | None = None
) -> Subject:
    """Return what the rules look at: a shop spelled out, and those of its cases that have an answer."""
    plain = build_model(spelled_out(model.shop), model.junction, loading=model.loading, made=made)
    # the cases' arrays are in the order of the shop as written
    assert [s.name for s in plain.sections] == [s.name for s in model.sections]
    assert [(p.machine, p.run) for p in plain.ports] == [(p.machine, p.run) for p in model.ports]
    copies = frozenset(key_of(run.name) for run in model.shop.runs if run.pieces[0].kind == "like")
    solved = [(choice, case) for choice, case in zip(choices, cases, strict=True) if case.solved]
    return Subject(plain, tuple(one for one, _ in solved), tuple(case for _, case in solved), copies)
