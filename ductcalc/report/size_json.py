"""A sizing as a JSON document: SI units, the unit at the end of every key."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.drop import exit_code as drop_exit_code
from ductcalc.answers.size.reasons import Neighbour, Verdict
from ductcalc.answers.size.sizing import SizedStretch, Sizing, exit_code
from ductcalc.answers.size.wishes import Giving
from ductcalc.cases.case import Case
from ductcalc.report.audit_json import audit_of_cases
from ductcalc.report.display import Display
from ductcalc.report.json_text import GRADES, fields_of
from ductcalc.report.size_words import drop_verdict, verdict

AIR = ("machine", "run", "flow_m3_s", "wanted_m3_s")
SPEED = ("section", "velocity_m_s", "needed_m_s", "settling_velocity_m_s")


def size_document(sizing: Sizing, display: Display) -> dict[str, Any]:
    """Return a sizing as nested plain values."""
    ending = "_kg" if sizing.cost_kind == "weight" else ""
    return {
        **_head(sizing.shop, verdict(sizing, display), exit_code(sizing), sizing.changes),
        **fields_of(sizing, "junction", "found", "fine_now", "proven", "impossible", "possible", "solved", "sets_only"),
        "cost_kind": sizing.cost_kind,
        f"cost_now{ending}": sizing.cost_now,
        f"cost_then{ending}": sizing.cost_then,
        f"bound{ending}": sizing.bound,
        "stretches": [_stretch(stretch, ending) for stretch in sizing.stretches],
        "sets": [_set(now, then) for now, then in zip(sizing.now, sizing.then, strict=True)],
        "giving": [_giving(one) for one in sizing.giving],
        "unpriced": list(sizing.unpriced),
        "remarks": list(sizing.remarks),
    }


def _head(shop: str, said: str, code: int, changes: tuple[str, ...]) -> dict[str, Any]:
    from ductcalc import __version__

    return {
        "program": "ductcalc",
        "version": __version__,
        "shop": shop,
        "verdict": said.replace("\u00a0", " "),
        "exit_code": code,
        "changes": list(changes),
    }


def _stretch(stretch: SizedStretch, ending: str) -> dict[str, Any]:
    return {
        **fields_of(stretch, "stretch", "run"),
        "now_m": list(stretch.now_m),
        "chosen_m": list(stretch.chosen_m),
        "sizes_m": list(stretch.sizes_m),
        **fields_of(stretch, "held", "copies"),
        "down": _neighbour(stretch.down, ending),
        "up": _neighbour(stretch.up, ending),
    }


def _neighbour(side: Neighbour | None, ending: str) -> dict[str, Any] | None:
    if side is None:
        return None
    return {
        "size_m": side.size_m,
        f"added_cost{ending}": side.added_cost,
        "sets_lost": side.sets_lost,
        "decided_by": _verdict(side.worst),
    }


def _verdict(one: Verdict) -> dict[str, Any]:
    figures = fields_of(one, *(AIR if one.kind == "short" else SPEED if one.kind == "settles" else ()))
    return {"set": one.case or None, "kind": one.kind, **figures}


def _set(now: Case, then: Case) -> dict[str, Any]:
    return {"name": now.name, "asked": list(now.asked), "now": _case(now), "then": _case(then)}


def _case(case: Case) -> dict[str, Any]:
    return {
        "status": case.status,
        "audit": audit_of_cases([case]),
        "fine": case.well,
        **fields_of(case, *GRADES),
        "machines": [
            fields_of(machine, "machine", "flow_m3_s", "wanted_m3_s", "served", "grade")
            for machine in case.machines
            if machine.machine in case.running
        ],
        "settling": [fields_of(s, "section", "velocity_m_s", "settling_velocity_m_s") for s in case.settling],
    }


def _giving(one: Giving) -> dict[str, Any]:
    return {
        "set": one.now.case,
        "as_chosen": _verdict(one.now),
        "best_alone": _verdict(one.best),
        "most_air": fields_of(one.air, *AIR) if one.air.kind == "short" else None,
        "running_ports": one.ports,
        "fine_alone": one.fine,
        "every_sizing_tried": one.most,
        "ruled_out_by_power": one.proven,
        "all_tried_have_an_answer": one.unanswered is None,
    }


def drop_document(drop: DropSizing, display: Display) -> dict[str, Any]:
    """Return one run at every size as nested plain values."""
    best = drop.best
    return {
        **_head(drop.shop, drop_verdict(drop, display), drop_exit_code(drop), drop.changes),
        "run": drop.run,
        "now_m": list(drop.now_m),
        "machines": list(drop.machines),
        "sets": list(drop.sets),
        "best_m": None if best is None else best.size_m,
        "nearest_m": None if drop.nearest is None else drop.nearest.size_m,
        "sizes": [_size(size) for size in drop.sizes],
    }


def _size(size: DropSize) -> dict[str, Any]:
    return {
        **fields_of(size, "size_m", "now", "all_fine", "word", "air", "chips", "sets", "fine", "served"),
        "unanswered": [case.name for case in size.unanswered],
        "poorest": None if size.poorest is None else fields_of(size.poorest, "case", *AIR),
        "slowest": None if size.slowest is None else fields_of(size.slowest, "case", *SPEED),
    }
