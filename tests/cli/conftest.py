"""The command as a person types it: in this process, or in one of its own where streams or the environment matter."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.scenes import SHOPS
from tests.typed import Printed, typed

Run = Callable[..., Printed]
Process = Callable[..., "subprocess.CompletedProcess[str]"]
ROOT = Path(__file__).parents[2]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Type ductcalc in an empty folder, its answer into a pipe unless a terminal's width is given."""

    def call(*arguments: object, **page: Any) -> Printed:
        return typed(*arguments, folder=tmp_path, **page)

    return call


@pytest.fixture
def process(tmp_path: Path) -> Process:
    """Run ductcalc as a process of its own in an empty folder; keyword arguments are environment variables."""

    def call(*arguments: object, **environment: str) -> subprocess.CompletedProcess[str]:
        own = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **environment}
        return subprocess.run(
            [sys.executable, "-m", "ductcalc", *map(str, arguments)],
            cwd=tmp_path,
            env=own,
            capture_output=True,
            encoding="utf-8",
            timeout=120,
            check=False,
        )

    return call


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Return a copy of the cellar shop."""
    shutil.copytree(SHOPS / "cellar", tmp_path / "cellar")
    return tmp_path / "cellar"


@pytest.fixture
def annex(tmp_path: Path) -> Path:
    """Return a copy of the annex shop, whose names are hard to print."""
    shutil.copytree(SHOPS / "annex", tmp_path / "annex")
    return tmp_path / "annex"
