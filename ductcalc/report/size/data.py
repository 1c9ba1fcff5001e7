"""A sizing as JSON (SI units, the unit at the end of every key) and CSV: a line for each stretch, or size of a run."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.sizing import Beside, Collision, Option, SizedStretch, Sizing, exit_code
from ductcalc.cases.case import Case
from ductcalc.cases.figures import PortAnswer, SectionAnswer
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import GRADES, PROGRAM, audit_of_cases, fields_of
from ductcalc.report.size.words import cost_unit, cost_value, drop_verdict, verdict, why

CSV_DECIMALS = 6
"""Of costs: what lies below is rounding in their sums."""


def size_document(sizing: Sizing, display: Display) -> dict[str, Any]:
    """Return a sizing as nested plain values."""
    kg = "_kg" if sizing.cost_kind == "weight" else ""
    return {
        **_head(sizing.shop, verdict(sizing, display), exit_code(sizing), sizing.changes),
        **fields_of(sizing, "junction", "found", "fine_now", "why_not", "solved", "wish", "cost_kind"),
        f"cost_now{kg}": sizing.cost_now,
        f"cost_then{kg}": sizing.cost_then,
        "breaks": list(sizing.breaks),
        "idle_reducer_rows": list(sizing.idle_reducers),
        "stretches": [_stretch(stretch, kg) for stretch in sizing.stretches],
        "size_down": _option(sizing.down, kg),
        "size_up": _option(sizing.up, kg),
        "sets": [_set(now, then) for now, then in zip(sizing.now, sizing.then, strict=True)],
        "collisions": [_collision(one) for one in sizing.collisions],
        "unpriced": list(sizing.unpriced),
        "remarks": list(sizing.remarks),
    }


def _head(shop: str, said: str, code: int, changes: tuple[str, ...]) -> dict[str, Any]:
    return {
        **PROGRAM,
        "shop": shop,
        "verdict": said.replace("\u00a0", " "),
        "exit_code": code,
        "changes": list(changes),
    }


def _stretch(stretch: SizedStretch, kg: str) -> dict[str, Any]:
    return {
        **fields_of(stretch, "stretch", "title", "run"),
        "now_m": list(stretch.now_m),
        "chosen_m": list(stretch.chosen_m),
        "sizes_m": list(stretch.sizes_m),
        **fields_of(stretch, "held", "copies"),
        "down": _beside(stretch.down, kg),
        "up": _beside(stretch.up, kg),
        "kept": _beside(stretch.kept, kg),
    }


def _beside(side: Beside | None, kg: str) -> dict[str, Any] | None:
    if side is None:
        return None
    decided = {"set": None if side.lost is None else side.lost.name, "kind": side.kind}
    if side.lost is not None and side.lost.solved:
        decided |= _port(_poorest(side.lost)) if side.kind.endswith("short") else _speed(side.lost.slowest)
    return {"size_m": side.size_m, f"added_cost{kg}": side.added_cost, "sets_lost": side.sets_lost,
            "decided_by": decided}  # fmt: skip


def _poorest(case: Case) -> PortAnswer:
    return min((m.poorest for m in case.asked_machines if m.runs), key=lambda port: port.share)


def _port(port: PortAnswer) -> dict[str, Any]:
    return fields_of(port, "machine", "run", "flow_m3_s", "wanted_m3_s")


def _speed(slow: SectionAnswer | None) -> dict[str, Any]:
    if slow is None:
        return {}
    return {
        "section": slow.section,
        "velocity_m_s": slow.deciding_velocity_m_s,
        "needed_m_s": slow.needed_velocity_m_s,
        "settling_velocity_m_s": slow.settling_velocity_m_s,
    }


def _option(option: Option | None, kg: str) -> dict[str, Any] | None:
    if option is None:
        return None
    sets = [{"name": case.name, **_case(case)} for case in option.cases]
    return {f"cost{kg}": option.cost, "may_run": option.may_run, "sets": sets}


def _set(now: Case, then: Case) -> dict[str, Any]:
    return {"name": now.name, "asked": list(now.asked), "now": _case(now), "then": _case(then)}


def _case(case: Case) -> dict[str, Any]:
    return {
        "status": case.status,
        "audit": None if case.batch is None else audit_of_cases([case]),
        "fine": case.well,
        **fields_of(case, *GRADES),
        "machines": [
            fields_of(machine, "machine", "flow_m3_s", "wanted_m3_s", "served", "grade")
            for machine in case.machines
            if machine.machine in case.running
        ],
        "settling": [fields_of(s, "section", "velocity_m_s", "settling_velocity_m_s") for s in case.settling],
    }


def _collision(one: Collision) -> dict[str, Any]:
    loser = None if one.loser is None else {"name": one.loser.name, **_case(one.loser)}
    return {"set": one.now.name, "nearest": _case(one.then), "loser": loser, "kind": one.kind or None}


def drop_document(drop: DropSizing, display: Display) -> dict[str, Any]:
    """Return one run at every size as nested plain values."""
    best, nearest = drop.best, drop.nearest
    return {
        **_head(drop.shop, drop_verdict(drop, display), drop_exit_code(drop), drop.changes),
        "run": drop.run,
        "now_m": list(drop.now_m),
        "machines": list(drop.machines),
        "sets": list(drop.sets),
        "best_m": None if best is None else best.size_m,
        "nearest_m": None if nearest is None else nearest.size_m,
        "sizes": [_size(size) for size in drop.sizes],
    }


def drop_exit_code(drop: DropSizing) -> int:
    """Return 0 when a size makes every set that uses the run fine, 3 when no size has all answers, else 1."""
    if drop.best is not None:
        return 0
    return 3 if all(size.unanswered for size in drop.sizes) else 1


def _size(size: DropSize) -> dict[str, Any]:
    poor, slow = size.poorest, size.slowest
    return {
        **fields_of(size, "size_m", "now", "under_port", "all_fine", "word", "air", "chips", "sets", "fine", "served"),
        "unanswered": [case.name for case in size.unanswered],
        "poorest": None if poor is None else {"case": poor[0].name, **_port(poor[1])},
        "slowest": None if slow is None else {"case": slow[0].name, **_speed(slow[1])},
    }


def size_csv(sizing: Sizing, display: Display) -> str:
    """Return a line for each stretch."""
    return csv_of(_stretch_columns(sizing, display), sizing.stretches, display)


def _stretch_columns(sizing: Sizing, display: Display) -> Columns[SizedStretch]:
    return (
        Column("stretch", lambda stretch: stretch.stretch),
        Column("run", lambda stretch: stretch.run),
        Column("now", lambda stretch: max(stretch.now_m), "size"),
        Column("take", lambda stretch: max(stretch.chosen_m), "size"),
        Column("held", lambda stretch: stretch.held),
        *within(SizedStretch, lambda stretch: stretch.down, _side_columns("down", sizing, display)),
        *within(SizedStretch, lambda stretch: stretch.up, _side_columns("up", sizing, display)),
        Column("why", lambda stretch: why(sizing, stretch, display).replace("\u00a0", " ")),
    )


def _side_columns(name: str, sizing: Sizing, display: Display) -> Columns[Beside]:
    """Return what the next size down or up would do."""
    unit = cost_unit(sizing, display)

    def cost(side: Beside) -> float | None:
        added = side.added_cost
        return None if added is None else round(cost_value(sizing, added, display), CSV_DECIMALS)

    return (
        Column(name, lambda side: side.size_m, "size"),
        Column(f"{name}_verdict", lambda side: side.kind),
        Column(f"{name}_set", lambda side: side.lost and side.lost.name),
        Column(f"{name}_sets_lost", lambda side: side.sets_lost),
        Column(f"{name}_added_cost" + (f"_{unit}" if unit else ""), cost),
    )


POOREST: Columns[PortAnswer] = (
    Column("poorest", lambda port: port.machine),
    Column("gets", lambda port: port.flow_m3_s, "flow"),
    Column("wants", lambda port: port.wanted_m3_s, "flow"),
)
SLOWEST: Columns[SectionAnswer] = (
    Column("slowest_section", lambda slow: slow.section),
    Column("speed", lambda slow: slow.deciding_velocity_m_s, "speed"),
    Column("needs", lambda slow: slow.needed_velocity_m_s, "speed"),
    Column("settles_below", lambda slow: slow.settling_velocity_m_s, "speed"),
)
SIZES: Columns[DropSize] = (
    Column("size", lambda size: size.size_m, "size"),
    *within(DropSize, lambda size: size.poorest and size.poorest[1], POOREST),
    *within(DropSize, lambda size: size.slowest and size.slowest[1], SLOWEST),
    Column("sets", lambda size: size.sets),
    Column("fine", lambda size: size.fine),
    Column("verdict", lambda size: size.word),
)


def drop_csv(drop: DropSizing, display: Display) -> str:
    """Return a line for each size of one run."""
    return csv_of(SIZES, drop.sizes, display)
