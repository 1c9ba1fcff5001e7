"""A bar with the time left on standard error for what takes long; only on a terminal, and gone when it is done."""

from __future__ import annotations

import sys
import time
from types import TracebackType

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
            full = max(cells, 0) * done // max(total, 1)
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
