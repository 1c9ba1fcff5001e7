"""The package in a temporary folder, byte-compiled, as pip installs it: a process from there reads no source text."""

from __future__ import annotations

import compileall
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PROJECT = Path(__file__).parents[2]


@contextmanager
def installed() -> Iterator[Path]:
    """Yield a folder that holds the package with its tables inside; a process started there imports this copy."""
    with tempfile.TemporaryDirectory() as name:
        package = Path(name) / "ductcalc"
        shutil.copytree(PROJECT / "ductcalc", package, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copytree(PROJECT / "data", package / "data", dirs_exist_ok=True)
        if not compileall.compile_dir(package, quiet=1):
            raise RuntimeError("the package does not compile")
        yield Path(name)
