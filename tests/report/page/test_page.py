"""The page: the same numbers as text and JSON, every name as text, and tables that are the shop again."""

from __future__ import annotations

import base64
import json
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple

import pytest

from ductcalc.tables import read_shop
from tests.scenes import EXAMPLES, SHOPS
from tests.typed import typed

NAMES = ("creamery", "joinery-class", "one-machine", "cellar", "annex")
CFM = 0.3048**3 / 60.0
VOID = {"meta", "link", "br"}


class Seen(NamedTuple):
    """What a page holds: its text, the rows of its tables, its links, its headings, elements left open."""

    text: str
    rows: list[list[str]]
    links: dict[str, str]
    headings: list[str]
    tags: set[str]
    unclosed: list[str]


class Reader(HTMLParser):
    """Reads a page as a browser would."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[str] = []
        self.rows: list[list[str]] = []
        self.links: dict[str, str] = {}
        self.headings: list[str] = []
        self.tags: set[str] = set()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag not in VOID:
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        if tag in ("h1", "h2", "h3"):
            self.headings.append("")
        found = dict(attrs)
        if tag == "a" and found.get("download"):
            self.links[str(found["download"])] = str(found["href"])

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1] == tag, (tag, self.open)
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if "style" in self.open:
            return
        self.parts.append(data)
        if {"td", "th"} & set(self.open):
            self.rows[-1][-1] += data.replace("\u00a0", " ")
        if self.open and self.open[-1] in ("h1", "h2", "h3"):
            self.headings[-1] += data


def read(text: str) -> Seen:
    reader = Reader()
    reader.feed(text)
    said = "".join(reader.parts).replace("\u00a0", " ")
    return Seen(said, reader.rows, reader.links, reader.headings, reader.tags, reader.open)


def folder(name: str) -> Path:
    return EXAMPLES / name if (EXAMPLES / name).is_dir() else SHOPS / name


@cache
def written(name: str, tmp: Path) -> str:
    answer = typed("page", folder(name), "--output", tmp / f"{name}.html", "--force")
    assert answer.returncode in (0, 1), answer.stderr
    return (tmp / f"{name}.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tmp(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("page")


@pytest.mark.parametrize("name", NAMES)
def test_air_of_every_machine_is_that_of_the_json(name: str, tmp: Path) -> None:
    seen, metric = read(written(name, tmp)), read_shop(folder(name)).system == "metric"
    told = json.loads(typed("check", folder(name), "--format", "json").stdout)["cases"]
    unit = 1 / 3600 if metric else CFM
    checked = 0
    for case in told:
        if case["filter"] != "loaded" or case["status"] != "solved":
            continue
        for machine in case["machines"]:
            if machine["asked"] and machine["word"] in ("ok", "short"):
                wanted, got = (round(machine[key] / unit) for key in ("wanted_m3_s", "flow_m3_s"))
                shown = [row for row in seen.rows if row[:1] == [machine["machine"]] and str(wanted) in row[1:3]]
                assert any({str(got), f"<{wanted}"} & set(row) for row in shown), (machine["machine"], got)
                checked += 1
    assert checked


@pytest.mark.parametrize("name", NAMES)
def test_tables_are_those_of_the_text(name: str, tmp: Path) -> None:
    seen = read(written(name, tmp))
    text = typed("check", folder(name), "--full", width=300).stdout
    lines = {" ".join(line.split()) for line in text.splitlines()}
    assert "Machines" in seen.headings
    rows = [" ".join(" ".join(row).split()) for row in seen.rows]
    same = [row for row in rows if row in lines]
    assert len(same) >= len(json.loads(typed("check", folder(name), "--format", "json").stdout)["cases"][0]["machines"])


@pytest.mark.parametrize("name", NAMES)
def test_verdict_is_the_first_line_of_check(name: str, tmp: Path) -> None:
    first = typed("check", folder(name), width=10_000).stdout.splitlines()[0]
    assert first in read(written(name, tmp)).text


@pytest.mark.parametrize("name", NAMES)
def test_every_element_is_closed_and_nothing_comes_from_outside(name: str, tmp: Path) -> None:
    text = written(name, tmp)
    seen = read(text)
    assert seen.unclosed == []
    assert not seen.tags & {"script", "img", "iframe", "object", "base", "form"}
    assert all(place.startswith(("data:", "#")) for place in re.findall(r'(?:href|src)="([^"]*)"', text))
    assert "url(" not in text and "@import" not in text


@pytest.mark.parametrize("name", NAMES)
def test_tables_in_the_page_are_the_shop_again(name: str, tmp: Path) -> None:
    again = tmp / f"{name}-again"
    again.mkdir(exist_ok=True)
    for file, link in read(written(name, tmp)).links.items():
        (again / file).write_bytes(base64.b64decode(link.partition("base64,")[2]))
    first, second = (typed("check", shop, "--format", "json").stdout for shop in (folder(name), again))
    assert first and first.replace(f'"shop": "{name}"', "") == second.replace(f'"shop": "{name}-again"', "")


def test_parts_of_the_page_stand_in_the_order_of_need(tmp: Path) -> None:
    parts = [
        "Verdict", "The duct", "Machines", "Pressure against flow", "Where the suction of the planer goes", "Gates",
        "Card for the wall", "Parts to buy", "What is assumed", "Start-up readings", "Running it", "Notes and cautions",
        "Settings", "Tables",
    ]  # fmt: skip
    assert [heading for heading in read(written("creamery", tmp)).headings if heading in parts] == parts


@pytest.mark.parametrize("name", NAMES)
def test_headers_of_columns_and_rows_say_so_and_pictures_are_named(name: str, tmp: Path) -> None:
    text = written(name, tmp)
    assert len(re.findall("<th[ >]", text)) == text.count('scope="col"') + text.count('scope="row"')
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    for labels in re.findall(r'aria-labelledby="([^"]+)"', text):
        assert set(labels.split()) <= set(ids)
    assert text.count("<svg") >= 3


def test_settings_stand_as_they_are_written(tmp: Path) -> None:
    assert 'altitude = "900 ft"' in read(written("creamery", tmp)).text
    assert "every setting is the standard one" in read(written("one-machine", tmp)).text


def test_commands_name_the_shop_and_no_folder_of_the_writer(tmp: Path) -> None:
    said = read(written("creamery", tmp)).text
    assert "ductcalc gates creamery" in said and str(EXAMPLES) not in said


def test_the_same_shop_gives_the_same_bytes(tmp: Path) -> None:
    first = written("one-machine", tmp)
    written.cache_clear()
    assert written("one-machine", tmp) == first
