"""Findings as plain values: SI, the unit at the end of every key."""

from __future__ import annotations

from typing import Any

from ductcalc.findings.finding import Effect, Finding, Findings
from ductcalc.report.display import Display
from ductcalc.report.findings_words import finding_words, phrase_words

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
        "findings": [_finding(found, display) for found in findings.all],
        "findings_not_weighed": findings.not_weighed,
        "findings_off": list(findings.switched_off),
    }


def _finding(found: Finding, display: Display) -> dict[str, Any]:
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
