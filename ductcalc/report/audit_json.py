"""The independent check in JSON: the greatest relative residuals of the cases that a document tells of."""

from __future__ import annotations

from collections.abc import Iterable

from ductcalc.cases.case import Case
from ductcalc.cases.figures import AuditAnswer


def audit_document(audits: Iterable[AuditAnswer | None]) -> dict[str, float] | None:
    """Return the greatest residuals of pressure, mass and blower; None where nothing was audited."""
    known = [audit for audit in audits if audit is not None]
    if not known:
        return None
    return {name: max(getattr(audit, name) for audit in known) for name in ("pressure", "mass", "blower")}


def audit_of_cases(cases: Iterable[Case]) -> dict[str, float] | None:
    """Return the greatest residuals of some cases."""
    return audit_document(case.audit for case in cases)
