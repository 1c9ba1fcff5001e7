"""Standard output and error that are closed, full or left, odd encodings, and Ctrl-C: the answer or one message."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.cli.conftest import ROOT, Process, Run

posix = pytest.mark.skipif(os.name != "posix", reason="needs a shell and signals as on Unix")
full = pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is full")
LONG_WORK = """
import signal
import time
signal.signal(signal.SIGINT, signal.default_int_handler)
import ductcalc.answers.gates.gates as room
def work(*_):
    print("begun", flush=True)
    time.sleep(60)
room.gates = work
from ductcalc.cli import main
main()
"""


def shell(command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a line of shell in which `ductcalc` is the command."""
    line = f'ductcalc() {{ "{sys.executable}" -m ductcalc "$@"; }}; {command}'
    own = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    return subprocess.run(["bash", "-c", line], env=own, capture_output=True, encoding="utf-8", timeout=120)


@posix
@pytest.mark.parametrize("gone", ["2>&-", pytest.param("2>/dev/full", marks=full)])
def test_answer_is_not_lost_with_standard_error(annex: Path, gone: str) -> None:
    answer = shell(f'ductcalc tree "{annex}" {gone}')
    assert answer.returncode == 0
    assert answer.stdout == shell(f'ductcalc tree "{annex}"').stdout != ""
    assert shell(f"ductcalc check nothere {gone}").returncode == 2


@posix
def test_bar_does_not_need_a_standard_error(shop: Path) -> None:
    answer = shell(f'ductcalc card "{shop}" 2>&-')
    assert answer.returncode == 1 and answer.stdout != ""


@full
@pytest.mark.parametrize("words", ["check --help", "tables elbow --format csv"])
def test_full_standard_output_is_one_message(words: str) -> None:
    answer = shell(f"ductcalc {words} >/dev/full")
    assert answer.returncode == 2
    assert "cannot be written: no space left" in answer.stderr and answer.stderr.count("\n") == 2


@posix
@pytest.mark.parametrize("words", ["gates cellar --format json", "--help", "start new"])
def test_reader_who_left_changes_no_exit_code(shop: Path, words: str) -> None:
    answer = shell(f'cd "{shop.parent}"; ductcalc {words} | true; exit ${{PIPESTATUS[0]}}')
    assert (answer.returncode, answer.stderr) == (1 if words.startswith("gates") else 0, "")
    assert not words.startswith("start") or (shop.parent / "new" / "shop.toml").exists()


