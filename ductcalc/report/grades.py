"""Grades in words: the same word for the same state in every report."""

from __future__ import annotations

from collections.abc import Sequence

from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.judged import AirGrade, ChipGrade, limits
from ductcalc.report.blocks import Span

Spans = tuple[Span, ...]
AIR: dict[AirGrade, Span] = {
    "ok": Span("ok", "good"),
    "just short": Span("just short", "warn"),
    "short": Span("SHORT", "bad"),
}
CHIPS: dict[str, Spans] = {
    "moves": (),
    "slow": (Span("chips slow", "warn"),),
    "settles": (Span("CHIPS SETTLE", "bad"),),
}
GATES = {"open": Span("open"), "shut": Span("shut", "dim"), "off": Span("off", "dim")}
UNANSWERED = Span("NO ANSWER", "bad")


def air_span(machine: MachineAnswer) -> Span:
    """Return a machine's word: that it helps, the grade of its air, else what its gates are.

    Of several ports the one that decides is named where it lacks air.
    """
    if machine.helper:
        return Span("helps")
    if not machine.asked or not machine.open:
        return GATES.get(machine.word, GATES["shut"])
    word = AIR[machine.grade]
    return word._replace(text=f"{word.text} at {machine.poorest.run}") if lacks_at_port(machine) else word


def lacks_at_port(machine: MachineAnswer) -> bool:
    """Whether a machine of several ports lacks air at one of them."""
    return len(machine.ports) > 1 and machine.grade != "ok"


def beside(air: Span, slow: SectionAnswer | None) -> Spans:
    """Return a machine's word, and beside it how its chips go where they do not simply move."""
    return _beside(air, () if slow is None else CHIPS.get(slow.word, ()))


def grade_spans(air: AirGrade | None, chips: ChipGrade | None) -> Spans:
    """Return grades in words; None without an answer."""
    return (UNANSWERED,) if air is None or chips is None else _beside(AIR[air], CHIPS[chips])


def _beside(air: Span, chips: Spans) -> Spans:
    if not chips:
        return (air,)
    return chips if (air, chips) == (AIR["ok"], CHIPS["settles"]) else (air, Span(", "), *chips)


def case_spans(case: Case) -> Spans:
    """Return the grades of a case in words."""
    return grade_spans(case.air, case.chips)


def weak_words(case: Case) -> list[str]:
    """Say what is weak of a set that may run; nothing when all is well."""
    said = ["a little short of air"] if case.air == "just short" else []
    return said + (["chips move slowly"] if case.chips == "slow" else [])


def bracketed(said: Sequence[str]) -> str:
    """Return words in brackets, to stand behind others; nothing when nothing is said."""
    return f" ({', '.join(said)})" if said else ""


def why_not(case: Case) -> str:
    """Say why a set that was solved may not run."""
    said = ["too little air"] if case.air == "short" else []
    said += ["chips settle in the pipe"] if case.chips == "settles" else []
    return ", and ".join(said)


def grade_note() -> str:
    """Say what the grades mean."""
    just, level, riser = (f"{100.0 * part:.0f} %" for part in (limits().just_short, limits().level, limits().riser))
    return (
        f"ok: every port of the machine gets the air it wants, dirty filter; just short: at least {just} of it; SHORT:"
        f" less. Chips slow: they move, below the speed that is aimed at; CHIPS SETTLE: below {level} of that speed in"
        f" level pipe, {riser} in a riser."
    )
