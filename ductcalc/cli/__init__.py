"""The command line: words typed, one call, one report, an exit code. It computes nothing."""

from __future__ import annotations

import os
import sys

TYPE_CHECKING = False  # known to type checkers; whatever is loaded out here may be interrupted with a traceback
if TYPE_CHECKING:
    from collections.abc import Sequence

INTERRUPTED = 130

__all__ = ["INTERRUPTED", "main"]


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command and leave with its exit code. Loading it may be interrupted as well as its work."""
    sys.unraisablehook = _unraisable
    try:
        from ductcalc.cli import app

        app.main(arguments)
    except KeyboardInterrupt:
        _leave()


def _unraisable(unraisable: sys.UnraisableHookArgs) -> None:
    """Leave at an interrupt that falls into a callback, where Python would tell a traceback and go on."""
    if issubclass(unraisable.exc_type, KeyboardInterrupt):
        _leave()
    sys.__unraisablehook__(unraisable)


def _leave() -> None:
    try:
        os.write(2, b"interrupted\n")
    finally:
        os._exit(INTERRUPTED)
