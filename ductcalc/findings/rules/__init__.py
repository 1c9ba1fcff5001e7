"""The rules, a file for each matter that a person would look at, in the order of a walk to the room."""

from __future__ import annotations

from ductcalc.findings.rule import Rule
from ductcalc.findings.rules import (
    bends,
    bores,
    collector,
    costly,
    counting,
    curve_points,
    gates,
    hoses,
    ports,
    pressures,
    room,
    units,
    wyes,
)

RULES: tuple[Rule, ...] = (
    *ports.RULES,
    *hoses.RULES,
    *bores.RULES,
    *bends.RULES,
    *wyes.RULES,
    *gates.RULES,
    *costly.RULES,
    *counting.RULES,
    *units.RULES,
    *pressures.RULES,
    *collector.RULES,
    *curve_points.RULES,
    *room.RULES,
)
