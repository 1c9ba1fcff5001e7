"""A comparison as JSON and as CSV: SI in full precision, or a line per case, filter, machine and variant."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.compare.advice import Halves, Standing, Variant
from ductcalc.answers.compare.compare import Comparison, MachineLine, PointLine
from ductcalc.answers.compare.differences import Differences, Largest
from ductcalc.answers.verdict import exit_code
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.findings.finding import Finding
from ductcalc.report.blocks import NO_BREAK
from ductcalc.report.check import sentences as check_sentences
from ductcalc.report.compare.against import pieces_words
from ductcalc.report.compare.sentences import verdict
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.findings_json import findings_document
from ductcalc.report.findings_words import where_words
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


def _variant(variant: Variant, display: Display) -> dict[str, Any]:
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


def _standing(standing: Standing) -> dict[str, Any]:
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


def compare_csv(comparison: Comparison, display: Display) -> str:
    """Return a line for each case, filter, machine and variant, with the collector's point and all differences."""
    flow, speed, pressure, power = (ending(what, display) for what in ("flow", "speed", "pressure", "power"))
    columns = (
        "case",
        "filter",
        "machine",
        "variant",
        "variant_name",
        "status",
        f"wanted_{flow}",
        f"flow_{flow}",
        f"flow_difference_{flow}",
        "served",
        "word",
        "slowest_section",
        f"speed_{speed}",
        f"speed_difference_{speed}",
        f"needed_speed_{speed}",
        "section_word",
        f"collector_flow_{flow}",
        f"collector_flow_difference_{flow}",
        f"static_suction_{pressure}",
        f"static_suction_difference_{pressure}",
        f"blower_{pressure}",
        f"blower_difference_{pressure}",
        f"power_{power}",
        f"power_difference_{power}",
    )
    return csv_text(columns, _csv_rows(comparison, display))


def _csv_rows(comparison: Comparison, display: Display) -> Iterator[list[Any]]:
    points = {(p.alone, p.case, p.filter, p.variant): p for p in comparison.points}
    for line in comparison.machines:
        point = points[line.alone, line.case, line.filter, line.variant]
        answer, slow, collector = line.answer, line.slowest, point.collector
        yield [
            line.case,
            line.filter,
            line.machine,
            line.variant,
            comparison.variant(line.variant).label,
            line.status,
            shown(answer.wanted_m3_s if answer else None, "flow", display),
            shown(answer.flow_m3_s if answer else None, "flow", display),
            shown(line.flow_difference_m3_s, "flow", display),
            answer.served if answer else None,
            answer.word if answer else None,
            slow.section if slow else None,
            shown(slow.velocity_m_s if slow else None, "speed", display),
            shown(line.velocity_difference_m_s, "speed", display),
            shown(slow.needed_velocity_m_s if slow else None, "speed", display),
            slow.word if slow else None,
            shown(collector.flow_m3_s if collector else None, "flow", display),
            shown(point.flow_difference_m3_s, "flow", display),
            shown(collector.inlet_static_pa if collector else None, "pressure", display),
            shown(point.inlet_static_difference_pa, "pressure", display),
            shown(collector.blower_pa if collector else None, "pressure", display),
            shown(point.blower_difference_pa, "pressure", display),
            shown(collector.power_w if collector else None, "power", display),
            shown(point.power_difference_w, "power", display),
        ]
