"""The tables of a verdict in SI; every column that holds a quantity ends in its unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from ductcalc.answers.columns import Column, Columns, frame, within
from ductcalc.cases.case import Case
from ductcalc.cases.chances import Chance
from ductcalc.cases.figures import (
    AuditAnswer,
    CollectorAnswer,
    MachineAnswer,
    PathAnswer,
    PortAnswer,
    SectionAnswer,
    WantedAnswer,
)

if TYPE_CHECKING:
    import pandas

    from ductcalc.answers.check import Check

PORTS: Columns[PortAnswer] = (
    Column("run", lambda port: port.run),
    Column("flow", lambda port: port.flow_m3_s, "flow"),
    Column("wanted", lambda port: port.wanted_m3_s, "flow"),
    Column("velocity", lambda port: port.velocity_m_s, "speed"),
    Column("enough", lambda port: port.enough),
    Column("grade", lambda port: port.grade),
)
SECTIONS: Columns[SectionAnswer] = (
    Column("section", lambda section: section.section),
    Column("title", lambda section: section.title),
    Column("flow", lambda section: section.flow_m3_s, "flow"),
    Column("velocity", lambda section: section.velocity_m_s, "speed"),
    Column("needed_velocity", lambda section: section.needed_velocity_m_s, "speed"),
    Column("loss", lambda section: section.loss_pa, "pressure"),
    Column("run", lambda section: section.run),
    Column("word", lambda section: section.word),
    Column("settling_velocity", lambda section: section.settling_velocity_m_s, "speed"),
    Column("riser_velocity", lambda section: section.riser_velocity_m_s, "speed"),
    Column("wye_loss", lambda section: section.wye_loss_pa, "pressure"),
    Column("joint_leak", lambda section: section.joint_leak_m3_s, "flow"),
    Column("material", lambda section: section.material),
)
PATHS: Columns[PathAnswer] = (
    Column("machine", lambda path: path.machine),
    Column("suction_total", lambda path: path.suction_total_pa, "pressure"),
    Column("excess", lambda path: path.excess_pa, "pressure"),
    Column("length", lambda path: path.length_m, "length"),
    Column("run", lambda path: path.run),
)
POINT: Columns[CollectorAnswer] = (
    Column("flow", lambda point: point.flow_m3_s, "flow"),
    Column("inlet_static", lambda point: point.inlet_static_pa, "pressure"),
    Column("inlet_total", lambda point: point.inlet_total_pa, "pressure"),
    Column("blower", lambda point: point.blower_pa, "pressure"),
    Column("basis", lambda point: point.basis),
)
POWER = Column[CollectorAnswer]("power", lambda point: point.power_w, "power")
WANTED: Columns[WantedAnswer] = (
    Column("wanted_flow", lambda wanted: wanted.flow_m3_s, "flow"),
    Column("wanted_suction_total", lambda wanted: wanted.suction_total_pa, "pressure"),
    Column("margin", lambda wanted: wanted.margin_pa, "pressure"),
)
ANSWER: Columns[MachineAnswer] = (
    Column("wanted", lambda answer: answer.wanted_m3_s, "flow"),
    Column("flow", lambda answer: answer.flow_m3_s, "flow"),
    Column("served", lambda answer: answer.served),
    Column("word", lambda answer: answer.word),
)
CHANCE: Columns[Chance] = (
    Column("low", lambda chance: chance.low_m3_s, "flow"),
    Column("high", lambda chance: chance.high_m3_s, "flow"),
    Column("served_chance", lambda chance: chance.served),
    Column("moves_chance", lambda chance: chance.moves),
)
AUDIT: Columns[AuditAnswer] = (
    Column("pressure", lambda audit: audit.pressure),
    Column("mass", lambda audit: audit.mass),
    Column("blower", lambda audit: audit.blower),
)


class _Port(NamedTuple):
    case: Case
    machine: MachineAnswer
    port: PortAnswer


class _InCase(NamedTuple):
    case: Case
    part: Any


NAMED: Columns[Case] = (
    Column("case", lambda case: case.name),
    Column("filter", lambda case: case.filter),
)
MACHINES: Columns[_Port] = (
    *within(_Port, lambda row: row.case, NAMED),
    Column("status", lambda row: row.case.status),
    Column("machine", lambda row: row.machine.machine),
    Column("run", lambda row: row.port.run),
    Column("asked", lambda row: row.machine.asked),
    Column("runs", lambda row: row.machine.runs),
    Column("open", lambda row: row.machine.open),
    *within(_Port, lambda row: row.port, PORTS[1:5]),
    Column("served", lambda row: row.machine.served),
    Column("word", lambda row: row.machine.word),
)
CHANCES: Columns[Chance] = (
    Column("case", lambda chance: chance.case),
    Column("machine", lambda chance: chance.machine),
    *CHANCE,
)
AUDITED = tuple(column._replace(key=f"audit_{column.key}") for column in AUDIT)
CASES: Columns[Case] = (
    *NAMED,
    Column("status", lambda case: case.status),
    Column("collector", lambda case: case.collector and case.collector.name),
    *within(Case, lambda case: case.collector, POINT),
    *within(Case, lambda case: case.wanted, WANTED),
    Column("joint_leak", lambda case: case.joint_leak_m3_s, "flow"),
    Column("gate_leak", lambda case: case.gate_leak_m3_s, "flow"),
    *within(Case, lambda case: case.audit, AUDITED),
)


def check_frame(check: Check, table: str = "machines") -> pandas.DataFrame:
    """Return one of the tables `machines` (a row per port), `chances`, `sections`, `paths`, `cases` of a verdict.

    Raises ValueError for another name.
    """
    cases = check.cases
    if table == "machines":
        ports = ((case, one, port) for case in cases for one in case.machines for port in one.ports)
        return frame(MACHINES, (_Port(*line) for line in ports))
    if table == "cases":
        return frame(CASES, cases)
    if table == "chances":
        found = (check.chance(case, one.machine) for case in check.loaded for one in case.machines)
        return frame(CHANCES, (chance for chance in found if chance is not None))
    if table == "sections":
        return frame(_of_case(NAMED, SECTIONS), (_InCase(case, section) for case in cases for section in case.sections))
    if table == "paths":
        paths = (_InCase(case, path) for case in check.loaded for path in case.wanted.paths)
        return frame(_of_case(NAMED[:1], PATHS), paths)
    raise ValueError(f"{table!r} is not one of machines, chances, sections, paths, cases")


def _of_case(named: Columns[Case], columns: Columns[Any]) -> Columns[_InCase]:
    """Return the columns of a part of a case behind those of the case."""
    return (*within(_InCase, lambda row: row.case, named), *within(_InCase, lambda row: row.part, columns))
