"""What each variant changes against the first, in words: verdicts, the largest change, pieces, parts, warnings."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from ductcalc.answers.compare.compare import Comparison
from ductcalc.answers.compare.differences import Differences, ExtraPart, PieceDifference
from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer
from ductcalc.findings.finding import Finding, Findings
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, Style
from ductcalc.report.check.sentences import case_title
from ductcalc.report.display import Display
from ductcalc.report.findings import finding_words, findings_blocks, where_words
from ductcalc.report.head_and_foot import noted
from ductcalc.report.parts.words import part_label, part_size
from ductcalc.report.sentences import listed, several, the
from ductcalc.report.short import caution_lines
from ductcalc.shop.piece import Drop, Wanted

MOST_NAMED = 4
"""Cases, pieces and parts that the short report names; the rest is counted."""
TURNED = {
    "no answer": "no answer",
    "settles": "chips settle",
    "short": "short of air",
    "just short": "just short of air",
    "slow": "chips slow",
    "moves": "chips move",
    "ok": "enough air",
    "an answer": "an answer",
}
"""Words of verdicts that turn, the worst first."""
COLUMNS = {
    "angles_deg": "angle",
    "wanted": "flow",
    "inlet_m2": "inlet",
    "size_m": "size",
    "length_m": "length",
    "rise_m": "rise",
    "roughness_m": "roughness",
}
"""Columns of the duct table whose field bears another name."""


def headlines(comparison: Comparison, display: Display) -> Iterator[str]:
    """Yield the largest change, and every verdict that is another one, new or missing."""
    for one in comparison.differences:
        if one.largest is not None:
            yield f"Largest change: {_largest(one, display)}."
    for one in comparison.differences:
        for word, better in (("Worse", False), ("Better", True)):
            if said := _turned(one, better):
                yield f"{word} in {one.letter}: {said}."
    for variant in comparison.variants:
        names = [name for letter, name in comparison.only_in if letter == variant.letter]
        if names and comparison.advice.standings[0].cases:
            yield f"Not everywhere: {variant.letter} has {listed(names)}, another one lacks it."


def _largest(one: Differences, display: Display) -> str:
    assert one.largest is not None
    case, before, after, _ = one.largest
    if isinstance(before, MachineAnswer) and isinstance(after, MachineAnswer):
        who = f"{the(after.machine)} alone" if case.alone else f"{the(after.machine)} with {case_title(case)}"
        return f"{who} gets {display.flow(after.flow_m3_s)} in {one.letter}, A {display.flow_number(before.flow_m3_s)}"
    assert not isinstance(before, MachineAnswer) and not isinstance(after, MachineAnswer)
    speeds = display.speed(after.deciding_velocity_m_s), display.speed_number(before.deciding_velocity_m_s)
    return f"slowest stretch with {_named(case)} {speeds[0]} in {one.letter}, A {speeds[1]}"


def _turned(one: Differences, better: bool) -> str:
    """Say which verdicts turn one way, those that turn alike together."""
    found = {word: [_named(t.case) for t in one.turned if t.after == word and t.better == better] for word in TURNED}
    return "; ".join(f"{TURNED[word]} with {listed(few(names))}" for word, names in found.items() if names)


def few(names: Sequence[str]) -> list[str]:
    """Return names, of many the first ones and how many more."""
    shown = list(names) if len(names) <= MOST_NAMED else list(names[: MOST_NAMED - 1])
    return shown + ([f"{len(names) - len(shown)} others"] if len(shown) < len(names) else [])


def _named(case: Case) -> str:
    """Return what is open: a machine alone by its name."""
    return the(case.name) if case.alone else case_title(case)


def short_differences(comparison: Comparison, display: Display) -> Iterator[str]:
    """Yield in a line each what differs of the ducts and collectors, and what to buy; nothing of unlike shops."""
    for one in comparison.differences if comparison.advice.standings[0].cases else ():
        changes = comparison.variant(one.letter).check.changes
        if one.pieces and not changes:
            named = [f"{where}: {how}" for where, how in pieces_words(one, display)[:MOST_NAMED]]
            yield f"Not alike in {one.letter}: {'; '.join(named)}{_more(one.pieces)}."
        yield from parts_lines(one, display, MOST_NAMED)
    if any(one.collector for one in comparison.differences):
        yield collector_words(comparison)


def _more(found: Sequence[object], most: int | None = MOST_NAMED) -> str:
    return f"; {len(found) - most} more" if most is not None and len(found) > most else ""


def difference_blocks(comparison: Comparison, display: Display) -> Iterator[Block]:
    """Yield all that differs, piece by piece, with the parts to buy and what is assumed of each collector."""
    for one in comparison.differences:
        if one.pieces:
            yield Heading(f"Piece by piece, {one.letter} against A")
            yield from (noted(f"{where}: {how}") for where, how in pieces_words(one, display))
            yield from map(Paragraph, parts_lines(one, display, None))
    yield Paragraph("")
    yield Paragraph(collector_words(comparison))


def pieces_words(one: Differences, display: Display) -> list[tuple[str, str]]:
    """Return for each piece that is not the same where it is, and how it differs."""
    return [(_where(piece), _how(piece, one.letter, display)) for piece in one.pieces]


def _where(piece: PieceDifference) -> str:
    own = piece.first or piece.other
    assert own is not None
    return f"{piece.run} {own.traits.word} {piece.number}"


def _how(piece: PieceDifference, letter: str, display: Display) -> str:
    if piece.first is None or piece.other is None:
        there, own = (letter, piece.other) if piece.first is None else ("A", piece.first)
        assert own is not None
        size = f" ({display.size(own.size_m)})" if own.size_m is not None else ""
        return f"only in {there}{size}"
    parts = (
        f"{COLUMNS.get(field, field)} {cell(before, field, display)}, {letter} {cell(after, field, display)}"
        for field, before, after in piece.fields
    )
    return "; ".join(parts)


def cell(value: Any, field: str, display: Display) -> str:
    """Show a cell of the duct table."""
    shown: dict[str, Callable[[Any], str]] = {
        "size_m": display.size,
        "length_m": display.written_length,
        "rise_m": display.written_length,
        "inlet_m2": display.area,
        "leak": display.share,
        "opening": display.share,
        "roughness_m": lambda value: f"{1000.0 * value:g} mm",
        "angles_deg": lambda value: " + ".join(f"{angle:g}" for angle in value) + " deg",
        "joins": listed,
        "wanted": lambda value: _wanted(value, display),
        "drop": lambda value: _drop(value, display),
    }
    if value is None or value == ():
        return "blank"
    return shown[field](value) if field in shown else f"{value:g}" if isinstance(value, float) else str(value)


def _wanted(wanted: Wanted, display: Display) -> str:
    if wanted.flow_m3_s is not None:
        return display.flow(wanted.flow_m3_s)
    return "off" if wanted.speed_m_s is None else display.speed(wanted.speed_m_s)


def _drop(drop: Drop, display: Display) -> str:
    at = display.speed(drop.speed_m_s) if drop.speed_m_s is not None else display.flow(drop.flow_m3_s or 0.0)
    return f"{display.pressure(drop.pressure_pa)} at {at}{' total' if drop.total else ''}"


def parts_lines(one: Differences, display: Display, most: int | None) -> Iterator[str]:
    """Say which parts a variant takes beyond the first, and which of the first it leaves over."""
    for said, sign in ((f"To buy for {one.letter} beyond A", 1), ("Left over of A", -1)):
        parts = [part for part in one.extra if sign * (part.length_m or part.count) > 0]
        if parts:
            yield f"{said}: {'; '.join(_part(part, display) for part in parts[:most])}{_more(parts, most)}."


def _part(part: ExtraPart, display: Display) -> str:
    size = part_size(part.name, display)
    label = " ".join(filter(None, (part_label(part.name), size)))
    if part.length_m is not None:
        return f"{display.written_length(abs(part.length_m))} of {label}"
    return label if abs(part.count) == 1 else f"{abs(part.count)} x {label}"


def collector_words(comparison: Comparison) -> str:
    """Say what is assumed of each collector, those of which the same is assumed together."""
    found: dict[str, list[str]] = {}
    for variant in comparison.variants:
        collector = variant.model.collector
        said = "; ".join(one.text for one in collector.assumptions) if collector else ""
        found.setdefault(said or "nothing", []).append(variant.letter)
    each = (f"of {listed(letters)}: {said}" for said, letters in found.items())
    return f"Assumed of the collector {'; '.join(each)}."


def warning_blocks(comparison: Comparison, display: Display, every: bool) -> Iterator[Block]:
    """Yield the first shop's findings, then what the others have lost or gained."""
    first = comparison.variants[0]
    yield from findings_blocks(first.check.findings, display, every, f"in {first.letter}")
    if any(one.gone or one.new or one.not_seen for one in comparison.differences):
        yield Heading(f"Of the warnings of {first.letter}")
    for one in comparison.differences:
        yield from map(noted, _lost(one))
        for found in one.new:
            yield noted(f"New in {one.letter}: {_warning(found)}: {finding_words(found, display)}")