@posix
def test_interrupt_is_one_line_and_130() -> None:
    example = ROOT / "examples" / "one-machine"
    process = subprocess.Popen(
        [sys.executable, "-c", LONG_WORK, "gates", str(example)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert process.stdout is not None and process.stdout.readline() == "begun\n"
    time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert (process.returncode, said.strip()) == (130, "interrupted")


@posix
@pytest.mark.parametrize("lines", range(0, 200, 10))
def test_interrupt_while_loading_is_one_line_and_130(lines: int) -> None:
    """The interpreter tells what it has loaded: the signal comes so many lines after the command line's package."""
    process = subprocess.Popen(
        [sys.executable, "-X", "importtime", "-m", "ductcalc", "check", str(ROOT / "examples" / "one-machine")],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True,
    )
    assert process.stderr is not None
    loaded = 0
    for line in process.stderr:
        loaded += loaded > 0 or line.split()[-1] == "ductcalc.cli"
        if loaded > lines + 1:
            break
    assert loaded > lines + 1
    process.send_signal(signal.SIGINT)
    _, rest = process.communicate(timeout=60)
    said = [line for line in rest.splitlines() if line and not line.startswith("import time:")]
    assert (process.returncode, said) in [(130, ["interrupted"]), (0, []), (1, [])]


@pytest.mark.parametrize("encoding", ["ascii", "cp437", "cp850", "cp1252", "latin-1", "utf-16"])
def test_odd_encodings_lose_no_word(annex: Path, encoding: str) -> None:
    words = [sys.executable, "-m", "ductcalc", "tree", str(annex)]
    own = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding}
    answer = subprocess.run(words, env=own, capture_output=True, timeout=60)
    text = answer.stdout.decode(encoding)
    spelled = "\\U0001fa9a" if encoding != "utf-16" else "\U0001fa9a"
    assert answer.returncode == 0
    assert f"Bandschleifer [bold]an der Wand[/bold] {spelled} Nr. 7" in text
    assert ("Fr\\xe4se" if encoding == "ascii" else "Fräse") in text
    assert "port: " in text and b"Traceback" not in answer.stderr


def test_plain_locale_without_utf_8_shows_the_answer(process: Process, annex: Path) -> None:
    environment = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": ""}
    answer = process("tree", annex, **environment)
    assert answer.returncode == 0 and answer.stdout.isascii() and "Fr\\xe4se" in answer.stdout


@pytest.mark.parametrize(("missing", "told"), [("collector.csv", "own tables"), ("shop.toml", ".txt, .json, .csv")])
def test_output_never_becomes_a_table_of_the_shop(run: Run, shop: Path, missing: str, told: str) -> None:
    (shop / missing).unlink()
    answer = run("tree", shop, "--output", shop / missing)
    assert answer.returncode == 2 and told in answer.stderr
    assert not (shop / missing).exists()


def test_output_name_that_no_disk_takes_is_told(run: Run, shop: Path) -> None:
    answer = run("tree", shop, "--output", f"{'n' * 300}.txt")
    assert answer.returncode == 2 and "file name too long" in answer.stderr


ODD = [
    {"PYTHONHASHSEED": "0", "LC_ALL": "C"},
    {"PYTHONHASHSEED": "1", "LC_ALL": "de_DE.UTF-8", "COLUMNS": "33", "TERM": "dumb"},
    {"PYTHONHASHSEED": "7"},
]
EVERY = """
import sys
from ductcalc.cli.app import run
FORMS = "text", "json", "csv"
for words in (["tree", "cellar"], ["check", "cellar", "--running"], ["losses", "cellar"], ["gates", "cellar"],
              ["improve", "cellar"], ["parts", "cellar"], ["compare", "cellar", "annex"],
              ["size", "cellar", "--drop", "planer drop"], ["tables"],
              ["check", "creamery"], ["gates", "creamery"], ["improve", "creamery"]):
    for form in FORMS[:1] if words[0] == "improve" else FORMS[:2] if "--running" in words else FORMS:
        assert run([*words, "--format", form]) in (0, 1), words
"""


def every_answer(folder: Path, environment: dict[str, str]) -> bytes:
    own = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **environment}
    words: Sequence[str] = [sys.executable, "-c", EVERY]
    answer = subprocess.run(words, cwd=folder, env=own, capture_output=True, timeout=300)
    assert answer.returncode == 0, answer.stderr
    return answer.stdout


def test_same_input_gives_the_same_bytes_whatever_surrounds_it(shop: Path, annex: Path, tmp_path: Path) -> None:
    """Seed of hashes, locale, terminal and place on the disk: none of them shows in any form of any answer."""
    shutil.copytree(ROOT / "examples" / "creamery", tmp_path / "creamery")
    shutil.copytree(tmp_path, tmp_path / "elsewhere")
    first = every_answer(tmp_path, ODD[0])
    assert len(first) > 500_000
    assert [every_answer(tmp_path / "elsewhere", odd) == first for odd in ODD[1:]] == [True, True]


@posix
def test_an_interrupt_that_falls_into_a_callback_is_one_line_and_130() -> None:
    """Python itself would tell a traceback there, forget the interrupt and go on."""
    code = """
from unittest.mock import patch
from ductcalc import cli
class Callback:
    def __del__(self):
        raise KeyboardInterrupt
def work(arguments):
    Callback()
    print("went on")
with patch("ductcalc.cli.app.main", work):
    cli.main([])
"""
    process = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=False)
    assert (process.returncode, process.stdout, process.stderr) == (130, "", "interrupted\n")
