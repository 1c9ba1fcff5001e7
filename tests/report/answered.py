"""An answer as a command made it, before it is put on any page: computed once, looked at in every form."""

from __future__ import annotations

from functools import cache
from unittest.mock import patch

from ductcalc.cli import deliver
from ductcalc.cli.deliver import Reports
from ductcalc.report.render import Page, rendered
from tests.typed import typed


@cache
def answered(*words: object) -> Reports:
    """Type a command and return the forms of its answer, not yet made."""
    with patch.object(deliver, "deliver") as delivered:
        typed(*words)
    _, reports, *_ = delivered.call_args.args
    assert isinstance(reports, Reports)
    return reports


@cache
def text(*words: object, width: int | None = None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a command's answer as text on a page."""
    return rendered(answered(*words).text(), Page(width, encoding, colour))
