"""How sure a verdict is, in words: the band, the chances, what widens it most and what to measure."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.check import Check
from ductcalc.answers.columns import Column, Columns
from ductcalc.cases.chances import CURVE, WYE_METHOD, Chance, Widening
from ductcalc.model.collector import LOADED
from ductcalc.model.tuned import BLOWER, CYCLONE, FILTER, JOINTS, RESISTANCE
from ductcalc.report.blocks import Block, Heading
from ductcalc.report.check.tables import subject_words
from ductcalc.report.columns import grid_of
from ductcalc.report.display import Display
from ductcalc.report.sentences import capitalised, listed

LIKELY = ((0.95, "almost certainly"), (0.8, "very likely"), (0.6, "likely"), (0.4, "as likely as not"))
"""Least chance of each word; our judgement."""

NAMES = {
    RESISTANCE: "the resistance of the {}",
    JOINTS: "joint leakage",
    WYE_METHOD: "the wye method",
    CURVE: "which advertised curve holds",
}
MEASURE = {
    RESISTANCE: "suction and speed behind the {}'s port",
    "hose factor": "suction on both sides of the hose",
    "hose bends": "suction on both sides of the hose",
    "leak of shut gates": "the air with every gate shut",
    JOINTS: "the air with every gate shut",
    "open gates": "suction on both sides of a gate",
    "elbows": "suction on both sides of an elbow",
    "pipe roughness": "suction at both ends of a long pipe",
    BLOWER: "suction and air at the collector's inlet",
    CURVE: "suction and air at the collector's inlet",
    FILTER: "the pressure across the filter",
    LOADED: "the pressure across the dirty filter",
    CYCLONE: "the pressure across the cyclone",
    WYE_METHOD: "suction on both sides of a wye",
}
"""What to measure to narrow what a fact makes wide; of other facts nothing is told."""


def sure_words(check: Check) -> Iterator[str]:
    """Yield how likely the verdict on the machine that decides is, what is least known, and what to measure."""
    case = next(case for case in check.loaded if case.name == check.subject.case)
    chance = check.chance(case, check.subject.machine)
    if chance is None:
        return
    yield f"{capitalised(subject_words(check))}: {_chances(chance)}. The bands hold in 8 of 10 such shops."
    yield from _widest(check.widest)


def _chances(chance: Chance) -> str:
    air = _likely(chance.served, "served", "short of air")
    chips = _likely(chance.moves, "move", "settle")
    return f"{air}; chips {chips}"


def _likely(chance: float, yes: str, no: str) -> str:
    """Say how likely the likelier of two things is."""
    word = next((word for least, word in LIKELY if max(chance, 1.0 - chance) >= least), LIKELY[-1][1])
    return f"{word} {yes if chance >= 0.5 else no}"


def _widest(widest: tuple[Widening, ...]) -> Iterator[str]:
    """Yield what widens a band most, and what to measure first."""
    if not widest:
        return
    measure = next((MEASURE[one.name].format(one.machine) for one in widest if one.name in MEASURE), None)
    known = listed([NAMES.get(one.name, one.name).format(one.machine) for one in widest])
    yield f"Least known: {known}" + (f"; measure {measure}." if measure else ".")


CHANCES: Columns[Chance] = (
    Column("", lambda chance: chance.machine, heading="machine"),
    Column("", lambda chance: chance.case, heading="case", drop=0),
    Column("", lambda chance: chance.low_m3_s, "flow", "from"),
    Column("", lambda chance: chance.high_m3_s, "flow", "to"),
    Column("", lambda chance: chance.served, "share", "served"),
    Column("", lambda chance: chance.moves, "share", "chips\nmove"),
)


def chance_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield every machine's band and chances."""
    every = (check.chance(case, machine.machine) for case in check.loaded for machine in case.machines)
    found = [chance for chance in every if chance is not None]
    if found:
        yield Heading("How sure: air in 8 of 10 such shops, and how many of 100 are served and move their chips")
        yield grid_of(CHANCES, found, display)
