"""The duct laid out by its length: every stretch with its place on the way to the collector, and the air of a case."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Ask, Choice, choice_of
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.solving import solve_choices
from ductcalc.model.model import Model, build_model
from ductcalc.shop.hanging import Section
from ductcalc.shop.kinds import PieceKind
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop


@dataclass(frozen=True)
class DrawnPiece:
    """A piece in its stretch: bore [m]; where it begins and ends, as length of duct [m] from there to the collector."""

    kind: PieceKind
    bore_m: float
    begins_m: float
    ends_m: float
    name: str | None = None
    count: int = 1


@dataclass(frozen=True)
class DrawnStretch:
    """A section as it is drawn. begins_m, ends_m: length of duct [m] from there to the collector.

    machines: those whose ports head it. comes_in: numbers of the stretches of other runs
    that join where it begins; straight: of the one of its own run that goes on in it. below: of the one that it
    leads to. taking: whether a gate lets air in anywhere upstream, None without a case.
    """

    name: str
    title: str
    run: str
    begins_m: float
    ends_m: float
    pieces: tuple[DrawnPiece, ...]
    machines: tuple[str, ...]
    comes_in: tuple[int, ...]
    straight: int | None
    below: int | None
    taking: bool | None = None

    @property
    def length_m(self) -> float:
        """Length of its pipe and hose [m]."""
        return self.begins_m - self.ends_m

    @property
    def bores_m(self) -> tuple[float, ...]:
        """The bores [m] that follow each other in it, equal neighbours once."""
        bores: list[float] = []
        for piece in self.pieces:
            if not bores or bores[-1] != piece.bore_m:
                bores.append(piece.bore_m)
        return tuple(bores)


@dataclass(frozen=True)
class Drawing:
    """The duct of a shop. stretches: every upstream one before it, the last one ends at the collector.

    case: whose air is told (dirty filter), None where nothing was asked.
    """

    shop: str
    collector: str
    stretches: tuple[DrawnStretch, ...]
    case: Case | None = None
    changes: tuple[str, ...] = ()

    def air(self, number: int) -> SectionAnswer | None:
        """Return the flow, speed and grade of a stretch in the case."""
        return self.case.sections[number] if self.case is not None and self.case.solved else None

    def served(self, stretch: DrawnStretch) -> tuple[MachineAnswer, ...]:
        """Return what the machines at the head of a stretch get in the case."""
        if self.case is None:
            return ()
        return tuple(machine for machine in self.case.machines if machine.machine in stretch.machines)


def draw(shop: Shop, ask: Ask | Choice | None = None, junction: Junction | None = None) -> Drawing:
    """Return a shop's duct laid out by its length, with the air of a case where one is asked for.

    Raises InputError when the shop does not hang together, and for a case of a shop without a collector.
    """
    model = build_model(shop, junction)
    case = None
    if ask is not None:
        case = read_cases(solve_choices(model, (choice_of(model, ask),), ("loaded",)))[0]
    return drawing_of(model, case)


def drawing_of(model: Model, case: Case | None = None) -> Drawing:
    """Return the drawing of a model whose case is solved already."""
    hanging = model.hanging
    above, below = {wye.outlet: wye for wye in hanging.wyes}, hanging.wye_below()
    ends = _ends(model)
    taking = _taking(model, case)
    stretches = []
    for number, section in enumerate(hanging.sections):
        streams = above[number].streams if number in above else ()
        down = below[number]
        stretches.append(
            DrawnStretch(
                name=section.name,
                title=model.titles[number],
                run=section.run,
                begins_m=ends[number] + model.sections[number].length_m,
                ends_m=ends[number],
                pieces=tuple(_pieces(section, ends[number] + model.sections[number].length_m)),
                machines=tuple(dict.fromkeys(port.machine for port in hanging.ports if port.section == number)),
                comes_in=tuple(stream.section for stream in streams if not stream.straight),
                straight=next((stream.section for stream in streams if stream.straight), None),
                below=None if down is None else hanging.wyes[down].outlet,
                taking=None if case is None else number in taking,
            )
        )
    name = model.collector.name if model.collector is not None else "collector"
    return Drawing(model.shop.name, name, tuple(stretches), case, model.shop.changes)


def _ends(model: Model) -> list[float]:
    """Return the length of duct [m] from the end of each section to the collector."""
    below, ends = model.hanging.wye_below(), [0.0] * len(model.sections)
    for number in range(len(ends) - 1, -1, -1):
        wye = below[number]
        if wye is not None:
            outlet = model.hanging.wyes[wye].outlet
            ends[number] = ends[outlet] + model.sections[outlet].length_m
    return ends


def _taking(model: Model, case: Case | None) -> set[int]:
    """Return the sections through which an open port's air passes."""
    if case is None:
        return set()
    open_ports = case.judged.taking[:, case.column]
    return {section for port in range(len(model.ports)) if open_ports[port] for section in model.path(port)}


def _pieces(section: Section, begins_m: float) -> Iterator[DrawnPiece]:
    """Yield what is drawn of a section, in the order of the air; ports stand in `machines`."""
    at = begins_m
    for hung in section.pieces:
        piece = hung.piece
        length = piece.length_m if piece.traits.has_length else None
        if piece.kind not in ("port", "collector"):
            named = piece.machine if piece.kind == "gate" else None
            count = piece.count if piece.count is not None and piece.traits.alike else 1
            yield DrawnPiece(piece.kind, hung.bore_m, at, at - (length or 0.0), named, count)
        at -= length or 0.0

