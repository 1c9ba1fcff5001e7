"""A bar on standard error for what takes long; only on a terminal, and gone when the work is done."""

from __future__ import annotations

import shutil
import sys
import time
from types import TracebackType

PATIENCE_S = 1.0
CELLS = 30
EDGES = 4
"""Brackets, the blank behind them, and the last column, which many terminals wrap."""



class Bar:
    """Called with (done, total); draws itself when more than a second has passed since it was made."""

    def __init__(self, what: str) -> None:
        """Say what is counted."""
        self.what, self.begun, self.drawn = what, time.monotonic(), 0
        self.wanted = sys.stderr is not None and sys.stderr.isatty()

    def __call__(self, done: int, total: int) -> None:
        """Draw how far it has come."""
        if self.wanted and time.monotonic() - self.begun > PATIENCE_S:
            said = f"{done} of {total} {self.what}"
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
