"""The command as typed in the project's folder, run in this process: at a terminal of some width, or into a pipe."""

from __future__ import annotations

import os
import sys
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import BytesIO, TextIOWrapper
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

from ductcalc.cli import app

ROOT = Path(__file__).parents[1]


class Printed(NamedTuple):
    """What a command left: its exit code, its answer, and what it said beside it."""

    returncode: int
    stdout: str
    stderr: str


class Terminal(TextIOWrapper):
    """A stream that calls itself a terminal."""

    def isatty(self) -> bool:
        return True


def typed(
    *words: object, folder: Path = ROOT, width: int | None = None, encoding: str = "utf-8", **environment: str
) -> Printed:
    """Type `ductcalc` and words at a terminal as wide as given, or into a pipe where no width is given."""
    stream = TextIOWrapper if width is None else Terminal
    out, err = stream(BytesIO(), encoding, newline="\n"), TextIOWrapper(BytesIO(), encoding, newline="\n")
    columns = {} if width is None else {"COLUMNS": str(width)}
    started = patch.object(sys, "argv", ["ductcalc", *map(str, words)])
    with chdir(folder), redirect_stdout(out), redirect_stderr(err), patch.dict(os.environ), started:
        for name in ("COLUMNS", "NO_COLOR"):
            os.environ.pop(name, None)
        os.environ.update({"TERM": "dumb", **columns, **environment})
        code = app.run([str(word) for word in words])
    return Printed(code, *(one.buffer.getvalue().decode(encoding) for one in (out, err)))  # type: ignore[attr-defined]
