"""A sizing as CSV: a line for each stretch, or for each size of one run."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.reasons import Neighbour
from ductcalc.answers.size.sizing import SizedStretch, Sizing
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.size_words import cost_unit, cost_value, why

CSV_DECIMALS = 6
"""Of costs: what lies below is rounding in their sums."""


def size_csv(sizing: Sizing, display: Display) -> str:
    """Return a line for each stretch."""
    size, unit = ending("size", display), cost_unit(sizing, display)
    cost = "added_cost" + (f"_{unit}" if unit else "")
    columns = ["stretch", "run", f"now_{size}", f"take_{size}", "held"]
    for side in ("down", "up"):
        columns += [f"{side}_{size}", f"{side}_verdict", f"{side}_set", f"{side}_sets_lost", f"{side}_{cost}"]
    return csv_text((*columns, "why"), (_row(sizing, stretch, display) for stretch in sizing.stretches))


def _row(sizing: Sizing, stretch: SizedStretch, display: Display) -> list[Any]:
    return [
        stretch.stretch,
        stretch.run,
        shown(max(stretch.now_m), "size", display),
        shown(max(stretch.chosen_m), "size", display),
        stretch.held,
        *_side(sizing, stretch.down, display),
        *_side(sizing, stretch.up, display),
        why(sizing, stretch, display).replace("\u00a0", " "),
    ]


def _side(sizing: Sizing, side: Neighbour | None, display: Display) -> Iterator[Any]:
    if side is None:
        yield from (None,) * 5
        return
    yield shown(side.size_m, "size", display)
    yield side.worst.kind
    yield side.worst.case or None
    yield side.sets_lost
    yield round(cost_value(sizing, side.added_cost, display), CSV_DECIMALS)


def drop_csv(drop: DropSizing, display: Display) -> str:
    """Return a line for each size of one run."""
    size, flow, speed = (ending(what, display) for what in ("size", "flow", "speed"))
    columns = (
        f"size_{size}",
        "poorest",
        f"gets_{flow}",
        f"wants_{flow}",
        "slowest_section",
        f"speed_{speed}",
        f"needs_{speed}",
        f"settles_below_{speed}",
        "sets",
        "fine",
        "verdict",
    )
    return csv_text(columns, (_size(one, display) for one in drop.sizes))


def _size(size: DropSize, display: Display) -> list[Any]:
    poor, slow = size.poorest, size.slowest
    return [
        shown(size.size_m, "size", display),
        None if poor is None else poor.machine,
        shown(None if poor is None else poor.flow_m3_s, "flow", display),
        shown(None if poor is None else poor.wanted_m3_s, "flow", display),
        None if slow is None else slow.section,
        shown(None if slow is None else slow.velocity_m_s, "speed", display),
        shown(None if slow is None else slow.needed_m_s, "speed", display),
        shown(None if slow is None else slow.settling_velocity_m_s, "speed", display),
        size.sets,
        size.fine,
        size.word,
    ]
