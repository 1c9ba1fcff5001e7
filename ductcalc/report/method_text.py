"""The method as it is shipped beside the tables (`data/METHOD.md`), as text, CSV and plain values."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from ductcalc.catalog.read import data_folder
from ductcalc.report.blocks import Block, Heading, Paragraph, Span
from ductcalc.report.csv_text import csv_text
from ductcalc.report.json_text import PROGRAM

NAME, TITLE = "method", "every formula with its range, its table and a worked line"
WORKED = re.compile(r"`(\w+\(.*\) ?.*)`")


class Passage(NamedTuple):
    """A paragraph of the method. kind: `text`, `point` of a list, or `worked` line."""

    section: str
    kind: str
    text: str


def passages() -> tuple[Passage, ...]:
    """Return the method, paragraph by paragraph."""
    return tuple(_passages((data_folder() / "METHOD.md").read_text(encoding="utf-8")))


def _passages(written: str) -> Iterator[Passage]:
    section, kind, lines = "", "text", list[str]()
    for line in [*written.splitlines()[1:], ""]:
        worked = WORKED.fullmatch(line.strip())
        if lines and (worked or not line.strip() or line.startswith(("- ", "## "))):
            yield Passage(section, kind, " ".join(lines))
            kind, lines = "text", []
        if line.startswith("## "):
            section = line[3:]
        elif worked:
            yield Passage(section, "worked", worked[1])
        elif line.startswith("- "):
            kind, lines = "point", [line[2:]]
        elif line.strip():
            lines.append(line.strip())


def method_blocks() -> Iterator[Block]:
    """Yield the method section by section; worked lines stand set in."""
    yield Paragraph((Span("The method: formulas, ranges, tables, worked lines.", "strong"),))
    section = ""
    for passage in passages():
        if passage.section != section:
            section = passage.section
            yield Heading(section)
        text = passage.text.replace("`", "")
        if passage.kind == "worked":
            yield Paragraph(text, "    ", "      ")
        elif passage.kind == "point":
            yield Paragraph(text, "- ", "  ")
        else:
            yield Paragraph(text)


def method_csv() -> str:
    """Return a line for each paragraph."""
    return csv_text(Passage._fields, passages())


def method_document() -> dict[str, Any]:
    """Return the paragraphs as plain values."""
    return {**PROGRAM, "method": [passage._asdict() for passage in passages()]}
