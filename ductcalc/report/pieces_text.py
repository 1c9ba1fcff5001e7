"""A piece of the duct in words, as it hangs."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.layout import LayoutCollector, LayoutPiece
from ductcalc.report.blocks import Words, glued
from ductcalc.report.display import Display
from ductcalc.report.sentences import several
from ductcalc.shop.kinds import TRAITS

ASSUMED = " (assumed)"


def piece_words(piece: LayoutPiece, display: Display, collector: LayoutCollector | None) -> Words:
    """Return a piece in words: what it is, its size, its length and build, what was assumed."""
    return f"{TRAITS[piece.kind].word}: {', '.join(_parts(piece, display, collector))}"


def _parts(piece: LayoutPiece, display: Display, collector: LayoutCollector | None) -> Iterator[str]:
    if piece.kind == "port":
        yield from _port(piece, display)
    elif piece.kind == "wye":
        yield from _wye(piece, display)
    elif piece.kind == "reducer":
        yield from _reducer(piece, display)
    elif piece.kind == "collector":
        yield from _collector(piece, display, collector)
    else:
        yield from _plain(piece, display)
    if piece.k is not None:
        yield f"own loss {piece.k:.10g} VP"
    if piece.note:
        yield f'"{piece.note}"'


def _port(piece: LayoutPiece, display: Display) -> Iterator[str]:
    yield str(piece.name)
    if piece.style:
        yield piece.style
    yield display.size(piece.bore_m)
    if piece.off:
        yield "never used (flow is off)"
    elif piece.wanted_m3_s is not None:
        yield f"wants {display.flow(piece.wanted_m3_s)}" + (ASSUMED if "wanted" in piece.assumed else "")
    if piece.drop is not None:
        yield f"takes {display.pressure(piece.drop.pressure_pa)} as stated"
    if piece.inlet_m2 is not None:
        yield f"lets air in through {display.area(piece.inlet_m2)}"
    if "resistance" in piece.assumed:
        yield "resistance not stated" + ASSUMED
    if piece.material:
        yield piece.material
    if piece.shares_hose:
        yield "shares this hose, one machine at a time"


def _wye(piece: LayoutPiece, display: Display) -> Iterator[str]:
    yield f"{display.size(piece.bore_m)} behind it"
    if piece.style:
        yield piece.style
    angles = [glued(f"{angle:g} deg") for angle in piece.angles_deg]
    note = ASSUMED if "angle" in piece.assumed else ""
    for name, angle in zip(piece.joins, angles, strict=True):
        yield f"{name} comes in at {angle}{note}"
    if piece.count:
        yield f"{several(piece.count, 'inlet')} capped"


def _reducer(piece: LayoutPiece, display: Display) -> Iterator[str]:
    before = display.size(piece.before_m if piece.before_m is not None else piece.bore_m)
    yield f"{before} to {display.size(piece.bore_m)}" + (ASSUMED if "piece" in piece.assumed else "")
    yield from (glued(f"{angle:g} deg") + " taper" for angle in piece.angles_deg)


def _collector(piece: LayoutPiece, display: Display, collector: LayoutCollector | None) -> Iterator[str]:
    yield collector.name if collector else str(piece.name or "no collector table")
    yield f"{display.size(piece.bore_m)} inlet"
    if collector is None:
        return
    flow, pressure = display.flow(collector.largest_flow_m3_s), display.pressure(collector.largest_pressure_pa)
    if collector.provisional:
        yield f"only two advertised maxima known: {flow} and {pressure}"
    else:
        yield f"{several(collector.points, 'blower point')} up to {flow} and {pressure}"


def _plain(piece: LayoutPiece, display: Display) -> Iterator[str]:
    if piece.name:
        yield piece.name
    if piece.count is not None and TRAITS[piece.kind].alike and piece.count > 1:
        yield f"{piece.count} alike"
    if piece.style:
        yield piece.style + (ASSUMED if "style" in piece.assumed else "")
    yield display.size(piece.bore_m)
    if piece.length_m is not None:
        yield display.written_length(piece.length_m) + " long"
    if piece.rise_m:
        way = "rises" if piece.rise_m > 0.0 else "falls"
        yield f"{way} {display.written_length(abs(piece.rise_m))}"
    yield from (glued(f"{angle:g} deg") for angle in piece.angles_deg)
    if piece.kind == "flex" and piece.count is not None:
        bends = several(piece.count, "bend") if piece.count else "no bend"
        yield bends + (ASSUMED if "count" in piece.assumed else "")
    if piece.opening is not None:
        yield f"{display.share(piece.opening)} open"
