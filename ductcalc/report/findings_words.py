"""Findings in words: amounts in the reader's units, and how much each one matters."""

from __future__ import annotations

from ductcalc.findings.finding import Effect, Finding
from ductcalc.findings.phrase import Amount, Phrase
from ductcalc.report.display import Display
from ductcalc.report.sentences import capitalised, the

MADE = {"mends": "Fixed", "counts": "Counted", "otherwise": "Read that way"}


CLOTH_DIGITS = 2


def phrase_words(phrase: Phrase, display: Display) -> str:
    """Return a phrase as text."""
    return "".join(part if isinstance(part, str) else amount_words(part, display) for part in phrase)


def amount_words(amount: Amount, display: Display) -> str:
    """Return an amount with its unit."""
    shown = {
        "flow": display.flow,
        "speed": display.speed,
        "pressure": display.pressure,
        "size": display.size,
        "length": display.written_length,
        "area": display.area,
        "cloth": lambda value: display.rough(value, "cloth", CLOTH_DIGITS),
        "share": display.share,
        "power": display.power,
    }
    return shown[amount.dimension](amount.value)


def where_words(finding: Finding) -> str:
    """Return where it is: file, row or key, name."""
    parts = [] if finding.file is None else [finding.file]
    if finding.row is not None:
        parts.append(f"row {finding.row}")
    place = " ".join(parts)
    if finding.key is not None:
        return f"{place}, {finding.key}" if place else finding.key
    return f"{place}, {finding.name}" if place else finding.name


def effect_words(finding: Finding, display: Display) -> str:
    """Return what the change would make of it, in a sentence; empty when the finding says its own figure."""
    effect = finding.effect
    if effect.before is None or effect.wanted is None or not (effect.machine or effect.section):
        return ""
    made = MADE[finding.means]
    if effect.difference is None:
        return f"{made}, no answer is found."
    subject = the(effect.machine) if effect.machine else effect.section
    if effect.run:
        subject = f"{subject} at {effect.run}"
    return f"{made}, {subject}{_case_words(effect)} {_change_words(effect, display)}."


def _case_words(effect: Effect) -> str:
    """Return the case, unless it is the machine on its own."""
    return "" if effect.case is None or effect.section or effect.case == effect.machine else f' in "{effect.case}"'


def _change_words(effect: Effect, display: Display) -> str:
    before, after = effect.before or 0.0, effect.after or 0.0
    if effect.measure == "speed":
        return f"would have {display.speed(after)} (now {display.speed_number(before)})"
    wanted = f", needs {display.flow_number(effect.wanted)}" if effect.wanted else ""
    return f"would get {display.flow(after)} (now {display.flow_number(before)}{wanted})"


def finding_words(finding: Finding, display: Display) -> str:
    """Return a finding in one paragraph: what, how much, cure; a question is asked before what it would make of it."""
    what = capitalised(phrase_words(finding.what, display))
    cure = capitalised(phrase_words(finding.cure, display))
    effect = effect_words(finding, display)
    parts = (f"{what}.", cure, effect) if cure.endswith("?") else (f"{what}.", effect, f"{cure}.")
    return " ".join(part for part in parts if part)
