"""Grades in words: the same word for the same state in every report."""

from __future__ import annotations

from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.judged import AirGrade, ChipGrade
from ductcalc.report.blocks import Span

Spans = tuple[Span, ...]
AIR: dict[AirGrade, Span] = {
    "ok": Span("ok", "good"),
    "just short": Span("just short", "warn"),
    "short": Span("SHORT", "bad"),
}
CHIPS: dict[ChipGrade, Spans] = {
    "moves": (),
    "slow": (Span("chips slow", "warn"),),
    "settles": (Span("CHIPS SETTLE", "bad"),),
}
GATES = {"open": Span("open"), "shut": Span("shut", "dim"), "off": Span("off", "dim")}
AT_A_PORT = Span("SHORT AT A PORT", "bad")
UNANSWERED = Span("NO ANSWER", "bad")


def air_span(machine: MachineAnswer) -> Span:
    """Return a machine's word: that it helps, the grade of its air, else what its gates are."""
    if machine.helper:
        return Span("helps")
    if not machine.asked or not machine.open:
        return GATES.get(machine.word, GATES["shut"])
    return AT_A_PORT if machine.short_at_a_port else AIR[machine.grade]


def beside(air: Span, slow: SectionAnswer | None) -> Spans:
    """Return a machine's word, and beside it how its chips go where they do not simply move."""
    chips = CHIPS[slow.word] if slow is not None and slow.word in CHIPS else ()
    if not chips:
        return (air,)
    return chips if air == AIR["ok"] and slow is not None and slow.word == "settles" else (air, Span(", "), *chips)


def case_spans(case: Case) -> Spans:
    """Return the grades of a case in words."""
    return (UNANSWERED,) if case.air is None else beside(AIR[case.air], case.slowest_of_grade)


def weak_words(case: Case) -> str:
    """Say what is weak of a set that may run, in brackets; nothing when all is well."""
    said = ["a little short of air"] if case.air == "just short" else []
    said += ["chips move slowly"] if case.chips == "slow" else []
    return f" ({', '.join(said)})" if said else ""


def why_not(case: Case) -> str:
    """Say why a set that was solved may not run."""
    said = ["too little air"] if case.air == "short" else []
    said += ["chips settle in the pipe"] if case.chips == "settles" else []
    return ", and ".join(said)
