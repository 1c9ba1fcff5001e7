"""One file for screen, phone and paper: the parts of each report, in the order in which they are needed."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from itertools import takewhile
from typing import NamedTuple
from xml.etree.ElementTree import Element

from ductcalc.answers.page import Everything
from ductcalc.report.blocks import Block, Figure, Grid, Paragraph
from ductcalc.report.card import card_blocks
from ductcalc.report.check.short import how_sure, short_check
from ductcalc.report.check.text import assumption_blocks, foot_blocks, limit_blocks, machine_blocks, other_way_blocks
from ductcalc.report.display import Display
from ductcalc.report.draw.chart import bill_picture, chart_picture
from ductcalc.report.draw.schematic import schematic
from ductcalc.report.draw.words import filter_words
from ductcalc.report.expect import headline, tap_blocks
from ductcalc.report.findings import findings_blocks
from ductcalc.report.flow import carried
from ductcalc.report.gates.short import help_blocks, largest_blocks, matrix_blocks
from ductcalc.report.html import element, elements, sheet
from ductcalc.report.losses import short_losses
from ductcalc.report.parts.text import CAUTIONS, ELECTRIC, item_grid, short_parts
from ductcalc.report.running.text import short_running
from ductcalc.report.sentences import capitalised, the
from ductcalc.report.short import SAFETY, Typed

TYPES = {".csv": "text/csv", ".toml": "application/toml"}
STANDARD = "No shop.toml is written: every setting is the standard one."
TYPED_OUT = "The shop's own tables. Saved into one folder, they are this shop again."


class Part(NamedTuple):
    """A part of the page: its name in links, its title, its blocks."""

    name: str
    title: str
    blocks: Iterable[Block]


def page_html(told: Everything, display: Display, typed: Typed, files: Mapping[str, bytes]) -> str:
    """Return the whole page. files: the shop's tables as they are, by name."""
    parts = [part._replace(blocks=tuple(part.blocks)) for part in _parts(told, display, typed)]
    sections = [_section(part.name, part.title, *elements(part.blocks, part.name)) for part in parts if part.blocks]
    sections += [_section("settings", "Settings", *_settings(files)), _section("tables", "Tables", *_links(files))]
    places = [(section.get("id") or "", section[0].text or "") for section in sections]
    links = element("ul", *(element("li", element("a", title, href=f"#{name}")) for name, title in places))
    from ductcalc import __version__

    title = f"Dust duct of {told.check.shop}"
    return sheet(
        title,
        element("header", element("h1", title), element("nav", links, aria_label="parts of this page")),
        element("main", *sections),
        element("footer", element("p", f"ductcalc {__version__}, shop {told.check.shop}", class_="dim")),
    )


def _section(name: str, title: str, *inside: Element) -> Element:
    heading = element("h2", title, id=f"{name}-title")
    return element("section", heading, *inside, id=name, aria_labelledby=f"{name}-title")


def _ahead(blocks: Iterable[Block]) -> Iterator[Block]:
    """Yield what a short report says ahead of its first table."""
    return takewhile(lambda block: not isinstance(block, Grid), blocks)


def _parts(told: Everything, display: Display, typed: Typed) -> Iterator[Part]:
    check = told.check
    yield Part("verdict", "Verdict", (*_ahead(short_check(check, display, typed)), *_foot_of_verdict(told, display)))
    air = capitalised(f"{filter_words(told.drawing)}.")
    duct = Figure(lambda columns, _: schematic(told.drawing, display, columns))
    yield Part("duct", "The duct", [Paragraph(air), duct])
    yield Part("machines", "Machines", machine_blocks(check, display))
    yield Part("warnings", "Warnings", tuple(findings_blocks(check.findings, display, every=True))[1:])
    curves = Figure(lambda columns, _: chart_picture(told.chart, display, columns))
    yield Part("curve", "Pressure against flow", [curves])
    way = told.losses
    if way is not None:
        bars = Figure(lambda columns, _: bill_picture(way, display, columns))
        ahead = _ahead(short_losses(way, display, typed))
        yield Part("bill", f"Where the suction of {the(way.machine)} goes", [*ahead, bars])
    gates = told.gates
    together = (*matrix_blocks(gates), *help_blocks(gates, display), *largest_blocks(gates))
    yield Part("gates", "Gates", together)
    yield Part("card", "Card for the wall", tuple(card_blocks(told.card, display))[:-2])
    yield Part("parts", "Parts to buy", _to_buy(told, display, typed))
    hanging = (*assumption_blocks(check, display), *other_way_blocks(check, display))
    yield Part("assumed", "What is assumed", hanging)
    readings = told.expect.at_collector()
    if readings:
        said = Paragraph(headline(told.expect, display))
        yield Part("readings", "Start-up readings", (said, *tap_blocks(readings, display)))
    if told.running is not None:
        yield Part("running", "Running it", short_running(told.running, display))
    yield Part("notes", "Notes and cautions", (*foot_blocks(check, display), *limit_blocks(check, display)))


def _foot_of_verdict(told: Everything, display: Display) -> Iterator[Block]:
    yield from how_sure(told.check, display)
    yield Paragraph(SAFETY)


def _to_buy(told: Everything, display: Display, typed: Typed) -> Iterator[Block]:
    yield from _ahead(short_parts(told.parts, display, typed))
    yield item_grid(told.parts, display)
    yield Paragraph(f"{CAUTIONS[0]} {ELECTRIC}")


def _settings(files: Mapping[str, bytes]) -> Iterator[Element]:
    text = files.get("shop.toml", b"").decode("utf-8-sig", "replace")
    if not text.strip():
        yield element("p", STANDARD)
        return
    written = element("pre", tabindex="0")
    written.text = "\n".join(carried(line.expandtabs().rstrip(), "utf-8") for line in text.splitlines())
    yield written


def _links(files: Mapping[str, bytes]) -> Iterator[Element]:
    yield element("p", TYPED_OUT)
    links = []
    for name, data in files.items():
        kind = TYPES.get(name[name.rfind(".") :], "application/octet-stream")
        place = f"data:{kind};base64,{b64encode(data).decode('ascii')}"
        links.append(element("li", element("a", name, href=place, download=name), f" ({len(data)} bytes)"))
    yield element("ul", *links)
