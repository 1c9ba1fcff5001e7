"""The branch loss report as text: piece by piece from the port to the collector, and what takes the most."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.losses import BESIDE_THE_WAY, BILL, Losses, LossGroup, LossRow
from ductcalc.answers.verdict import heaviest_groups, joint_leak_on_way
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Span
from ductcalc.report.changed_text import changed_blocks
from ductcalc.report.check.sentences import case_title
from ductcalc.report.closing import noted, program_line
from ductcalc.report.columns import grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.findings_text import findings_blocks
from ductcalc.report.grades import AIR
from ductcalc.report.numbered import Numbered
from ductcalc.report.sentences import capitalised, listed, the
from ductcalc.report.short import Typed, caution_lines, closing_lines, warning_lines

BAR = "█"
BAR_CELLS = 20
GROUP_NAMES: dict[LossGroup, str] = {
    "machine": "machine and port",
    "hose": "hose",
    "pipe": "pipe",
    "elbow": "elbows",
    "reducer": "reducers",
    "gate": "gates",
    "other": "other pieces",
    "wye": "wyes",
    "cyclone": "cyclone",
    "filter": "filter",
    "outlet": "outlet duct",
    "own blower": "its own blower",
    "basis": "VP in the curve",
    "over": "over, for a gate",
}

HEADLINE_NAMES: dict[LossGroup, str] = {"machine": "machine's own port"}


def losses_blocks(
    losses: Losses, display: Display, largest_first: bool = False, every_finding: bool = False
) -> Iterator[Block]:
    """Yield the branch loss report of a solved case."""
    sources = Numbered()
    rows = losses.largest_first() if largest_first else losses.rows
    yield Paragraph((Span(_headline(losses, display), "strong"),))
    yield from changed_blocks(losses.changes)
    yield Paragraph(_place(losses, display))
    yield Heading("Largest first" if largest_first else "From the port to the collector")
    yield _grid(rows, display, not largest_first, sources)
    yield from _explained(rows)
    yield Heading("By kind")
    yield grid_of(KINDS, _kinds(losses), display, fine=True)
    yield Paragraph(
        f"joints: {display.flow(joint_leak_on_way(losses))} of air leak in on this way, which take no pressure here."
    )
    yield from findings_blocks(losses.findings, display, every_finding)
    yield Heading("Where the coefficients come from")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")
    yield Heading("Notes")
    yield from _notes(losses, display)
    yield Paragraph("")
    yield program_line(losses.shop)


def short_losses(
    losses: Losses, display: Display, typed: Typed, largest_first: bool = False, every: bool = False
) -> Iterator[Block]:
    """Yield the bill in short: the pieces, then the kinds of pieces; every: all warnings."""
    rows = losses.largest_first() if largest_first else losses.rows
    yield Paragraph((Span(_headline(losses, display), "strong"),))
    yield from caution_lines(losses.findings, display)
    yield from changed_blocks(losses.changes)
    yield Paragraph(_place(losses, display))
    yield Paragraph("")
    yield _grid(rows, display, not largest_first)
    yield from _explained(rows)
    yield Paragraph("")
    unit = display.unit("pressure")
    kinds = _listed(((GROUP_NAMES[group], loss) for group, loss, _ in losses.by_group()), display)
    *beside, blower = _beside(losses)
    rest = f"; {_listed((*beside, blower), display)}" if beside else ""
    yield Paragraph(f"By kind, {unit}: {kinds}; {_listed([('all', losses.total_pa)], display)}{rest}.")
    yield from warning_lines(losses.findings, display, typed, every)
    yield from closing_lines((), typed.again("--full"))


def _listed(pressures: Iterable[tuple[str, float]], display: Display) -> str:
    return ", ".join(f"{name} {display.pressure_number(pressure, fine=True)}" for name, pressure in pressures)


def _headline(losses: Losses, display: Display) -> str:
    heaviest = heaviest_groups(losses)
    names = listed([f"the {HEADLINE_NAMES.get(group, GROUP_NAMES[group])}" for group in heaviest.groups])
    plural = len(heaviest.groups) > 1 or GROUP_NAMES[heaviest.groups[0]].endswith("s")
    own = -sum(row.loss_pa for row in losses.rows if row.group == "own blower")
    given = f" Its own blower gives {display.pressure(own)} of it." if own else ""
    return (
        f"{capitalised(names)} {'use' if plural else 'uses'} {display.share(heaviest.share)} of {the(losses.machine)}'s"
        f" {display.pressure(losses.total_pa)}.{given}"
    )


def _place(losses: Losses, display: Display) -> str:
    machine, port = losses.answer, losses.port
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    together = ""
    if len(machine.ports) > 1:
        whole = display.got_number(machine.flow_m3_s, machine.wanted_m3_s, machine.served)
        together = f"; its {len(machine.ports)} ports together {whole} of {display.flow(machine.wanted_m3_s)}"
    if losses.at == "wanted":
        point = losses.case.collector
        assert point is not None
        return (
            f"{capitalised(case_title(losses.case))}, port of run {losses.run}, dirty filter, at the wanted flows:"
            f" {display.flow(port.wanted_m3_s)}. A blower has to give {display.pressure(point.blower_pa)} of fan static"
            f" pressure at {display.flow(point.flow_m3_s)}."
        )
    return (
        f"{capitalised(case_title(losses.case))}, port of run {losses.run}, dirty filter: {got} of"
        f" {display.flow(port.wanted_m3_s)} ({AIR[port.grade].text}){together}."
    )


def _grid(rows: Sequence[LossRow], display: Display, running: bool, sources: Numbered | None = None) -> Grid:
    """Return the rows; the running sums only in the order of the air, the notes only where sources are numbered."""
    told = (column for column in BILL if running or not column.key.startswith("running"))
    ends: list[Column[LossRow]] = [titled("", lambda row: "" if row.share is None else bar(row.share), drop=3)]
    if sources is not None:
        ends.append(titled("note", lambda row: f"[{sources.number(_why(row))}]", right=True))
    return grid_of((titled("piece", _name), *told, *ends), rows, display, fine=True)


def _name(row: LossRow) -> str:
    return piece_name(row) + (" *" if row.shared_by else "")


def bar(share: float) -> str:
    """Return a bar of 20 cells for the whole; a loss below zero has none, one above the whole no more than that."""
    return BAR * round(min(max(share, 0.0), 1.0) * BAR_CELLS)


def piece_name(row: LossRow) -> str:
    """Return a row's piece in words."""
    if row.group == "machine":
        return f"{row.label} (machine and port)"
    if row.group in ("hose", "pipe", "elbow", "gate") and row.label != row.group:
        return row.label if row.group in row.label else f"{row.label} {row.group}"
    return row.label


