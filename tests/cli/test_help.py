"""Help: in the order of the job, each ending in an example that runs, and quick."""

from __future__ import annotations

import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from ductcalc.cli.app import ductcalc
from ductcalc.cli.app import run as run_here
from tests.cli.conftest import ROOT, Run
from tests.scenes import EXAMPLES, SHOPS

COMMANDS = (
    "start",
    "tree",
    "draw",
    "need",
    "check",
    "losses",
    "chart",
    "gates",
    "card",
    "improve",
    "size",
    "compare",
    "parts",
    "expect",
    "tune",
    "diagnose",
    "page",
    "tables",
)  # fmt: skip


def _help(*arguments: str) -> str:
    return CliRunner().invoke(ductcalc, [*arguments, "--help"]).output


def test_commands_stand_in_the_order_of_the_job() -> None:
    text = _help()
    places = [text.index(f"\n  {name} ") for name in COMMANDS]
    assert places == sorted(places)


@pytest.mark.parametrize("command", [(), *((name,) for name in COMMANDS)])
def test_help_ends_with_an_example_and_tells_exit_codes(command: tuple[str, ...]) -> None:
    text = _help(*command).rstrip()
    assert "Exit codes:" in text
    example = text.rpartition("Example:")[2].strip().splitlines()
    assert all(line.strip().startswith(f"ductcalc {' '.join(command)}".strip()) for line in example)


@pytest.mark.parametrize("command", COMMANDS)
def test_example_of_the_help_runs(run: Run, command: str, tmp_path: Path) -> None:
    if command not in ("start", "tables"):
        run("start", "my-shop")
        rows = (f"2026-01-0{day},band saw,collector inlet,5 inwg,{healthy}" for day, healthy in ((1, "yes"), (2, "")))
        (tmp_path / "my-shop/readings.csv").write_text("\n".join(["when,open,where,value,healthy", *rows]))
    example = shlex.split(_help(command).rpartition("Example:")[2])
    answer = run(*example[1:])
    assert answer.returncode in (0, 1), answer.stderr


def test_american_spelling_is_understood_but_not_shown() -> None:
    assert "--colour" in _help("check") and "--color " not in _help("check")


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["check", "--help"], ["losses", "--help"]])
def test_help_and_version_load_nothing_heavy(arguments: list[str]) -> None:
    assert _loaded(arguments).isdisjoint({"numpy", "pandas", "pint", "rich"})


@pytest.mark.parametrize(
    "words",
    [
        "tree {}", "draw {} --all-open", "chart {}", "check {} --running", "losses {}", "gates {}", "card {}",
        "improve {}", "size {}", "parts {}", "expect {}",
        "compare {} --with 'Säge: pipe size = 80 mm'",
    ],
)  # fmt: skip
def test_text_loads_neither_pandas_nor_pint(words: str) -> None:
    loaded = _loaded(shlex.split(words.format(SHOPS / "loft")))
    assert "numpy" in loaded
    assert loaded.isdisjoint({"pandas", "pint"})


def test_a_diagnosis_loads_neither_pandas_nor_pint() -> None:
    loaded = _loaded(["diagnose", str(EXAMPLES / "creamery")])
    assert "numpy" in loaded
    assert loaded.isdisjoint({"pandas", "pint"})


def _loaded(arguments: list[str]) -> set[str]:
    """Return the modules that a command has loaded when it ends."""
    code = (
        "import sys\nfrom ductcalc.cli.app import run\n"
        f"run({arguments!r})\nprint('|'.join(sys.modules), file=sys.stderr)"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    return set(found.stderr.strip().splitlines()[-1].split("|"))


def test_interruption_leaves_with_130(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("ductcalc.catalog.read.table_names", interrupted)
    assert run_here(["tables"]) == 130
    assert "interrupted" in capsys.readouterr().err


def test_deep_recursion_is_a_message(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def deep(*_: object) -> None:
        raise RecursionError

    monkeypatch.setattr("ductcalc.catalog.read.table_names", deep)
    assert run_here(["tables"]) == 2
    assert "too large" in capsys.readouterr().err
