"""A comparison as JSON and as CSV: SI in full precision, or a line per case, filter, machine and variant."""

from __future__ import annotations

from typing import Any, NamedTuple

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.compare.advice import CaseTally, ComparedShop, Halves
from ductcalc.answers.compare.compare import Comparison, MachineLine, PointLine
from ductcalc.answers.compare.differences import Differences, Largest
from ductcalc.answers.frames import ANSWER, POINT, POWER
from ductcalc.answers.verdict import exit_code
from ductcalc.cases.figures import CollectorAnswer, MachineAnswer, SectionAnswer
from ductcalc.findings.finding import Finding
from ductcalc.report.blocks import NO_BREAK
from ductcalc.report.check import sentences as check_sentences
from ductcalc.report.check.data import SLOWEST, SUCTION
from ductcalc.report.columns import csv_of
from ductcalc.report.compare.against import pieces_words
from ductcalc.report.compare.sentences import verdict
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_document, where_words
from ductcalc.report.json_text import PROGRAM, audit_of_cases, fields_of

POINT_FIELDS = ("name", "flow_m3_s", "inlet_static_pa", "inlet_total_pa", "blower_pa", "basis", "power_w")


def compare_document(comparison: Comparison, display: Display) -> dict[str, Any]:
    """Return a comparison as nested plain values."""
    return {
        **PROGRAM,
        "verdict": verdict(comparison, display).replace("\u00a0", " "),
        "exit_code": comparison.exit_code,
        "variants": [_variant(variant, display) for variant in comparison.variants],
        "best": comparison.advice.best,
        "alike_with_first": list(comparison.advice.alike),
        "not_told_apart_from_first": list(comparison.advice.level),
        "ahead": [_halves(half) for half in comparison.advice.halves or ()],
        **fields_of(comparison.advice, "band", "most_apart"),
        "standings": [_standing(standing) for standing in comparison.advice.standings],
        "machines": [_machine(line) for line in comparison.machines],
        "points": [_point(line) for line in comparison.points],
        "against_first": [_against(one, display) for one in comparison.differences],
        "not_everywhere": [{"variant": letter, "name": name} for letter, name in comparison.only_in],
    }


def _variant(variant: ComparedShop, display: Display) -> dict[str, Any]:
    collector = variant.model.collector
    return {
        **fields_of(variant, "letter", "label"),
        "shop": variant.check.shop,
        "changes": list(variant.check.changes),
        **findings_document(variant.check.findings, display),
        "verdict": check_sentences.verdict(variant.check, display).replace("\u00a0", " "),
        "exit_code": exit_code(variant.check),
        "audit": audit_of_cases(variant.check.cases),
        "junction": variant.check.junction,
        "provisional": variant.check.provisional,
        "collector_assumptions": [one.text for one in collector.assumptions] if collector else [],
    }


def _halves(half: Halves) -> dict[str, Any]:
    return {"variant": half.ahead, "of": half.behind, "in": list(half.counts), "gain": _gain(half)}


def _gain(half: Halves) -> dict[str, Any] | None:
    if half.gain is None:
        return None
    port, twin = half.gain
    case, flows = port.case.name, {"flow_m3_s": port.port.flow_m3_s, "against_m3_s": twin.port.flow_m3_s}
    return {"case": case, "machine": port.machine.machine, "run": port.port.run, **flows}


def _against(one: Differences, display: Display) -> dict[str, Any]:
    return {
        "variant": one.letter,
        "turned": [
            {"case": turn.case.name, "alone": turn.case.alone, **fields_of(turn, "what", "before", "after", "better")}
            for turn in one.turned
        ],
        "largest_change": None if one.largest is None else _largest(one.largest),
        "pieces": [
            {"piece": where, "differs": how.replace(NO_BREAK, " ")} for where, how in pieces_words(one, display)
        ],
        "parts_beyond_first": [
            {
                "part": part.name.kind,
                "style": part.name.style,
                "sizes_m": list(part.name.sizes_m),
                "angles_deg": list(part.name.angles_deg),
                **fields_of(part, "count", "length_m"),
            }
            for part in one.extra
        ],
        "another_collector": one.collector,
        **{f"warnings_{key}": [_warning(found) for found in getattr(one, key)] for key in ("gone", "new", "not_seen")},
    }


