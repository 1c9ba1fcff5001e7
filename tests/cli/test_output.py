"""Where an answer goes: files are never lost, pipes and odd encodings never break it."""

from __future__ import annotations

import json
import os
import pty
import re
import subprocess
import sys
from pathlib import Path
from typing import IO

import pytest

from tests.cli.conftest import ROOT, Run


def test_output_file_holds_what_a_pipe_shows(run: Run, shop: Path, tmp_path: Path) -> None:
    piped = run("check", shop)
    answer = run("check", shop, "--output", "said.txt")
    assert (answer.returncode, answer.stdout) == (1, "")
    assert (tmp_path / "said.txt").read_text(encoding="utf-8") == piped.stdout


def test_output_refuses_to_overwrite_without_force(run: Run, shop: Path, tmp_path: Path) -> None:
    kept = tmp_path / "said.txt"
    kept.write_text("mine", encoding="utf-8")
    answer = run("check", shop, "--output", kept)
    assert answer.returncode == 2 and "add --force" in answer.stderr
    assert kept.read_text(encoding="utf-8") == "mine"
    assert run("check", shop, "--output", kept, "--force").returncode == 1
    assert kept.read_text(encoding="utf-8") != "mine"


@pytest.mark.parametrize(
    ("table", "said"), [("duct.csv", "own tables"), ("collector.csv", "own tables"), ("shop.toml", ".txt, .json, .csv")]
)
def test_output_never_replaces_a_table_of_the_shop(run: Run, shop: Path, table: str, said: str) -> None:
    before = (shop / table).read_bytes()
    answer = run("check", shop, "--output", shop / table, "--force")
    assert answer.returncode == 2 and said in answer.stderr
    assert (shop / table).read_bytes() == before


@pytest.mark.parametrize(("target", "said"), [("folder.txt", "a folder"), ("no/such/file.txt", "not there")])
def test_output_that_cannot_be_is_refused(run: Run, shop: Path, tmp_path: Path, target: str, said: str) -> None:
    (tmp_path / "folder.txt").mkdir()
    answer = run("check", shop, "--output", target)
    assert (answer.returncode, answer.stdout) == (2, "")
    assert said in answer.stderr


@pytest.mark.skipif(os.name != "posix" or not Path("/dev/full").exists(), reason="needs a device that is full")
def test_output_that_fails_while_writing_is_told(run: Run, shop: Path, tmp_path: Path) -> None:
    (tmp_path / "full.txt").symlink_to("/dev/full")
    answer = run("check", shop, "--output", "full.txt", "--force")
    assert answer.returncode == 2 and "cannot be written" in answer.stderr


def test_nothing_is_written_when_the_input_is_wrong(run: Run, shop: Path, tmp_path: Path) -> None:
    answer = run("check", shop, "--open", "nobody", "--output", "said.txt")
    assert answer.returncode == 2
    assert not (tmp_path / "said.txt").exists()


@pytest.mark.parametrize("command", ["tree", "check", "losses"])
@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_ascii_console_shows_the_answer_all_the_same(run: Run, annex: Path, command: str, form: str) -> None:
    answer = run(command, annex, "--format", form, encoding="ascii")
    assert answer.returncode in (0, 1)
    assert answer.stdout.isascii() and "Nr. 7" in answer.stdout


def test_json_has_the_same_bytes_whatever_the_encoding(run: Run, annex: Path) -> None:
    plain = run("check", annex, "--format", "json", encoding="ascii").stdout
    assert plain == run("check", annex, "--format", "json").stdout
    assert json.loads(plain)["shop"] == "annex"


def test_reader_that_leaves_early_is_no_fault(shop: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "ductcalc", "tables", "elbow", "--format", "json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait(60) == 0


def test_piped_output_has_no_colour_unless_asked(run: Run, shop: Path) -> None:
    assert "\x1b[" not in run("check", shop).stdout
    assert "\x1b[" in run("check", shop, "--colour", "always").stdout
    assert "\x1b[" in run("check", shop, "--color", "always").stdout


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo terminal")
def test_terminal_gets_colour_and_its_width(run: Run, shop: Path) -> None:
    text = _on_a_terminal("tree", str(shop), COLUMNS="60")
    assert "\x1b[" in text
    assert re.sub(r"\x1b\[[0-9;]*m", "", text).replace("\r\n", "\n") == run("tree", shop, width=60).stdout


@pytest.mark.parametrize(
    ("extra", "environment", "coloured"),
    [((), {}, True), ((), {"NO_COLOR": "1"}, False), (("--colour", "never"), {}, False), ((), {"TERM": "dumb"}, False)],
)
def test_colour_on_a_terminal_heeds_what_is_wished(
    run: Run, shop: Path, extra: tuple[str, ...], environment: dict[str, str], coloured: bool
) -> None:
    said = run("tree", shop, *extra, width=60, **{"TERM": "xterm", **environment}).stdout
    assert ("\x1b[" in said) is coloured


def _on_a_terminal(*arguments: str, **environment: str) -> str:
    """Run the command with a pseudo terminal as its standard output."""
    leader, follower = pty.openpty()
    own = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    own |= {"PYTHONPATH": str(ROOT), "TERM": "xterm", "PYTHONIOENCODING": "utf-8", **environment}
    process = subprocess.Popen(
        [sys.executable, "-m", "ductcalc", *arguments], stdout=follower, env=own, stdin=subprocess.DEVNULL
    )
    os.close(follower)
    parts = []
    while True:
        try:
            part = os.read(leader, 4096)
        except OSError:
            break
        if not part:
            break
        parts.append(part)
    os.close(leader)
    process.wait(60)
    return b"".join(parts).decode("utf-8")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is full")
def test_full_disk_behind_standard_output_is_told(shop: Path) -> None:
    with open("/dev/full", "w") as full:
        answer = _to(full, "check", str(shop))
    assert answer.returncode == 2
    assert "cannot be written" in answer.stderr and "Traceback" not in answer.stderr


@pytest.mark.skipif(os.name != "posix", reason="needs a shell that can close standard output")
def test_closed_standard_output_is_no_crash(shop: Path) -> None:
    command = f'"{sys.executable}" -m ductcalc check "{shop}" >&-'
    answer = subprocess.run(command, shell=True, env=_environment(), capture_output=True, text=True, timeout=60)
    assert (answer.returncode, answer.stderr) == (1, "")


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT)}


def _to(target: IO[str], *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "ductcalc", *arguments],
        stdout=target,
        stderr=subprocess.PIPE,
        env=_environment(),
        text=True,
        timeout=60,
    )
