"""The command line: words typed, one call, one report, an exit code. It computes nothing."""

from ductcalc.cli.app import main

__all__ = ["main"]
