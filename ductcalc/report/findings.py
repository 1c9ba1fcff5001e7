"""Warnings: their words, their lines in a report, and JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.findings.finding import Effect, Finding, Findings, Measure
from ductcalc.findings.phrase import Amount, Phrase
from ductcalc.report.blocks import Block, Heading, Paragraph, Span
from ductcalc.report.display import Display
from ductcalc.report.sentences import capitalised, listed, several, the

STILL: dict[Measure, str] = {"air": "Better, but still short:", "speed": "Better, but still too slow:"}
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
    if effect.difference is None or effect.after is None:
        return "Changed so, no answer is found."
    subject, air = _whose(effect), effect.measure == "air"
    shown, number = (display.flow, display.flow_number) if air else (display.speed, display.speed_number)
    now, then, needs = effect.before, effect.after, f"needs {number(effect.wanted)}" if air else ""
    if finding.means == "counts":
        cost, beside = shown(abs(effect.difference)), "; " * bool(needs) + needs
        return f"Not counted: it costs {subject} {cost} ({number(then)}, not {number(now)}{beside})."
    if finding.means == "otherwise":
        beside = f" ({needs})" if needs else ""
        return f"Counted now: {subject} {shown(now)}. Read the other way: {number(then)}{beside}."
    made = STILL[effect.measure] if not effect.cured else "Then" if air and _hardly_fixed(finding) else "Fixed,"
    verb = "would get" if air else "would have"
    return f"{made} {subject} {verb} {shown(then)} (now {number(now)}{', ' * bool(needs)}{needs})."


def _hardly_fixed(finding: Finding) -> bool:
    """Whether there was nothing to fix, or something is lacking still."""
    return finding.spares or (finding.effect.after or 0.0) < (finding.effect.wanted or 0.0)


def _whose(effect: Effect) -> str:
    """Return the machine or section, the port where it has several, and the case unless it is the machine alone."""
    if not effect.machine:
        return effect.section or ""
    at = f" at {effect.run}" if effect.run else ""
    where = "" if effect.case in (None, effect.machine) else f' in "{effect.case}"'
    return f"{the(effect.machine)}{at}{where}"


def finding_words(finding: Finding, display: Display) -> str:
    """Return a finding in one paragraph: what, how much, cure; a question is asked before what it would make of it."""
    what = capitalised(phrase_words(finding.what, display))
    cure = capitalised(phrase_words(finding.cure, display))
    effect = effect_words(finding, display)
    parts = (f"{what}.", cure, effect) if cure.endswith("?") else (f"{what}.", effect, f"{cure}.")
    return " ".join(part for part in parts if part)


def findings_blocks(findings: Findings, display: Display, every: bool = False, when: str = "") -> Iterator[Block]:
    """Yield what was seen unasked, the heaviest first; every: all of it, not a handful; when: in what shop."""
    shown = findings.all if every else findings.handful
    if shown or findings.switched_off:
        said = f"Warnings {when}".rstrip()
        yield Heading(f"{said}, worst first" if len(shown) > 1 else said)
    for number, finding in enumerate(shown, start=1):
        yield _finding(number, finding, display)
    hidden = len(findings.all) - len(shown)
    if hidden:
        yield Paragraph(f"{several(hidden, 'more warning')}; --all-findings shows {'it' if hidden == 1 else 'them'}.")
    if findings.not_weighed:
        yield Paragraph(f"{findings.not_weighed} more seen and not weighed in a shop of this size.")
    if findings.switched_off:
        yield Paragraph(f"Switched off in shop.toml: {listed(findings.switched_off)}.")


def _finding(number: int, finding: Finding, display: Display) -> Paragraph:
    label = f"CAUTION ({finding.rule})" if finding.caution else finding.rule.upper()
    head = f"{label}, {where_words(finding)}: "
    return Paragraph((Span(head, "warn"), Span(finding_words(finding, display))), f"{number}. ", "   ")


UNIT = {
    "air": "m3_s",
    "speed": "m_s",
    "pressure": "pa",
    "size": "m",
    "length": "m",
    "area": "m2",
    "share": "share",
    "power": "w",
}


def with_findings(
    document: dict[str, Any], findings: Findings, display: Display, strict: bool = False
) -> dict[str, Any]:
    """Return an answer's document with its findings; strict: they count in its exit code."""
    code = document.get("exit_code")
    own = {} if code is None else {"exit_code": findings.exit_code(code, strict)}
    return {**document, **own, **findings_document(findings, display)}


def findings_document(findings: Findings, display: Display) -> dict[str, Any]:
    """Return every finding, however many a text shows."""
    return {
        "findings": [_record(found, display) for found in findings.all],
        "findings_not_weighed": findings.not_weighed,
        "findings_off": list(findings.switched_off),
    }


def _record(found: Finding, display: Display) -> dict[str, Any]:
    return {
        "finding": found.rule,
        "caution": found.caution,
        "file": found.file,
        "row": found.row,
        "key": found.key,
        "name": found.name,
        "text": finding_words(found, display).replace("\u00a0", " "),
        "cure": phrase_words(found.cure, display).replace("\u00a0", " "),
        "means": found.means,
        "effect": _effect(found.effect),
    }


def _effect(effect: Effect) -> dict[str, Any]:
    unit = UNIT.get(effect.measure)
    return {
        "measure": effect.measure,
        "machine": effect.machine,
        "run": effect.run,
        "section": effect.section,
        "case": effect.case,
        "share": effect.share,
        **({} if unit is None else {f"before_{unit}": effect.before, f"after_{unit}": effect.after}),
        **({f"wanted_{unit}": effect.wanted} if effect.wanted is not None and unit is not None else {}),
    }