def _largest(change: Largest) -> dict[str, Any]:
    case, before, after, share = change
    if isinstance(before, MachineAnswer) and isinstance(after, MachineAnswer):
        both = {"machine": after.machine, "before_m3_s": before.flow_m3_s, "after_m3_s": after.flow_m3_s}
    else:
        assert isinstance(before, SectionAnswer) and isinstance(after, SectionAnswer)
        both = {
            "section": after.section,
            "before_m_s": before.deciding_velocity_m_s,
            "after_m_s": after.deciding_velocity_m_s,
        }
    return {"case": case.name, "alone": case.alone, **both, "share": share}


def _warning(found: Finding) -> dict[str, Any]:
    return {**fields_of(found, "rule", "caution", "name"), "where": where_words(found)}


def _standing(standing: CaseTally) -> dict[str, Any]:
    least = standing.poorest
    return {
        **fields_of(standing, "letter", "cases", "unanswered", "settling", "short", "just_short", "slow"),
        "worst_off": None
        if least is None
        else {
            "case": least.case.name,
            "machine": least.machine.machine,
            **fields_of(least.port, "run", "flow_m3_s", "wanted_m3_s"),
        },
    }


def _machine(line: MachineLine) -> dict[str, Any]:
    answer, slow = line.answer, line.slowest
    return {
        **fields_of(line, "case", "alone", "filter", "variant", "machine", "status"),
        "answer": None
        if answer is None
        else fields_of(answer, "flow_m3_s", "wanted_m3_s", "served", "grade", "word", "asked", "runs", "open"),
        "slowest": None
        if slow is None
        else fields_of(slow, "section", "velocity_m_s", "needed_velocity_m_s", "word"),
        **fields_of(line, "flow_difference_m3_s", "velocity_difference_m_s"),
        "inside_band": line.inside,
    }


def _point(line: PointLine) -> dict[str, Any]:
    return {
        **fields_of(line, "case", "alone", "filter", "variant", "status"),
        "collector": None if line.collector is None else fields_of(line.collector, *POINT_FIELDS),
        **fields_of(
            line,
            "flow_difference_m3_s",
            "inlet_static_difference_pa",
            "blower_difference_pa",
            "power_difference_w",
        ),
    }


class _Line(NamedTuple):
    """A machine of a variant in a case, the collector's point there, and what the variant is called."""

    machine: MachineLine
    point: PointLine
    label: str


def _answer(line: _Line) -> MachineAnswer | None:
    return line.machine.answer


def _slowest(line: _Line) -> SectionAnswer | None:
    return line.machine.slowest


def _collector(line: _Line) -> CollectorAnswer | None:
    return line.point.collector


LINES: Columns[_Line] = (
    Column("case", lambda line: line.machine.case),
    Column("filter", lambda line: line.machine.filter),
    Column("machine", lambda line: line.machine.machine),
    Column("variant", lambda line: line.machine.variant),
    Column("variant_name", lambda line: line.label),
    Column("status", lambda line: line.machine.status),
    *within(_Line, _answer, ANSWER[:2]),
    Column("flow_difference", lambda line: line.machine.flow_difference_m3_s, "flow"),
    Column("inside_band", lambda line: line.machine.inside),
    *within(_Line, _answer, ANSWER[2:]),
    *within(_Line, _slowest, SLOWEST[:2]),
    Column("speed_difference", lambda line: line.machine.velocity_difference_m_s, "speed"),
    *within(_Line, _slowest, SLOWEST[2:]),
    *within(_Line, _collector, SUCTION[:1]),
    Column("collector_flow_difference", lambda line: line.point.flow_difference_m3_s, "flow"),
    *within(_Line, _collector, SUCTION[1:2]),
    Column("static_suction_difference", lambda line: line.point.inlet_static_difference_pa, "pressure"),
    *within(_Line, _collector, POINT[3:4]),
    Column("blower_difference", lambda line: line.point.blower_difference_pa, "pressure"),
    *within(_Line, _collector, (POWER,)),
    Column("power_difference", lambda line: line.point.power_difference_w, "power"),
)


def compare_csv(comparison: Comparison, display: Display) -> str:
    """Return a line for each case, filter, machine and variant, with the collector's point and all differences."""
    points = {(p.alone, p.case, p.filter, p.variant): p for p in comparison.points}
    lines = (
        _Line(one, points[one.alone, one.case, one.filter, one.variant], comparison.variant(one.variant).label)
        for one in comparison.machines
    )
    return csv_of(LINES, lines, display)
