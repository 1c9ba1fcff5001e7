"""Names of any kind in every report, message and file: shown harmlessly, aligned, and never a formula."""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
from collections.abc import Sequence
from pathlib import Path

import pytest
from rich.cells import cell_len

from ductcalc.cli.app import run
from ductcalc.report.render import Page, rendered
from tests.cli.hard_shops import (
    COMMANDS,
    ESCAPES,
    FORMULAS,
    LONG,
    MARKUP,
    PICTURES,
    SCRIPTS,
    blocks_of,
    hard_shop,
    words_of,
)

QUICK = [command for command in COMMANDS if command not in ("improve", "size")]
KINDS = {"markup": MARKUP, "scripts": SCRIPTS, "pictures": PICTURES, "long": LONG}
SIGNS = tuple("=+-@\t\r\n＝＋－＠")


def unseen(text: str) -> set[str]:
    """Return the control and format characters of a text but line ends and the joiner of pictures."""
    return {sign for sign in text if unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp")} - set("\n\u200d")


def like(name: str, number: int) -> str:
    """Return a plain name that takes as many cells, blanks at the same places."""
    return " ".join(str(number) * cell_len(word) for word in name.split(" "))


def swapped(text: str, names: Sequence[str], others: Sequence[str]) -> str:
    for name, other in zip(names, others, strict=True):
        text = text.replace(name, other)
    return text


@pytest.mark.parametrize("command", COMMANDS)
def test_hard_names_stand_where_plain_ones_of_their_width_would(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = (MARKUP[0], SCRIPTS[1], PICTURES[1])
    plain = tuple(like(name, number) for number, name in enumerate(names, start=7))
    texts = []
    for folder, used in (("hard", names), ("plain", plain)):
        (tmp_path / folder).mkdir()
        words = words_of(command, hard_shop(tmp_path / folder / "shop", used), used)
        texts.append(rendered(blocks_of(words, monkeypatch), Page(None)).replace(str(tmp_path / folder), "there"))
    told = [name in texts[0] for name in names]
    assert any(told) and told == [name in texts[1] for name in plain]
    assert all(told) or command == "losses"
    assert swapped(texts[0], names, plain).splitlines() == texts[1].splitlines()
    assert [cell_len(line) for line in texts[0].splitlines()] == [cell_len(line) for line in texts[1].splitlines()]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("command", QUICK)
def test_nothing_sticks_out_and_nothing_unseen_is_shown(
    command: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = KINDS[kind]
    words = words_of(command, hard_shop(tmp_path / "shop", names, ESCAPES), names)
    blocks = blocks_of(words, monkeypatch)
    for width, encoding in ((20, "ascii"), (20, "utf-8"), (40, "cp437"), (60, "cp1252"), (80, "utf-8"), (300, "utf-8")):
        text = rendered(blocks, Page(width, encoding))
        assert unseen(text) == set()
        assert text.encode(encoding)
        assert max(map(cell_len, text.splitlines())) <= width
        coloured = rendered(blocks, Page(width, encoding, True))
        assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == text


@pytest.mark.parametrize("command", COMMANDS)
def test_no_cell_of_a_csv_starts_a_formula(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = words_of(command, hard_shop(tmp_path / "shop", FORMULAS, ESCAPES), FORMULAS)
    assert run([*words, "--format", "csv"]) in (0, 1)
    text = capsys.readouterr().out
    assert unseen(text) == set()
    rows = list(csv.reader(io.StringIO(text), strict=True))
    assert len({len(row) for row in rows}) == 1
    cells = [cell for row in rows for cell in row]
    assert command == "parts" or any(f"'{name[:5]}" in cell for cell in cells for name in FORMULAS)
    apart = [cell for row in csv.reader(io.StringIO(text), delimiter=";") for cell in row]
    risky = [cell for cell in (*cells, *apart) if cell.startswith(SIGNS) and not re.fullmatch(r"-[\d.e+-]+", cell)]
    assert risky == []


@pytest.mark.parametrize("command", QUICK)
def test_json_holds_the_names_as_they_are(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = (MARKUP[0], SCRIPTS[0], FORMULAS[0])
    words = words_of(command, hard_shop(tmp_path / "shop", names, ESCAPES), names)
    assert run([*words, "--format", "json"]) in (0, 1)
    text = capsys.readouterr().out
    assert text.isascii()
    said = json.dumps(json.loads(text), ensure_ascii=False)
    assert command == "parts" or all(name in said for name in names)


@pytest.mark.parametrize(
    "words",
    [
        ("check", "{shop}", "--open", ESCAPES),
        ("check", "{shop}", "--set", ESCAPES),
        ("check", "{shop}", "--units", ESCAPES),
        ("check", "{shop}", f"--{ESCAPES}"),
        ("check", "{shop}", ESCAPES),
        ("check", "{shop}", "--with", ESCAPES),
        ("check", "{shop}", "--collector", ESCAPES),
        ("check", "{shop}", "--output", f"{ESCAPES}/said.txt"),
        ("check", ESCAPES),
        ("losses", "{shop}", "--machine", ESCAPES),
        ("improve", "{shop}", "--for", ESCAPES),
        ("size", "{shop}", "--keep", ESCAPES),
        ("parts", "{shop}", "--have", ESCAPES),
        ("compare", "{shop}", ESCAPES),
        ("tables", ESCAPES),
        (ESCAPES,),
    ],
)
def test_what_was_typed_is_spelled_out_in_messages(
    words: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = hard_shop(tmp_path / "shop", MARKUP)
    assert run([str(shop) if word == "{shop}" else word for word in words]) == 2
    said = capsys.readouterr()
    assert said.out == "" and unseen(said.err) == set()
    assert "\\u001b[31m" in said.err or "\\x1b[31m" in said.err


def test_long_unknown_names_are_shortened_in_messages(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(hard_shop(tmp_path / "shop", MARKUP)), "--open", "x" * 500]) == 2
    assert "x... (500 characters)" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["\u3164", "saw\u2800", "a\u200bb", "a\u061cb", "saw\x07"])
def test_names_with_unseen_characters_are_refused_and_spelled_out(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = hard_shop(tmp_path / "shop", (name, *MARKUP[1:]))
    assert run(["check", str(shop)]) == 2
    said = capsys.readouterr().err
    assert unseen(said) == set() and f"\\u{next(ord(s) for s in name if not s.isascii() or s == chr(7)):04x}" in said


def test_folder_with_a_hard_name_is_written_and_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "a\x1b[31m\nb\udcff"
    assert run(["start", str(folder)]) == 0
    said = capsys.readouterr().out
    assert (folder / "duct.csv").exists() and unseen(said) == set()
    assert "a\\u001b[31m\\u000ab\\udcff" in said
    assert run(["check", str(folder)]) in (0, 1)
    other = hard_shop(tmp_path / "shop", MARKUP)
    assert run(["compare", str(folder), str(other), "--all-open", "--format", "json"]) in (0, 1)
    assert "\\\\udcff" in capsys.readouterr().out