def _why(row: LossRow) -> str:
    return f"{row.reason}. {row.source}" if row.reason else row.source


def _explained(rows: Sequence[LossRow]) -> Iterator[Block]:
    shared = list(dict.fromkeys(name for row in rows for name in row.shared_by))
    if shared:
        yield Paragraph(f"* air of other open machines passes here too: {listed(shared)} share these pieces.")
    if any(row.loss_pa < 0.0 for row in rows if row.group == "wye"):
        yield Paragraph("A loss below zero is a gain: at the wye a faster stream drags this slower one along.")


class _Kind(NamedTuple):
    name: str
    loss_pa: float
    share: float | None = None
    bar: str = ""


KINDS: Columns[_Kind] = (
    titled("kind", lambda kind: kind.name),
    titled("loss", lambda kind: kind.loss_pa, "pressure"),
    titled("share", lambda kind: kind.share, "share"),
    titled("", lambda kind: kind.bar),
)


def _kinds(losses: Losses) -> Iterator[_Kind]:
    for group, loss, share in losses.by_group():
        yield _Kind(GROUP_NAMES[group], loss, share, bar(share))
    yield _Kind("all of the way", losses.total_pa, 1.0)
    for name, pressure in _beside(losses):
        yield _Kind(name, pressure)


def _beside(losses: Losses) -> Iterator[tuple[str, float]]:
    """Yield what stands on the bill beside the losses [Pa], and what it comes to: the blower's pressure."""
    for row in losses.rows:
        if row.group in BESIDE_THE_WAY and row.group != "inlet":
            yield GROUP_NAMES[row.group], row.loss_pa
    point = losses.case.collector
    assert point is not None
    yield "blower has to give" if losses.at == "wanted" else f"blower ({point.basis})", point.blower_pa


def _notes(losses: Losses, display: Display) -> Iterator[Block]:
    yield noted(
        "VP is velocity pressure, K the loss over VP; running TP and SP are total and static suction behind the piece."
    )
    yield noted(f"Wyes by the {losses.junction} balance. A * marks shared pieces, [n] the note on a coefficient.")
    if display.system == "inch":
        yield noted("inwg is inches of water; 1 inch of water is 249.0889 Pa.")
    yield noted("A planning estimate for dilute wood dust and chips; local codes and licensed practice decide.")
