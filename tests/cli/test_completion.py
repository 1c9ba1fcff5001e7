"""What a shell proposes: commands, options, and the names of the shop that stands on the line."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import ROOT
from tests.scenes import EXAMPLES

CREAMERY = str(EXAMPLES / "creamery")
MACHINES = [
    "resaw", "jointer", "planer", "fret bench", "table saw", "drum sander", "spindle sander", "carving bench",
    "router table",
]  # fmt: skip


def program(**environment: str) -> str:
    """Run ductcalc with nothing typed, as a shell's own script does."""
    own = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **environment}
    done = subprocess.run(
        [sys.executable, "-m", "ductcalc"], env=own, capture_output=True, encoding="utf-8", timeout=60, check=True
    )
    assert done.stderr == ""
    return done.stdout


def proposed(shell: str, *words: str) -> list[str]:
    """Return what is proposed for the last word of a line."""
    typed = ["ductcalc", *words]
    last = f"'{typed[-1]}" if " " in typed[-1] else typed[-1]
    line = f"{shlex.join(typed[:-1])} {last}"
    place = last if shell == "fish" else str(len(typed) - 1)
    said = program(_DUCTCALC_COMPLETE=f"{shell}_complete", COMP_WORDS=line, COMP_CWORD=place).splitlines()
    if shell == "zsh":
        return said[1::3]
    return [one.partition(",")[2].partition("\t")[0] for one in said]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_has_its_script(shell: str) -> None:
    assert "ductcalc" in program(_DUCTCALC_COMPLETE=f"{shell}_source")


@pytest.mark.parametrize("shell", ["zsh", "fish"])
@pytest.mark.parametrize(
    ("words", "names"),
    [
        (("check", CREAMERY, "--set", ""), ["two saws", "fretting with help"]),
        (("check", CREAMERY, "--open", ""), MACHINES),
        (("check", CREAMERY, "--open", "TA"), ["table saw"]),
        (("losses", CREAMERY, "--machine", "d"), ["drum sander"]),
        (("improve", CREAMERY, "--for", "s"), ["spindle sander"]),
        (("chart", CREAMERY, "--along", "p"), ["planer"]),
        (("size", CREAMERY, "--drop", "saw"), ["saw branch"]),
        (("check", CREAMERY, "--with", "tr"), ["trunk"]),
        (("improve", CREAMERY, "--set", "fr"), ["fretting with help"]),
    ],
)
def test_names_of_the_shop_are_proposed(shell: str, words: tuple[str, ...], names: list[str]) -> None:
    assert proposed(shell, *words) == names


@pytest.mark.parametrize(
    ("begun", "names"), [("resaw,p", ["resaw,planer"]), ("table saw, re", ["table saw, resaw"]), ("resaw,re", [])]
)
def test_names_behind_a_comma_are_proposed_where_the_shell_s_script_takes_commas(begun: str, names: list[str]) -> None:
    assert proposed("zsh", "check", CREAMERY, "--open", begun) == names


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_commands_and_options_are_proposed(shell: str) -> None:
    assert proposed(shell, "che") == ["check"]
    assert "--all-open" in proposed(shell, "check", CREAMERY, "--all")


@pytest.mark.parametrize("shop", ["no-such-shop", str(ROOT / "README.md")])
def test_a_shop_that_cannot_be_read_proposes_nothing_and_tells_no_error(shop: str) -> None:
    assert proposed("zsh", "check", shop, "--open", "") == []


def test_without_a_shop_nothing_is_proposed() -> None:
    assert proposed("zsh", "check", "--open", "") == []


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
@pytest.mark.parametrize(
    ("line", "typed"),
    [
        (["check", CREAMERY, "--open", "ta"], ["table\\ saw"]),
        (["check", CREAMERY, "--open", '"ta'], ["table saw"]),
        (["check", CREAMERY, "--set", "t"], ["two\\ saws"]),
        (["losses", CREAMERY, "--machine", "p"], ["planer"]),
    ],
)
def test_bash_gets_words_as_they_are_typed(tmp_path: Path, line: list[str], typed: list[str]) -> None:
    (tmp_path / "ductcalc").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m ductcalc "$@"\n')
    (tmp_path / "ductcalc").chmod(0o755)
    words = " ".join(shlex.quote(word) for word in ["ductcalc", *line])
    script = (
        'eval "$(_DUCTCALC_COMPLETE=bash_source ductcalc)"\n'
        f"COMP_WORDS=({words}); COMP_CWORD={len(line)}\n"
        '_ductcalc_completion ductcalc; printf "%s\\n" "${COMPREPLY[@]}"'
    )
    own = {**os.environ, "PYTHONPATH": str(ROOT), "PATH": f"{tmp_path}:{os.environ['PATH']}"}
    done = subprocess.run(["bash", "-c", script], env=own, capture_output=True, encoding="utf-8", timeout=60)
    assert done.stdout.splitlines() == typed, done.stderr
