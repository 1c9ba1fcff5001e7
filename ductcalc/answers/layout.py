"""What hangs where: each run's pieces in the order of the air, what joins it, what was assumed; no flow is computed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ductcalc.catalog import default_style
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import findings_in
from ductcalc.model.assumption import Assumption
from ductcalc.model.model import Model, ModelPort, build_model
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.hanging import Hanging, HungPiece, Port, Section, Wye
from ductcalc.shop.kinds import TAPER_ANGLE_DEG, PieceKind
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Drop, Piece
from ductcalc.shop.settings import GateSet
from ductcalc.shop.shop import Shop

Assumed = Literal["style", "count", "angle", "wanted", "resistance", "piece"]


@dataclass(frozen=True)
class LayoutPiece:
    """A piece as it hangs. `assumed` names what nobody wrote: style, count, angle, air wanted, resistance, or itself.

    name: the machine of a port, a gate's own name. bore_m: inside diameter, a wye's outlet, a reducer's downstream end.
    before_m: bore [m] ahead of a reducer. angles_deg: of an elbow, taper, or each stream that comes in at a wye.
    joins: runs that come in here. wanted_m3_s, off, drop, inlet_m2: of a port. shares_hose: with the run's other ports.
    rise_m: how much of length_m goes up.
    """

    kind: PieceKind
    bore_m: float
    name: str | None = None
    style: str | None = None
    before_m: float | None = None
    length_m: float | None = None
    rise_m: float | None = None
    angles_deg: tuple[float, ...] = ()
    count: int | None = None
    joins: tuple[str, ...] = ()
    wanted_m3_s: float | None = None
    off: bool = False
    drop: Drop | None = None
    inlet_m2: float | None = None
    k: float | None = None
    shares_hose: bool = False
    opening: float | None = None
    material: str | None = None
    note: str | None = None
    assumed: tuple[Assumed, ...] = ()


@dataclass(frozen=True)
class LayoutRun:
    """A run: its pieces in the order of the air, length of pipe and hose [m], the run it joins (None: the last)."""

    name: str
    pieces: tuple[LayoutPiece, ...]
    length_m: float
    joins: str | None


@dataclass(frozen=True)
class LayoutCollector:
    """The collector in short: largest flow [m3/s] and pressure [Pa] of its points, or of the advertised maxima."""

    name: str
    points: int
    largest_flow_m3_s: float
    largest_pressure_pa: float
    basis: str
    provisional: bool


@dataclass(frozen=True)
class Layout:
    """How a shop hangs. runs: in the order of the table; root: the run that ends at the collector.

    ways_m: length of pipe and hose [m] from each machine's farthest port to the collector.
    """

    shop: str
    runs: tuple[LayoutRun, ...]
    root: str
    outlet: tuple[LayoutPiece, ...]
    collector: LayoutCollector | None
    machines: tuple[str, ...]
    ways_m: tuple[tuple[str, float], ...]
    always_open: tuple[str, ...]
    sets: tuple[GateSet, ...]
    assumptions: tuple[Assumption, ...]
    remarks: tuple[str, ...]
    findings: Findings = NOTHING_SEEN

    def run(self, name: str) -> LayoutRun:
        """Return a run by its name as written."""
        return next(run for run in self.runs if run.name == name)


def layout(shop: Shop) -> Layout:
    """Return how a shop's runs hang together.

    Raises InputError when they do not.
    """
    model = build_model(shop)
    hanging = model.hanging
    pieces = _pieces_by_run(model)
    joined = {name: run for run, found in pieces.items() for piece in found for name in piece.joins}
    order = [run.name for run in shop.runs if run.name in pieces]
    return Layout(
        shop=shop.name,
        runs=tuple(LayoutRun(name, tuple(pieces[name]), _length(pieces[name]), joined.get(name)) for name in order),
        root=hanging.sections[hanging.root].run,
        outlet=_outlet(hanging),
        collector=_collector(model),
        machines=model.machines,
        ways_m=tuple((machine, _way(model, machine)) for machine in model.machines),
        always_open=model.always_open,
        sets=shop.settings.gates.sets,
        assumptions=model.assumptions,
        remarks=shop.remarks,
        findings=findings_in(model),
    )


def _length(pieces: list[LayoutPiece]) -> float:
    return sum(piece.length_m or 0.0 for piece in pieces)


def _way(model: Model, machine: str) -> float:
    return max(model.length_m(port) for port in model.ports_of[key_of(machine)])


def _collector(model: Model) -> LayoutCollector | None:
    decided = model.collector
    if decided is None:
        return None
    points = decided.collector.blower or tuple(p for p in [decided.collector.advertised] if p)
    return LayoutCollector(
        decided.name,
        len(points),
        max(point.flow_m3_s for point in points),
        max(point.pressure_pa for point in points),
        decided.basis,
        decided.provisional,
    )


def _pieces_by_run(model: Model) -> dict[str, list[LayoutPiece]]:
    """Return every run's pieces, wyes and assumed reducers among them."""
    hanging = model.hanging
    wye_above = {wye.outlet: wye for wye in hanging.wyes}
    heads: dict[int, list[tuple[Port, ModelPort]]] = {}
    for port, decided in zip(hanging.ports, model.ports, strict=True):
        heads.setdefault(port.section, []).append((port, decided))
    found: dict[str, list[LayoutPiece]] = {}
    for number, section in enumerate(hanging.sections):
        pieces = found.setdefault(section.run, [])
        if number in wye_above:
            pieces.append(_wye(wye_above[number], hanging))
        elif section.starts == "cap":
            pieces.append(LayoutPiece("cap", section.bore_m))
        pieces += _ports(heads.get(number, ()))
        pieces += _body(section, section.starts == "port")
    return found


