"""Answers to JSON text: fixed order of keys, full precision, never NaN or infinity, the same bytes every time."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Mapping
from typing import Any

from ductcalc import __version__
from ductcalc.cases.case import Case
from ductcalc.cases.figures import AuditAnswer

_LONE_HALVES = re.compile("[\ud800-\udfff]")
"""Halves of a character that stand alone, as in a file's name that is no text: not every reader of JSON takes them."""


def json_text(document: Mapping[str, Any]) -> str:
    """Return a document as JSON in plain ASCII, with a line end; numbers that are not finite become null."""
    return json.dumps(_finite(document), indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def _finite(value: Any) -> Any:
    """Return a value with every number that is not finite replaced by None, and numpy numbers made plain."""
    if isinstance(value, Mapping):
        return {key: _finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(part) for part in value]
    if isinstance(value, str):
        return value if value.isascii() else _LONE_HALVES.sub(lambda half: f"\\u{ord(half[0]):04x}", value)
    if value is None or isinstance(value, bool | int):
        return value
    number = float(value)
    return number if math.isfinite(number) else None


PROGRAM = {"program": "ductcalc", "version": __version__}
"""The head of every document."""
GRADES = ("word", "air", "chips", "may_run")
"""How a case stands, the same keys in every document."""


def fields_of(answer: object, *names: str) -> dict[str, Any]:
    """Return some fields of an answer by name, in the order given."""
    return {name: getattr(answer, name) for name in names}


def audit_document(audits: Iterable[AuditAnswer | None]) -> dict[str, float] | None:
    """Return the greatest residuals of pressure, mass and blower; None where nothing was audited."""
    known = [audit for audit in audits if audit is not None]
    if not known:
        return None
    return {name: max(getattr(audit, name) for audit in known) for name in ("pressure", "mass", "blower")}


def audit_of_cases(cases: Iterable[Case]) -> dict[str, float] | None:
    """Return the greatest residuals of some cases."""
    return audit_document(case.audit for case in cases)
