"""Words and a bar of progress to the terminal: unseen characters spelled out, a closed or full stream is no crash."""

from __future__ import annotations

import os
import sys
import time
from contextlib import suppress
from types import TracebackType
from typing import TextIO

from ductcalc.errors import InputError, Place, Problem
from ductcalc.units.wording import spelled


def say(text: str) -> None:
    """Write lines to standard error; where that is closed or full nothing can be told, and the answer still counts."""
    if sys.stderr is None:
        return
    lines = "\n".join(spelled(line) for line in text.split("\n"))
    with suppress(OSError, ValueError):
        _put(sys.stderr, f"{lines}\n")


def write_out(text: str) -> None:
    """Write to standard output; what its encoding lacks is spelled out, and a reader who left is no fault."""
    try:
        _put(sys.stdout, text)
    except BrokenPipeError:
        nobody_reads()


def _put(stream: TextIO, text: str) -> None:
    encoding = stream.encoding or "ascii"
    stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
    stream.flush()


def nobody_reads() -> None:
    """The reader of a pipe has gone, as after `| head -1`: that is no fault, and nothing more is written."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def told(error: InputError) -> str:
    """Return an error's text with the unseen characters of what was given spelled out, line ends as well."""
    return str(InputError(map(_told, error.problems)))


def _told(problem: Problem) -> Problem:
    place = problem.place and Place(
        spelled(problem.place.file),
        problem.place.row,
        problem.place.column and spelled(problem.place.column),
        problem.place.letter,
        problem.place.key and spelled(problem.place.key),
    )
    return problem._replace(message=spelled(problem.message), hint=spelled(problem.hint), place=place)


PATIENCE_S = 1.0
CELLS = 30
LEAST_LEFT_S, MINUTE_S = 1.0, 60.0
EDGES = 4
"""Brackets, the blank behind them, and the last column, which many terminals wrap."""


def _left(seconds: float) -> str:
    """Say about how long it still takes, where that is worth saying."""
    if seconds < LEAST_LEFT_S:
        return ""
    return f", {seconds:.0f} s left" if seconds < 2.0 * MINUTE_S else f", {seconds / MINUTE_S:.0f} min left"


class Bar:
    """Called with (done, total); draws itself when more than a second has passed since it was made.

    What is left is judged by what was done of the present total: another total is another piece of work.
    """

    def __init__(self, what: str) -> None:
        """Say what is counted."""
        self.what, self.begun, self.drawn = what, time.monotonic(), 0
        self.total, self.since = 0, self.begun
        self.wanted = sys.stderr is not None and sys.stderr.isatty()

    def __call__(self, done: int, total: int) -> None:
        """Draw how far it has come."""
        now = time.monotonic()
        if total != self.total:
            self.total, self.since = total, now if self.total else self.begun
        if self.wanted and now - self.begun > PATIENCE_S:
            import shutil

            said = f"{done} of {total} {self.what}{_left((now - self.since) * (total - done) / max(done, 1))}"
            cells = min(CELLS, shutil.get_terminal_size((80, 24)).columns - len(said) - EDGES)
            full = cells * done // max(total, 1)
            self._draw(f"[{'#' * full}{' ' * (cells - full)}] {said}" if cells > 0 else "")

    def _draw(self, line: str) -> None:
        sys.stderr.write("\r" + line.ljust(self.drawn))
        sys.stderr.flush()
        self.drawn = len(line)

    def __enter__(self) -> Bar:
        """Start."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Wipe the bar away."""
        if self.drawn:
            self._draw("")
            sys.stderr.write("\r")
            sys.stderr.flush()
