"""Where the pressure goes, piece by piece or branch by branch: text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import compress
from typing import Any, NamedTuple

from ductcalc.answers.branches import LINES, Branches, BranchLoss
from ductcalc.answers.columns import Column, Columns, records
from ductcalc.answers.frames import PORTS
from ductcalc.answers.losses import BESIDE_THE_WAY, BILL, Losses, LossGroup, LossRow
from ductcalc.answers.verdict import heaviest_groups, joint_leak_on_way
from ductcalc.findings.finding import Findings
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Span
from ductcalc.report.check.sentences import case_title, why_no_answer
from ductcalc.report.columns import csv_of, grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_blocks
from ductcalc.report.grades import AIR
from ductcalc.report.head_and_foot import Numbered, changed_blocks, noted, program_line
from ductcalc.report.json_text import PROGRAM, audit_of_cases, fields_of
from ductcalc.report.sentences import capitalised, listed, the
from ductcalc.report.short import SAFETY, Typed, caution_lines, closing_lines, warning_lines

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
    yield Paragraph(_place(losses, display))
    yield from caution_lines(losses.findings, display)
    yield from changed_blocks(losses.changes)
    yield Paragraph("")
    yield _grid(rows, display, not largest_first)
    yield from _explained(rows)
    yield Paragraph("")
    unit = display.unit("pressure")
    kinds = _listed(((GROUP_NAMES[group], loss) for group, loss, _ in losses.by_group()), display)
    *beside, blower = _beside(losses)
    rest = f"; {_listed((*beside, blower), display)}" if beside else ""
    yield Paragraph(f"By kind, {unit}: {kinds}; {_listed([('all', losses.total_pa)], display)}{rest}.")
    yield from warning_lines(_of_this_way(losses), display, typed, every)
    yield from closing_lines((), typed.again("--full"))


def _of_this_way(losses: Losses) -> Findings:
    """Return the warnings of this machine, of the rows of its bill, and of the collector's."""
    places = {row.place for row in losses.rows if row.place}
    tables = {place.partition(" row ")[0] for place in places}
    mine = (
        found.effect.machine == losses.machine
        or (found.row is not None and (found.file not in tables or f"{found.file} row {found.row}" in places))
        for found in losses.findings.all
    )
    return replace(losses.findings, all=tuple(compress(losses.findings.all, mine)))


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


AT = {"actual": "at the flows that really run", "wanted": "at the wanted flows"}


def branch_blocks(found: Branches, display: Display) -> Iterator[Block]:
    """Yield a line for each branch, the one that takes most suction named first."""
    firsts = {line.case.name: line for line in reversed(found.lines)}
    columns: Columns[BranchLoss] = (
        titled("open", lambda line: _title(line) if line is firsts[line.case.name] else ""),
        titled("branch", lambda line: line.machine if line.machine == line.run else f"{line.machine} ({line.run})"),
        *(column for column in LINES if column.heading and (found.at == "actual" or column.key != "wanted")),
        titled("takes most", lambda line: None if line.largest is None else _piece(line.largest)),
        titled("of it", lambda line: line.largest_share, "share", 0),
    )
    if found.lines:
        yield Paragraph((Span(_branches_headline(found, display), "strong"),))
    for case in found.cases:
        if not case.solved:
            yield Paragraph(f"No answer for {case_title(case)}: {why_no_answer(case, display)}.")
    yield from changed_blocks(found.changes)
    yield Paragraph("")
    yield grid_of(columns, found.lines, display, fine=True)
    yield Paragraph(SAFETY)


def _title(line: BranchLoss) -> str:
    return line.case.name if line.case.alone else case_title(line.case)


def _piece(row: LossRow) -> str:
    return f"{piece_name(row)}, {row.section}"


def _branches_headline(found: Branches, display: Display) -> str:
    """Name the branch that needs most suction; at actual flows the one with the least air for what it wants."""
    if found.at == "wanted":
        most = max(found.lines, key=lambda line: line.need_pa)
        said = f"needs most suction: {display.pressure(most.need_pa)} total at the collector's inlet"
    else:
        most = min(found.lines, key=lambda line: line.flow_m3_s / line.wanted_m3_s)
        got = display.got_number(most.flow_m3_s, most.wanted_m3_s, most.flow_m3_s >= most.wanted_m3_s)
        said = f"gets {got} of {display.flow(most.wanted_m3_s)}"
    share = most.largest_share
    took = f"; {_piece(most.largest)} takes {display.share(share)} of its suction" if most.largest and share else ""
    where = "" if most.case.alone else f" with {case_title(most.case)}"
    return f"{capitalised(the(most.machine))}{where} {said}{took}. Dirty filter, {AT[found.at]}."


def branch_document(found: Branches) -> dict[str, Any]:
    """Return the branches as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(found, "shop", "junction", "at", "exit_code"),
        "filter": "loaded",
        "branches": records(LINES, found.lines),
        "no_answer": [case.name for case in found.cases if not case.solved],
        "audit": audit_of_cases(found.cases),
        "changes": list(found.changes),
    }


def branch_csv(found: Branches, display: Display) -> str:
    """Return a line for each branch."""
    return csv_of(LINES, found.lines, display)


def losses_document(losses: Losses, largest_first: bool = False) -> dict[str, Any]:
    """Return a branch loss report as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(losses, "shop", "machine", "run", "junction"),
        "case": losses.case.name,
        "open": list(losses.case.open),
        "filter": losses.case.filter,
        "at": losses.at,
        "status": losses.case.status,
        "audit": audit_of_cases([losses.case]),
        **fields_of(losses.answer, "flow_m3_s", "wanted_m3_s", "grade"),
        "ports": records(PORTS, losses.answer.ports),
        "total_pa": losses.total_pa,
        **fields_of(losses.case.collector, "blower_pa", "basis"),
        "rows": records(BILL, losses.largest_first() if largest_first else losses.rows),
        "changes": list(losses.changes),
        "by_kind": [{"kind": group, "loss_pa": loss, "share": share} for group, loss, share in losses.by_group()],
    }


def losses_csv(losses: Losses, display: Display, largest_first: bool = False) -> str:
    """Return a line for each piece on the way."""
    why_last = tuple(sorted(BILL, key=lambda column: column.key in ("reason", "source")))
    return csv_of(why_last, losses.largest_first() if largest_first else losses.rows, display)
