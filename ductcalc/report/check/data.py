"""The verdict as a JSON document, SI units, and as CSV: a line for each case and machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from ductcalc.answers.check import Check
from ductcalc.answers.columns import Column, Columns, record, records, within
from ductcalc.answers.frames import ANSWER, AUDIT, CHANCE, PATHS, POINT, PORTS, POWER, SECTIONS
from ductcalc.answers.verdict import by_effect, exit_code, key_figures
from ductcalc.cases.case import Case
from ductcalc.cases.chances import Chance
from ductcalc.cases.figures import CollectorAnswer, MachineAnswer, SectionAnswer, WantedAnswer
from ductcalc.cases.key_machines import KeyMachine
from ductcalc.cases.worth import WorthAnswer
from ductcalc.report.check.sentences import verdict
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import GRADES, PROGRAM, fields_of

COLLECTOR: Columns[CollectorAnswer] = (
    Column("name", lambda point: point.name),
    *POINT,
    Column("cyclone", lambda point: point.cyclone_pa, "pressure"),
    Column("filter", lambda point: point.filter_pa, "pressure"),
    Column("left_of_curve", lambda point: point.left_of_curve),
    POWER,
)


class _Line(NamedTuple):
    """A machine in a case, None where the case has no answer, and how sure its air is."""

    case: Case
    machine: MachineAnswer | None
    chance: Chance | None


MACHINE: Columns[MachineAnswer] = (
    Column("machine", lambda machine: machine.machine),
    Column("asked", lambda machine: machine.asked),
    Column("open", lambda machine: machine.open),
    *ANSWER,
)
SLOWEST: Columns[SectionAnswer] = (
    Column("slowest_section", lambda slow: slow.section),
    Column("speed", lambda slow: slow.velocity_m_s, "speed"),
    Column("needed_speed", lambda slow: slow.needed_velocity_m_s, "speed"),
    Column("section_word", lambda slow: slow.word),
)
SUCTION: Columns[CollectorAnswer] = (
    Column("collector_flow", lambda point: point.flow_m3_s, "flow"),
    Column("static_suction", lambda point: point.inlet_static_pa, "pressure"),
    Column("total_suction", lambda point: point.inlet_total_pa, "pressure"),
)
LINES: Columns[_Line] = (
    Column("case", lambda line: line.case.name),
    Column("filter", lambda line: line.case.filter),
    Column("status", lambda line: line.case.status),
    *within(_Line, lambda line: line.machine, MACHINE),
    *within(_Line, lambda line: line.case.slowest if line.machine else None, SLOWEST),
    *within(_Line, lambda line: line.case.collector if line.machine else None, SUCTION),
    *within(_Line, lambda line: line.chance, CHANCE),
)


def check_csv(check: Check, display: Display) -> str:
    """Return a line for each case and machine; a case without an answer has a line with its status."""
    return csv_of(LINES, (line for case in check.cases for line in _lines(check, case)), display)


def _lines(check: Check, case: Case) -> Iterator[_Line]:
    if not case.collector:
        yield _Line(case, None, None)
        return
    for machine in case.machines:
        yield _Line(case, machine, check.chance(case, machine.machine))


def check_document(check: Check, display: Display) -> dict[str, Any]:
    """Return the verdict as nested plain values."""
    return {
        **PROGRAM,
        "shop": check.shop,
        "verdict": verdict(check, display).replace("\u00a0", " "),
        "exit_code": exit_code(check),
        "junction": check.junction,
        "cases": [_case(case, check.turned_by[number // 2], check) for number, case in enumerate(check.cases)],
        "farthest": _key(check, check.farthest),
        "worst": _key(check, check.worst),
        "greediest": _key(check, check.greediest),
        "subject": {"machine": check.subject.machine, "case": check.subject.case},
        "least_known": [fields_of(one, "name", "machine", "share") for one in check.widest],
        "assumptions": [_worth(worth) for worth in by_effect(check)],
        "methods": [fields_of(one, "method", "flow_m3_s") for one in check.methods],
        "by_curve": [{"curve": one.method, "flow_m3_s": one.flow_m3_s} for one in check.by_curve],
        "with_chips": None
        if check.chips is None
        else {
            "machine": check.chips.method,
            "flow_m3_s": check.chips.flow_m3_s,
        },
        "provisional": check.provisional,
        "always_open": list(check.always_open),
        "air": fields_of(
            check.air,
            "density_kg_m3",
            "viscosity_pa_s",
            "temperature_k",
            "pressure_pa",
            "altitude_m",
            "humidity",
            "stated",
        ),
        "thin_air_share": check.thin_air,
        "suction_all_shut_pa": check.shut_off_pa,
        "remarks": list(check.remarks),
        "not_used_yet": list(check.unused),
        "changes": list(check.changes),
    }


def _case(case: Case, turned_by: Sequence[str], check: Check) -> dict[str, Any]:
    return {
        "name": case.name,
        "open": list(case.open),
        "filter": case.filter,
        "status": case.status,
        "collector": None if case.collector is None else record(COLLECTOR, case.collector),
        "machines": [_machine(machine, check.chance(case, machine.machine)) for machine in case.machines],
        "sections": records(SECTIONS, case.sections),
        "wanted": _wanted(case.wanted),
        "audit": None if case.audit is None else record(AUDIT, case.audit),
        "asked": list(case.asked),
        "all_well": case.well,
        **fields_of(case, *GRADES, "close"),
        "turned_by": list(turned_by),
        "joint_leak_m3_s": case.joint_leak_m3_s,
        "gate_leak_m3_s": case.gate_leak_m3_s,
        "surplus_pa": case.surplus_pa,
        "last_flow_m3_s": case.last_flow_m3_s,
        "note": case.note,
        "other_crossings_m3_s": list(case.other_crossings_m3_s),
    }


def _machine(machine: MachineAnswer, chance: Chance | None) -> dict[str, Any]:
    return {
        **fields_of(machine, "machine", "open", "flow_m3_s", "wanted_m3_s", "served", "grade"),
        "ports": records(PORTS, machine.ports),
        **fields_of(machine, "word", "asked", "runs", "far_more"),
        **(dict.fromkeys(column.si_name for column in CHANCE) if chance is None else record(CHANCE, chance)),
    }


def _wanted(wanted: WantedAnswer) -> dict[str, Any]:
    return {
        **fields_of(
            wanted,
            "flow_m3_s",
            "suction_total_pa",
            "suction_static_pa",
            "margin_pa",
            "worst_machine",
            "farthest_machine",
        ),
        "paths": records(PATHS, wanted.paths),
        "greediest_machine": wanted.greediest_machine,
    }


def _key(check: Check, key: KeyMachine) -> dict[str, Any]:
    figures = key_figures(check, key)
    return {
        "machine": key.machine,
        "case": key.case,
        "length_m": key.length_m,
        "wanted_m3_s": figures.wanted_m3_s,
        "loaded_m3_s": figures.loaded.flow_m3_s if figures.loaded else None,
        "clean_m3_s": figures.clean.flow_m3_s if figures.clean else None,
        "needed_suction_pa": figures.needed_pa,
        "available_suction_pa": figures.available_pa,
        "margin_pa": figures.margin_pa,
    }


def _worth(worth: WorthAnswer) -> dict[str, Any]:
    assumption = worth.assumption
    return {
        "assumption": assumption.key,
        "text": assumption.text,
        "where": list(assumption.where),
        "source": assumption.source or None,
        **fields_of(worth, "low_m3_s", "high_m3_s"),
    }
