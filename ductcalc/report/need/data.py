"""What a collector must do as a JSON document and as CSV: SI units in JSON, the shown ones in CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.need.balance import Balance
from ductcalc.answers.need.candidates import Candidate
from ductcalc.answers.need.need import CaseNeed, Need
from ductcalc.report.check.data import PORT_FIELDS, SECTION_FIELDS
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.json_text import GRADES, fields_of
from ductcalc.report.need.words import by_swing, rated_share, verdict

CASE_FIELDS = (
    "flow_m3_s",
    "static_pa",
    "total_pa",
    "cyclone_pa",
    "filter_pa",
    "outlet_pa",
    "fan_static_pa",
    "fan_total_pa",
    "rated_static_pa",
)
PATH_FIELDS = ("machine", "run", "need_pa", "excess_pa", "gate_opening", "gate_run", "left_pa", "length_m")
CURVE_FIELDS = ("case", "share", "flow_m3_s", "static_pa", "total_pa", "fan_static_pa", "open_fan_static_pa")


def need_document(need: Need, display: Display) -> dict[str, Any]:
    """Return a need as nested plain values, SI units."""
    from ductcalc import __version__

    low, high = need.range_pa or (None, None)
    return {
        "program": "ductcalc",
        "version": __version__,
        "shop": need.shop,
        "verdict": verdict(need, display).replace("\u00a0", " "),
        "exit_code": need.exit_code,
        "junction": need.junction,
        "filter": "loaded",
        "cases": [_case(case) for case in need.cases],
        "deciding": [case.case.name for case in need.deciding],
        "range": {
            "fan_static_low_pa": low,
            "fan_static_high_pa": high,
            "rated_static_low_pa": None if low is None else low * rated_share(need),
            "rated_static_high_pa": None if high is None else high * rated_share(need),
        },
        "assumptions": [
            {
                "assumption": worth.assumption.key,
                "text": worth.assumption.text,
                "where": list(worth.assumption.where),
                "source": worth.assumption.source or None,
                "fan_static_low_pa": worth.low_pa,
                "fan_static_high_pa": worth.high_pa,
            }
            for worth in by_swing(need)
        ],
        "methods": [fields_of(one, "method", "fan_static_pa") for one in need.methods],
        "candidates": [_candidate(one) for one in need.candidates],
        "balances": [_balance(one) for one in need.balances],
        "system_curve": [fields_of(point, *CURVE_FIELDS) for point in need.curve],
        "always_open": list(need.always_open),
        "air": fields_of(need.air, "density_kg_m3", "viscosity_pa_s", "temperature_k", "pressure_pa", "altitude_m"),
        "remarks": list(need.remarks),
        "changes": list(need.changes),
    }


def _case(need: CaseNeed) -> dict[str, Any]:
    case = need.case
    return {
        "case": case.name,
        "open": list(case.open),
        "status": case.status,
        **fields_of(need, *CASE_FIELDS),
        "worst": None if need.worst is None else fields_of(need.worst, "machine", "run"),
        "paths": [fields_of(path, *PATH_FIELDS) for path in need.paths],
        "chips": case.chips,
        "sections": [fields_of(section, *SECTION_FIELDS) for section in case.sections],
        "audit": None if case.audit is None else fields_of(case.audit, "pressure", "mass", "blower"),
    }


def _candidate(candidate: Candidate) -> dict[str, Any]:
    return {
        "collector": candidate.name,
        "provisional": candidate.provisional,
        "exit_code": candidate.exit_code,
        "cases": [
            {
                "case": case.name,
                "status": case.status,
                "margin_pa": case.wanted.margin_pa,
                **{
                    name: getattr(case.collector, name, None)
                    for name in ("flow_m3_s", "inlet_static_pa", "inlet_total_pa", "blower_pa", "basis")
                },
                **fields_of(case, *GRADES),
                "all_well": case.well,
                "machines": [fields_of(m, "machine", "wanted_m3_s", "flow_m3_s") for m in case.asked_machines],
            }
            for case in candidate.cases
        ],
        "remarks": list(candidate.remarks),
    }


def _balance(balance: Balance) -> dict[str, Any]:
    case = balance.case
    return {
        "case": balance.name,
        "status": case.status,
        "own_curve": balance.own_curve,
        "gates": [fields_of(gate, "run", "opening", "burnt_pa") for gate in balance.gates],
        "machines": [
            {"machine": m.machine, "ports": [fields_of(port, *PORT_FIELDS) for port in m.ports if port.taking]}
            for m in case.machines
            if m.open
        ],
    }


def need_csv(need: Need, display: Display) -> str:
    """Return a line for each open branch of each case; the system curve alone where it was asked for."""
    return _curve_csv(need, display) if need.curve else _branch_csv(need, display)


def _branch_csv(need: Need, display: Display) -> str:
    flow, pressure, length = (ending(what, display) for what in ("flow", "pressure", "length"))
    columns = (
        "case",
        "status",
        f"flow_{flow}",
        f"static_suction_{pressure}",
        f"total_suction_{pressure}",
        f"fan_static_{pressure}",
        f"fan_total_{pressure}",
        f"fan_static_on_paper_{pressure}",
        "chips",
        "machine",
        "run",
        f"need_{pressure}",
        f"excess_{pressure}",
        "gate_opening",
        f"length_{length}",
        "decides",
    )
    return csv_text(columns, (row for case in need.cases for row in _branch_rows(case, display)))


def _branch_rows(need: CaseNeed, display: Display) -> Iterator[list[Any]]:
    pressures = (need.static_pa, need.total_pa, need.fan_static_pa, need.fan_total_pa, need.rated_static_pa)
    head = [need.case.name, need.case.status, shown(need.flow_m3_s, "flow", display)]
    head += [shown(pressure, "pressure", display) for pressure in pressures]
    head.append(need.case.chips)
    if not need.paths:
        yield [*head, *[None] * 7]
    for path in need.paths:
        yield [
            *head,
            path.machine,
            path.run,
            shown(path.need_pa, "pressure", display),
            shown(path.excess_pa, "pressure", display),
            path.gate_opening,
            shown(path.length_m, "length", display),
            path.excess_pa == 0.0,
        ]


def _curve_csv(need: Need, display: Display) -> str:
    flow, pressure = ending("flow", display), ending("pressure", display)
    names = ("static_suction", "total_suction", "fan_static", "fan_static_gates_fully_open")
    columns = ("case", "share_of_wanted", f"flow_{flow}", *(f"{name}_{pressure}" for name in names))
    rows = (
        [
            point.case,
            point.share,
            shown(point.flow_m3_s, "flow", display),
            *(
                shown(one, "pressure", display)
                for one in (point.static_pa, point.total_pa, point.fan_static_pa, point.open_fan_static_pa)
            ),
        ]
        for point in need.curve
    )
    return csv_text(columns, rows)
