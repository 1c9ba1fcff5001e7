"""Line and branch coverage of `ductcalc/`, told at the end of a whole run; a run of chosen tests is not measured.

Measured by `slipcover`, which costs a tenth or so of the time; a tracer more than doubles it.
"""

from __future__ import annotations

import io
import json
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

import pytest
import slipcover

PACKAGE = Path(__file__).parents[1] / "ductcalc"
FOLDER = "DUCTCALC_COVERAGE"
"""Where every process of a whole run leaves what it measured; not set where nothing is measured."""

_measured: slipcover.Slipcover | None = None


def _measure() -> None:
    """Measure whatever of the package is imported from here on; the tests import it later."""
    global _measured
    _measured = slipcover.Slipcover(branch=True, source=[str(PACKAGE)])
    slipcover.ImportManager(_measured, slipcover.FileMatcher(sources=[str(PACKAGE)])).__enter__()


if os.environ.get(FOLDER) and os.environ.get("PYTEST_XDIST_WORKER"):
    _measure()


def pytest_configure(config: pytest.Config) -> None:
    """Choose the folder before the processes start, when the whole suite is run."""
    if os.environ.get(FOLDER) or _chosen(config.invocation_params.args):
        return
    os.environ[FOLDER] = tempfile.mkdtemp(prefix="coverage-")
    if not getattr(config.option, "numprocesses", None):
        _measure()


def _chosen(arguments: Sequence[str]) -> bool:
    """Whether only some tests are asked for, by name, word or mark."""
    return any(not text.startswith("-") or text.startswith(("-k", "-m")) for text in arguments)


def pytest_sessionfinish() -> None:
    """Leave what this process measured."""
    if _measured is not None:
        name = os.environ.get("PYTEST_XDIST_WORKER", "alone")
        (Path(os.environ[FOLDER]) / f"{name}.json").write_text(json.dumps(_measured.get_coverage()), encoding="utf-8")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Put the processes' measures together and print what is not covered."""
    folder = os.environ.get(FOLDER)
    found = sorted(Path(folder).glob("*.json")) if folder and not os.environ.get("PYTEST_XDIST_WORKER") else []
    if not found:
        return
    first, *others = (json.loads(path.read_text(encoding="utf-8")) for path in found)
    for other in others:
        slipcover.merge_coverage(first, other)
    text = io.StringIO()
    slipcover.print_coverage(first, outfile=text, skip_covered=True)
    terminalreporter.section("line and branch coverage of ductcalc/")
    terminalreporter.write_line(text.getvalue())
