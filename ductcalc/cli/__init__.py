"""The command line: words typed, one call, one report, an exit code. It computes nothing."""

from __future__ import annotations

import os

TYPE_CHECKING = False  # known to type checkers; whatever is loaded out here may be interrupted with a traceback
if TYPE_CHECKING:
    from collections.abc import Sequence

INTERRUPTED = 130

__all__ = ["INTERRUPTED", "main"]


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command and leave with its exit code. Loading it may be interrupted as well as its work."""
    try:
        from ductcalc.cli import app

        app.main(arguments)
    except KeyboardInterrupt:
        try:
            os.write(2, b"interrupted\n")
        finally:
            os._exit(INTERRUPTED)
