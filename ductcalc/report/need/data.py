"""What a collector must do as a JSON document and as CSV: SI units in JSON, the shown ones in CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import record, records, within
from ductcalc.answers.frames import AUDIT, POINT, PORTS, SECTIONS
from ductcalc.answers.need.candidates import CandidateCollector
from ductcalc.answers.need.need import BRANCH, BRANCHES, CURVE, FIGURES, CaseNeed, Need, branch_lines
from ductcalc.answers.need.throttling import Balance
from ductcalc.cases.case import Case
from ductcalc.catalog import fact
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import GRADES, PROGRAM, fields_of
from ductcalc.report.need.words import by_swing, rated_share, verdict

SETTLED = within(Case, lambda case: case.collector, POINT)
"""Where a case really settles."""


def need_document(need: Need, display: Display) -> dict[str, Any]:
    """Return a need as nested plain values, SI units."""
    low, high = need.range_pa or (None, None)
    return {
        **PROGRAM,
        "shop": need.shop,
        "verdict": verdict(need, display).replace("\u00a0", " "),
        "exit_code": need.exit_code,
        "junction": need.junction,
        "filter": "loaded",
        "cases": [_case(case) for case in need.cases],
        "deciding": [case.case.name for case in need.deciding],
        "too_fast": _too_fast(need),
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
        "system_curve": records(CURVE, need.curve),
        "always_open": list(need.always_open),
        "air": fields_of(need.air, "density_kg_m3", "viscosity_pa_s", "temperature_k", "pressure_pa", "altitude_m"),
        "remarks": list(need.remarks),
        "changes": list(need.changes),
    }


def _too_fast(need: Need) -> dict[str, Any] | None:
    fast = need.deciding[0].too_fast if need.deciding else None
    most = {"most_velocity_m_s": fact("parts", "main speed").high}
    return None if fast is None else {**fields_of(fast, "section", "velocity_m_s"), **most}


def _case(need: CaseNeed) -> dict[str, Any]:
    case = need.case
    return {
        "case": case.name,
        "open": list(case.open),
        "status": case.status,
        **record(FIGURES, need),
        "worst": None if need.worst is None else fields_of(need.worst, "machine", "run"),
        "paths": records(BRANCH, need.paths),
        "chips": case.chips,
        "sections": records(SECTIONS, case.sections),
        "audit": None if case.audit is None else record(AUDIT, case.audit),
    }


def _candidate(candidate: CandidateCollector) -> dict[str, Any]:
    return {
        "collector": candidate.name,
        "provisional": candidate.provisional,
        "exit_code": candidate.exit_code,
        "cases": [
            {
                "case": case.name,
                "status": case.status,
                "margin_pa": case.wanted.margin_pa,
                **record(SETTLED, case),
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
            {"machine": m.machine, "ports": records(PORTS, (port for port in m.ports if port.taking))}
            for m in case.machines
            if m.open
        ],
    }


def need_csv(need: Need, display: Display) -> str:
    """Return a line for each open branch of each case; the system curve alone where it was asked for."""
    return csv_of(CURVE, need.curve, display) if need.curve else csv_of(BRANCHES, branch_lines(need.cases), display)
