"""Invented shops with names that a terminal, a spreadsheet or a report could stumble over."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import pytest

from ductcalc.cli.app import run
from ductcalc.report import render
from ductcalc.report.blocks import Block
from tests.scenes import BARE, Rows, end, gate, hose, pipe, port, wye
from tests.scenes import run as rows_of

MARKUP = ("[red]x[/red] [/]", "[link=a.b]y", ":smile:")
SCRIPTS = ("מסור שולחן", "木工機械", "Fra\u0308se e\u0301\u0302")
PICTURES = ("👍🏽 bench", "👩\u200d🔧 wood", "❤\ufe0f 🪚")
LONG = ("l" * 99, "機" * 90, "n " * 49 + "n")
FORMULAS = ("=SUM(A1:A9)", "-saw;=2*3", "@home")
ESCAPES = "\x1b[31m\x1b]52;c;aGk=\x07\r\x08\x9b2J \u202eleft \u2067in \u200fout"
COMMANDS: Mapping[str, tuple[str, ...]] = {
    "tree": (),
    "draw": (),
    "chart": (),
    "need": ("--all-open", "--balance"),
    "check": (),
    "losses": (),
    "gates": (),
    "card": (),
    "compare": ("--with", "{run}: pipe 3 length = 90 ft"),
    "parts": (),
    "improve": (),
    "size": ("--drop", "{run}"),
}


def hard_shop(folder: Path, names: Sequence[str], note: str = "") -> Path:
    """Write a shop of three machines that bear these names, as do its runs, sets, gate and collector."""
    saw, planer, lathe = names
    runs = run_names(names)
    rows: Rows = [
        *rows_of(runs[0], port(saw, "4 in", k=1.5), hose("3 ft"), gate(), pipe("20 ft", note=note)),
        *rows_of(runs[0], wye(runs[1], "6 in"), pipe("15 ft"), wye(runs[2], "6 in"), pipe("4 ft"), end()),
        *rows_of(runs[1], port(planer, "5 in", flow="900 cfm", k=2.0), gate(machine=saw), pipe("6 ft")),
        *rows_of(runs[2], port(lathe, "4 in", flow="600 cfm", k=2.0), gate(), pipe("16 ft")),
    ]
    folder.mkdir()
    _table(folder / "duct.csv", rows)
    _table(folder / "collector.csv", [{**row, "collector": lathe} for row in BARE])
    said = json.dumps([saw, planer], ensure_ascii=False)
    sets = f'[room]\nexhaust = "outdoors"\n[gates.sets]\n{json.dumps(planer, ensure_ascii=False)} = {said}\n'
    (folder / "shop.toml").write_text(sets, encoding="utf-8")
    return folder


def run_names(names: Sequence[str]) -> list[str]:
    return [f"{name}{number}"[-100:] for number, name in enumerate(names, start=1)]


def _table(path: Path, rows: Iterable[Mapping[str, object]]) -> None:
    rows = list(rows)
    columns = list(dict.fromkeys(column for row in rows for column in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        writer.writerows(rows)


def words_of(command: str, folder: Path, names: Sequence[str]) -> list[str]:
    """Return a command's words for such a shop."""
    first = run_names(names)[0]
    return [command, str(folder), *(word.format(run=first) for word in COMMANDS[command])]


def blocks_of(words: Sequence[str], patches: pytest.MonkeyPatch) -> list[Block]:
    """Run a command in this process; return what its text report is made of."""
    kept: list[Block] = []

    def keep(blocks: Iterable[Block], page: render.Page) -> str:
        kept.extend(blocks)
        return ""

    with patches.context() as patch:
        patch.setattr(render, "rendered", keep)
        assert run(words) in (0, 1)
    return kept
