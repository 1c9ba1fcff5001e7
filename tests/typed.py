"""The command as typed, run in this process: at a terminal of some width, or into a pipe."""

from __future__ import annotations

import os
from contextlib import redirect_stderr, redirect_stdout
from io import BytesIO, TextIOWrapper
from typing import NamedTuple
from unittest.mock import patch

from ductcalc.cli import app


class Printed(NamedTuple):
    """What a command left: its exit code, its answer, and what it said beside it."""

    code: int
    out: str
    err: str


class Terminal(TextIOWrapper):
    """A stream that calls itself a terminal."""

    def isatty(self) -> bool:
        return True


def typed(*words: object, width: int | None = None, encoding: str = "utf-8", colour: bool = False) -> Printed:
    """Type `ductcalc` and words at a terminal as wide as given, or into a pipe where no width is given."""
    stream = TextIOWrapper if width is None else Terminal
    out, err = stream(BytesIO(), encoding, newline="\n"), TextIOWrapper(BytesIO(), encoding, newline="\n")
    with redirect_stdout(out), redirect_stderr(err), patch.dict(os.environ):
        os.environ.update({"TERM": "xterm" if colour else "dumb"}, **({"COLUMNS": str(width)} if width else {}))
        os.environ.pop("NO_COLOR", None)
        code = app.run([str(word) for word in words])
    return Printed(code, *(one.buffer.getvalue().decode(encoding) for one in (out, err)))