def _ports(ports: Sequence[tuple[Port, ModelPort]]) -> Iterator[LayoutPiece]:
    """Yield the ports that head a section."""
    for port, decided in ports:
        piece = port.hung.piece
        told = piece.k is not None or piece.drop is not None or piece.inlet_m2 is not None or piece.style is not None
        assumed: list[Assumed] = ["wanted"] if decided.wanted_assumed else []
        yield replace(
            _piece(port.hung),
            name=port.machine,
            wanted_m3_s=None if decided.off else decided.wanted_m3_s,
            off=decided.off,
            material=decided.material,
            shares_hose=len(ports) > 1,
            assumed=(*assumed, *(() if told else ("resistance",))),
        )


def _body(section: Section, has_port: bool) -> Iterator[LayoutPiece]:
    """Yield the pieces behind a section's ports or wye, with the reducers assumed between unlike neighbours."""
    bore = section.bore_m
    for hung in section.pieces[1:] if has_port else section.pieces:
        if hung.piece.kind == "reducer":
            yield replace(_piece(hung), before_m=bore)
        else:
            if hung.bore_m != bore:
                yield LayoutPiece(
                    "reducer", hung.bore_m, before_m=bore, angles_deg=(TAPER_ANGLE_DEG,), assumed=("piece",)
                )
            yield _body_piece(hung)
        bore = hung.bore_m


def _body_piece(hung: HungPiece) -> LayoutPiece:
    piece = hung.piece
    if piece.kind == "flex" and piece.count is None and piece.k is None:
        return replace(_piece(hung), count=1, assumed=("count",))
    return _piece(hung)


def _piece(hung: HungPiece) -> LayoutPiece:
    """Return a piece as written, with the build and the angle that a blank stands for."""
    piece, style = hung.piece, default_style(hung.piece.kind)
    round_one = not isinstance(hung.bore_m, Rectangle)
    blank_style = style is not None and piece.style is None and _takes_a_style(piece) and round_one
    return LayoutPiece(
        kind=piece.kind,
        bore_m=hung.bore_m,
        name=piece.machine,
        style=style if blank_style else piece.style,
        length_m=piece.length_m,
        rise_m=piece.rise_m,
        angles_deg=piece.settled_deg,
        count=piece.count,
        drop=piece.drop,
        inlet_m2=piece.inlet_m2,
        k=piece.k,
        opening=piece.opening,
        material=piece.material,
        note=piece.note,
        assumed=("style",) if blank_style else (),
    )


def _takes_a_style(piece: Piece) -> bool:
    return piece.k is None and piece.roughness_m is None


def _wye(wye: Wye, hanging: Hanging) -> LayoutPiece:
    coming = [stream for stream in wye.streams if not stream.straight]
    capped = sum(name.casefold() == "cap" for name in wye.hung.piece.joins)
    return replace(
        _piece(wye.hung),
        angles_deg=tuple(stream.angle_deg for stream in coming),
        joins=tuple(hanging.sections[stream.section].run for stream in coming),
        count=capped or None,
        assumed=() if wye.hung.piece.angles_deg or not coming else ("angle",),
    )


def _outlet(hanging: Hanging) -> tuple[LayoutPiece, ...]:
    return tuple(_body_piece(hung) for hung in hanging.outlet if hung.piece.kind != "collector")
