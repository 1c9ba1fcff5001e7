"""Answers as pandas tables in SI units; every column that holds a quantity ends in its unit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from ductcalc.cases.case import Case

if TYPE_CHECKING:
    import pandas

    from ductcalc.answers.check import Check
    from ductcalc.answers.compare.compare import Comparison, MachineLine, PointLine
    from ductcalc.answers.gates.gates import Gates
    from ductcalc.answers.losses import Losses

Row = dict[str, Any]

MACHINES = (
    "case",
    "filter",
    "status",
    "machine",
    "run",
    "asked",
    "runs",
    "open",
    "flow_m3_s",
    "wanted_m3_s",
    "velocity_m_s",
    "enough",
    "served",
    "word",
)
SECTIONS = (
    "case",
    "filter",
    "section",
    "run",
    "flow_m3_s",
    "velocity_m_s",
    "needed_velocity_m_s",
    "settling_velocity_m_s",
    "loss_pa",
    "wye_loss_pa",
    "joint_leak_m3_s",
    "material",
    "word",
)
PATHS = ("case", "machine", "run", "suction_total_pa", "excess_pa", "length_m")
CASES = (
    "case",
    "filter",
    "status",
    "collector",
    "flow_m3_s",
    "inlet_static_pa",
    "inlet_total_pa",
    "blower_pa",
    "basis",
    "wanted_flow_m3_s",
    "wanted_suction_total_pa",
    "margin_pa",
    "joint_leak_m3_s",
    "gate_leak_m3_s",
    "audit_pressure",
    "audit_mass",
    "audit_blower",
)


def check_frame(check: Check, table: str = "machines") -> pandas.DataFrame:
    """Return one of the tables `machines` (a row per port), `sections`, `paths`, `cases` of a verdict.

    Raises ValueError for another name.
    """
    if table not in _TABLES:
        raise ValueError(f"{table!r} is not one of {', '.join(_TABLES)}")
    columns, rows_of = _TABLES[table]
    import pandas

    cases = check.loaded if table == "paths" else check.cases
    return pandas.DataFrame([row for case in cases for row in rows_of(case)], columns=list(columns))


def losses_frame(losses: Losses) -> pandas.DataFrame:
    """Return a branch loss report's rows, in the order of the air."""
    import pandas

    from ductcalc.answers.losses import LossRow

    names = [field.name for field in fields(LossRow)]
    rows = [[getattr(row, name) for name in names] for row in losses.rows]
    return pandas.DataFrame(rows, columns=names)


def gates_frame(gates: Gates) -> pandas.DataFrame:
    """Return every solved gate set: a boolean column per machine, its air, the slowest section, the word; SI units."""
    import pandas

    from ductcalc.answers.gates.table import set_table

    table = set_table(gates)
    columns: dict[str, Any] = {machine: table.open[:, n] for n, machine in enumerate(table.machines)}
    columns["named set"] = list(table.name)
    columns["helpers"] = list(table.helpers)
    columns |= {f"air {machine} [m3/s]": table.air_m3_s[:, n] for n, machine in enumerate(table.machines)}
    columns |= {
        "slowest section": list(table.section),
        "speed [m/s]": table.speed_m_s,
        "needed speed [m/s]": table.needed_m_s,
        "served": table.served,
        "may run": table.may_run,
        "settling sections": table.settling,
        "word": list(table.word),
        "largest": table.largest,
        "forbidden": table.forbidden,
    }
    return pandas.DataFrame(columns)


def compare_frame(comparison: Comparison, table: str = "machines") -> pandas.DataFrame:
    """Return one of the tables `machines` and `points` of a comparison, a row for each variant.

    Raises ValueError for another name.
    """
    labels = {variant.letter: variant.label for variant in comparison.variants}
    if table == "machines":
        rows = [{**_compared_machine(line), "label": labels[line.variant]} for line in comparison.machines]
    elif table == "points":
        rows = [{**_compared_point(line), "label": labels[line.variant]} for line in comparison.points]
    else:
        raise ValueError(f"{table!r} is not one of machines, points")
    import pandas

    return pandas.DataFrame(rows)


def _compared_machine(line: MachineLine) -> Row:
    answer, slow = line.answer, line.slowest
    return {
        **{name: getattr(line, name) for name in ("case", "filter", "machine", "variant", "status")},
        **{name: getattr(answer, name, None) for name in ("wanted_m3_s", "flow_m3_s", "served", "word")},
        "flow_difference_m3_s": line.flow_difference_m3_s,
        "section": getattr(slow, "section", None),
        **{name: getattr(slow, name, None) for name in ("velocity_m_s", "needed_velocity_m_s")},
        "velocity_difference_m_s": line.velocity_difference_m_s,
        "section_word": getattr(slow, "word", None),
    }


def _compared_point(line: PointLine) -> Row:
    names = ("flow_m3_s", "inlet_static_pa", "inlet_total_pa", "blower_pa", "power_w")
    differences = ("flow_difference_m3_s", "inlet_static_difference_pa", "blower_difference_pa", "power_difference_w")
    return {
        **{name: getattr(line, name) for name in ("case", "filter", "variant", "status")},
        **{name: getattr(line.collector, name, None) for name in names},
        **{name: getattr(line, name) for name in differences},
    }


def _machines(case: Case) -> Iterator[Row]:
    for machine in case.machines:
        for port in machine.ports:
            yield {
                "case": case.name,
                "filter": case.filter,
                "status": case.status,
                "machine": machine.machine,
                "run": port.run,
                "asked": machine.asked,
                "runs": machine.runs,
                "open": machine.open,
                "flow_m3_s": port.flow_m3_s,
                "wanted_m3_s": port.wanted_m3_s,
                "velocity_m_s": port.velocity_m_s,
                "enough": port.enough,
                "served": machine.served,
                "word": machine.word,
            }


def _sections(case: Case) -> Iterator[Row]:
    for section in case.sections:
        own = {name: getattr(section, name) for name in SECTIONS[2:]}
        yield {"case": case.name, "filter": case.filter, **own}


def _paths(case: Case) -> Iterator[Row]:
    for path in case.wanted.paths:
        yield {"case": case.name, **{name: getattr(path, name) for name in PATHS[1:]}}


def _case(case: Case) -> Iterator[Row]:
    row: Row = {
        "case": case.name,
        "filter": case.filter,
        "status": case.status,
        "wanted_flow_m3_s": case.wanted.flow_m3_s,
        "wanted_suction_total_pa": case.wanted.suction_total_pa,
        "margin_pa": case.wanted.margin_pa,
        "joint_leak_m3_s": case.joint_leak_m3_s,
        "gate_leak_m3_s": case.gate_leak_m3_s,
    }
    if case.collector is not None:
        row["collector"] = case.collector.name
        row |= {name: getattr(case.collector, name) for name in CASES[4:9]}
    if case.audit is not None:
        row |= {f"audit_{name}": getattr(case.audit, name) for name in ("pressure", "mass", "blower")}
    yield row


_TABLES: dict[str, tuple[tuple[str, ...], Callable[[Case], Iterator[Row]]]] = {
    "machines": (MACHINES, _machines),
    "sections": (SECTIONS, _sections),
    "paths": (PATHS, _paths),
    "cases": (CASES, _case),
}