def cautions(comparison: Comparison, display: Display) -> Iterator[Block]:
    """Yield every caution once, with the letters of the shops that give cause for it where not all do."""
    for found in (found for found in comparison.findings.all if found.caution):
        letters = [variant.letter for variant in comparison.variants if found in variant.check.findings.all]
        everywhere = len(letters) == len(comparison.variants)
        yield from caution_lines(Findings((found,)), display, "" if everywhere else f" in {listed(letters)}")


def changed_warnings(comparison: Comparison) -> Iterator[Block]:
    """Yield in a line each what is gone and what is new."""
    for one in comparison.differences:
        yield from map(Paragraph, _lost(one))
        if one.new:
            style: Style = "bad" if any(found.caution for found in one.new) else "warn"
            named = listed(few([_warning(found) for found in one.new]))
            yield Paragraph((Span(f"New in {one.letter}: ", style), Span(f"{named}.")))


def _lost(one: Differences) -> Iterator[str]:
    if one.gone:
        yield f"Gone in {one.letter}: {_warnings(one.gone)}."
    if one.not_seen:
        yield f"Cannot be told in {one.letter}, so not gone: {_warnings(one.not_seen)}."


def _warnings(found: Sequence[Finding]) -> str:
    return listed([_warning(one) for one in found])


def _warning(found: Finding) -> str:
    return f"{found.rule} ({where_words(found)})"


def counted_in_first(comparison: Comparison) -> str:
    """Say how many warnings the first shop has beside its cautions; empty without one."""
    findings = comparison.variants[0].check.findings
    count = sum(not found.caution for found in findings.all) + findings.not_weighed
    return several(count, "warning") + " in A" if count else ""
