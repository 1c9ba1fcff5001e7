"""The branches of some cases, a line each: as text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.branches import LINES, Branches, BranchLoss
from ductcalc.answers.columns import Columns, records
from ductcalc.answers.losses import LossRow
from ductcalc.report.blocks import Block, Paragraph, Span
from ductcalc.report.changed_text import changed_blocks
from ductcalc.report.check.sentences import case_title, why_no_answer
from ductcalc.report.columns import csv_of, grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, audit_of_cases, fields_of
from ductcalc.report.losses.text import piece_name
from ductcalc.report.sentences import capitalised, the
from ductcalc.report.short import SAFETY

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
        yield Paragraph((Span(_headline(found, display), "strong"),))
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


def _headline(found: Branches, display: Display) -> str:
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
