"""Each mutant in a copy of the project: the tests that mirror its file, then those of the rooms that read it."""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from tests.mutants.seeds import ROOT, Mutant

PATIENCE_S = 900
"""Longer than any of the folders takes on a busy machine: what takes longer never ends."""

WIDER = ("tests/report", "tests/answers", "tests/cli", "tests/properties", "tests/cases", "tests/planted")
ELSEWHERE = {
    "cli": ["tests/cli"],
    "model": ["tests/model", "tests/planted"],
    "findings": ["tests/findings", "tests/planted"],
    "catalog": ["tests/catalog", "tests/reference", "tests/model"],
    "cases": ["tests/cases", "tests/answers/test_check.py"],
    "report": ["tests/report"],
    "errors": ["tests/tables", "tests/shop"],
    "__main__": ["tests/cli"],
}
"""Where the tests of a room stand that are not in files of the same names."""


class Fate(NamedTuple):
    """Who caught a mutant: its `mirror` (`endless`: by never ending), `wider` tests, `nobody`; `known`: nobody can."""

    mutant: Mutant
    by: str
    seconds: float


def equals() -> set[tuple[str, ...]]:
    """Return module, function, old and new text of changes that change nothing anyone could see."""
    with (Path(__file__).parent / "equivalent.csv").open(encoding="utf-8", newline="") as file:
        return {tuple(row[key] for key in ("module", "function", "old", "new")) for row in csv.DictReader(file)}


def mirror(mutant: Mutant) -> list[str]:
    """Return the tests that mirror a file, the nearest first: those of its name, of its folder, of its room."""
    path = Path(mutant.file)
    room, folders = path.parts[1].removesuffix(".py"), path.parts[2:-1]
    names = (path.stem, path.stem.removesuffix("s"), *folders)
    near = [p for name in names for p in sorted((ROOT / "tests" / room).rglob(f"test_{name}*.py"))]
    near += [p for name in (*folders, path.stem) for p in sorted((ROOT / "tests" / "cli").glob(f"test_{name}*.py"))]
    folder = Path("tests", room, *folders)
    found = [p.relative_to(ROOT).as_posix() for p in near]
    found += [folder.as_posix()] * (folders != () and (ROOT / folder).is_dir())
    found += ELSEWHERE.get(room, [] if room == "answers" and found else [f"tests/{room}"])
    return [one for one in dict.fromkeys(found) if (ROOT / one).exists()]


def hunted(mutants: Iterable[Mutant]) -> Iterator[Fate]:
    """Yield the fate of each mutant; raises RuntimeError where tests fail on the program as it is."""
    known, sound = equals(), set[str]()
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in ("ductcalc", "tests", "data", "examples", ".ci"):
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        for name in ("README.md", "DEVELOPERS.md", "pyproject.toml"):
            shutil.copy(ROOT / name, copy / name)
        for mutant in mutants:
            begun = time.monotonic()
            where = (Path(mutant.file).stem, mutant.function, mutant.old, mutant.new)
            by, tests = ("known", None) if where in known else _caught_by(mutant, copy)
            took = time.monotonic() - begun
            if tests is not None and tests not in sound and _found_by(tests, copy):
                raise RuntimeError(f"{tests} fails without a change")
            sound |= {tests} if tests else set()
            yield Fate(mutant, by, took)


def _caught_by(mutant: Mutant, copy: Path) -> tuple[str, str | None]:
    """Return who catches a mutant, and with which tests."""
    file = copy / mutant.file
    whole = file.read_text(encoding="utf-8")
    file.write_text(mutant.applied(whole), encoding="utf-8")
    try:
        near = mirror(mutant)
        for tests in (*near, *(one for one in WIDER if one not in near)):
            found = _found_by(tests, copy)
            if found is not None:
                return (found if found == "endless" else "mirror" if tests in near else "wider"), tests
        return "nobody", None
    finally:
        file.write_text(whole, encoding="utf-8")


def _found_by(tests: str, copy: Path) -> str | None:
    """Return whether tests fail, or never end; None where all pass, or there are none. Always the short run of them."""
    command = [sys.executable, "-m", "pytest", "-n", "0", "-x", "-q", "-p", "no:cacheprovider", tests]
    around = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1", "DUCTCALC_LONG": ""}
    try:
        done = subprocess.run(command, cwd=copy, env=around, capture_output=True, timeout=PATIENCE_S, check=False)
    except subprocess.TimeoutExpired:
        return "endless"
    return None if done.returncode in (0, 5) else "fails"
