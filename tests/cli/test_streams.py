"""Standard output and error that are closed, full or left, odd encodings, and Ctrl-C: the answer or one message."""

from __future__ import annotations

import os
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


@pytest.mark.parametrize("missing", ["collector.csv", "shop.toml"])
def test_output_never_becomes_a_table_of_the_shop(run: Run, shop: Path, missing: str) -> None:
    (shop / missing).unlink()
    answer = run("tree", shop, "--output", shop / missing)
    assert answer.returncode == 2 and "own tables" in answer.stderr
    assert not (shop / missing).exists()


def test_output_name_that_no_disk_takes_is_told(run: Run, shop: Path) -> None:
    answer = run("tree", shop, "--output", "n" * 300)
    assert answer.returncode == 2 and "file name too long" in answer.stderr


ODD = [
    {"PYTHONHASHSEED": "0", "LC_ALL": "C"},
    {"PYTHONHASHSEED": "1", "LC_ALL": "de_DE.UTF-8", "COLUMNS": "33", "TERM": "dumb"},
]
EVERY = """
import sys
from ductcalc.cli.app import run
shop, other = sys.argv[1:]
FORMS = "text", "json", "csv"
for words in (["tree", shop], ["check", shop, "--running"], ["losses", shop], ["gates", shop], ["improve", shop],
              ["parts", shop], ["compare", shop, other], ["size", shop, "--drop", "planer drop"], ["tables"]):
    for form in ("text",) if words[0] == "improve" else ("text", "json") if "--running" in words else FORMS:
        assert run([*words, "--format", form]) in (0, 1), words
"""


def every_answer(shop: str, other: str, folder: Path, environment: dict[str, str]) -> bytes:
    own = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **environment}
    words: Sequence[str] = [sys.executable, "-c", EVERY, shop, other]
    answer = subprocess.run(words, cwd=folder, env=own, capture_output=True, timeout=300)
    assert answer.returncode == 0, answer.stderr
    return answer.stdout


def test_same_input_gives_the_same_bytes_whatever_surrounds_it(shop: Path) -> None:
    """Seed of hashes, locale, terminal and working folder: none of them shows in any form of any answer."""
    annex = str(ROOT / "tests" / "report" / "shops" / "annex")
    first = every_answer(str(shop), annex, shop.parent, ODD[0])
    assert len(first) > 50_000
    assert every_answer(".", annex, shop, ODD[1]) == first
