"""Gate sets as a JSON document, SI units, and as CSV: a line for every solved set."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import Column, Columns, record, records
from ductcalc.answers.frames import PORTS
from ductcalc.answers.gates.cures import CureAnswer
from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.helpers import HelperAnswer, air_lost
from ductcalc.answers.gates.school import BleedGate, School
from ductcalc.answers.gates.sorting import exit_code
from ductcalc.answers.gates.table import SetTable, set_table
from ductcalc.answers.gates.told import SplitAnswer
from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.gates.sentences import verdict
from ductcalc.report.json_text import GRADES, PROGRAM, audit_document, fields_of

LOST = ("loses_most", "lost_m3_s")
PORT = tuple(column for column in PORTS if column.key != "velocity")


def gates_document(gates: Gates, display: Display) -> dict[str, Any]:
    """Return the answer as nested plain values."""
    return {
        **PROGRAM,
        "shop": gates.shop,
        "verdict": verdict(gates, display).replace("\u00a0", " "),
        "exit_code": exit_code(gates),
        "changes": list(gates.changes),
        "machines": list(gates.machines),
        "exact": gates.exact,
        "solved_sets": gates.solved_sets,
        "audit": audit_document([gates.asked.store.audit]),
        "possible_sets": gates.possible_sets,
        "most_together": gates.most_together,
        "sets": [_set(answer, named=False) for answer in (*gates.singles, *gates.together)]
        + [_set(answer, named=True) for answer in gates.named],
        "one_hose": [list(pair) for pair in gates.sharing],
        "largest": [list(case.asked) for case in gates.largest],
        "largest_fine": [list(case.asked) for case in gates.largest_fine],
        "forbidden": [list(machines) for machines in gates.forbidden],
        "exceptions": gates.exceptions,
        "no_answer": gates.no_answer,
        "never_served": list(gates.never_served),
        "school": _school(gates.school),
        "needs_company": [{"machine": name, "helpers": list(helpers)} for name, helpers in gates.needs_company],
        "helpers": [_helped(helped) for helped in gates.helped],
        "cures": [_cure(cure) for cure in gates.uncured],
        "not_looked_into": gates.not_looked_into,
        "left_open": [_left_open(gates, number) for number in range(len(gates.left_open))],
        "leaks": [
            {
                "machine": leak.machine,
                "as_written_m3_s": leak.stated_m3_s,
                "by_leak": [{"leak_share": share, "flow_m3_s": flow} for share, flow in leak.by_share],
            }
            for leak in gates.leaks
        ],
        "tightest": None
        if gates.tightest is None
        else fields_of(gates.tightest, "gate", "section", "gain_m3_s", "most_gained", "most_gain_m3_s"),
        **_told(gates),
    }


def _set(answer: Case, named: bool) -> dict[str, Any]:
    return {
        "name": answer.name if named else None,
        "open": list(answer.asked),
        **fields_of(answer, *GRADES, "close"),
        "machines": [_machine(machine) for machine in answer.asked_machines],
        "also_open": [{"machine": port.machine, **record(PORT, port)} for port in answer.also_open],
        "slowest": None
        if answer.slowest is None
        else {
            "section": answer.slowest.section,
            "velocity_m_s": answer.slowest.deciding_velocity_m_s,
            "rises": answer.slowest.decides == "riser",
            **fields_of(answer.slowest, "needed_velocity_m_s", "settling_velocity_m_s", "material"),
        },
        "settling_sections": len(answer.settling),
    }


def _machine(machine: MachineAnswer) -> dict[str, Any]:
    return {
        **fields_of(machine, "machine", "flow_m3_s", "wanted_m3_s", "served", "grade", "helper"),
        "ports": records(PORT, (port for port in machine.ports if port.taking)),
    }


def _helped(helped: HelperAnswer) -> dict[str, Any]:
    return {
        "set": helped.before.name,
        "helpers": list(helped.helpers),
        "before": _set(helped.before, named=False),
        "after": None if helped.after is None else _set(helped.after, named=False),
        "every_helper": [
            {"helpers": list(names), **dict(zip(LOST, air_lost(helped.before, after), strict=True)), "word": after.word}
            for names, after in helped.every
        ],
    }


def _school(school: School) -> dict[str, Any]:
    return {
        "stretches": [
            {
                **fields_of(stretch, "section", "title"),
                "machines": list(stretch.machines),
                "settles": [{"machine": machine, "velocity_m_s": speed} for machine, speed in stretch.settles],
                **fields_of(stretch, "least_m_s", "keep_open", "sets", "may_run"),
            }
            for stretch in school.stretches
        ],
        "one_of": [list(group) for group in school.one_of],
        "bleed_gate": None if school.bleed is None else _bleed_gate(school.bleed),
        "keep_open": None
        if school.keep_open is None
        else {
            **fields_of(school.keep_open, "least", "gates", "now", "then"),
            **dict(zip(LOST, school.keep_open.most_lost, strict=True)),
        },
        "classes_at_once": [{"sets": list(names), **fields_of(case, *GRADES)} for names, case in school.classes],
    }


def _bleed_gate(bleed: BleedGate) -> dict[str, Any]:
    helped = [
        {"machine": before.name, **dict(zip(LOST, air_lost(before, after), strict=True)), "word": after.word}
        for before, after in bleed.helped
    ]
    return {**fields_of(bleed, "section", "bore_m"), "helped": helped}


def _cure(cure: CureAnswer) -> dict[str, Any]:
    smaller, bleed = cure.smaller, cure.bleed
    return {
        "set": cure.before.name,
        "smaller_pipe": None
        if smaller is None
        else {
            "sections": [{"section": name, "size_m": now, "then_m": then} for name, now, then in smaller.sections],
            "after": _set(smaller.after, named=False),
            "spoils": list(smaller.spoils),
        },
        "air_bleed": None
        if bleed is None
        else {
            **fields_of(bleed, "section", "bore_m", "area_m2"),
            "after": _set(bleed.after, named=False),
            "spoils": list(bleed.spoils),
        },
    }


def _left_open(gates: Gates, number: int) -> dict[str, Any]:
    left = gates.left_open[number]
    return {
        **fields_of(left, "machine", "alone_m3_s", "wanted_m3_s", "worst_gate", "worst_m3_s", "grade"),
        "enough": left.grade == "ok",
        "by_gate": [{"gate": gate, "flow_m3_s": flow} for gate, flow in left.by_gate],
    }


def _told(gates: Gates) -> dict[str, Any]:
    told = gates.told
    return {
        "splits": [_split(split) for split in told.splits],
        "inlets": [fields_of(i, "machine", "run", "inlet_m2", "port_m2", "share") for i in told.inlets],
        "own_blowers": [fields_of(b, "machine", "own_pa", "flow_m3_s", "without_m3_s") for b in told.blowers],
        "always_open": list(told.always_open),
        "provisional": told.provisional,
    }


def _split(split: SplitAnswer) -> dict[str, Any]:
    return {
        "machine": split.machine,
        "ports": records(PORT, split.ports),
        "starved": None if split.starved is None else split.starved.run,
    }


def gates_csv(gates: Gates, display: Display) -> str:
    """Return the proof by list: a line per solved set; air of a shut machine is what its gate leaks."""
    table = set_table(gates)
    return csv_of(_set_columns(table), range(len(table.word)), display)


def _set_columns(table: SetTable) -> Columns[int]:
    """Return the columns of a table of sets, whose rows are the sets' numbers."""
    opened, air = table.open.T.tolist(), table.air_m3_s.T.tolist()
    named = list(enumerate(table.machines))
    return (
        *(Column[int](machine, opened[n].__getitem__) for n, machine in named),
        Column("named_set", table.name.__getitem__),
        Column("helpers", table.helpers.__getitem__),
        *(Column[int](f"air {machine} []", air[n].__getitem__, "flow") for n, machine in named),
        Column("slowest_section", table.section.__getitem__),
        Column("speed", table.speed_m_s.__getitem__, "speed"),
        Column("needed_speed", table.needed_m_s.__getitem__, "speed"),
        Column("served", table.served.tolist().__getitem__),
        Column("may_run", table.may_run.tolist().__getitem__),
        Column("settling_sections", table.settling.__getitem__),
        Column("word", table.word.__getitem__),
        Column("largest", table.largest.tolist().__getitem__),
        Column("forbidden", table.forbidden.tolist().__getitem__),
    )
