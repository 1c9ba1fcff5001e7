"""The wall card as text: short lines without jargon, to be read beside a machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.gates.card import Card, FilterReading, NamedOnCard
from ductcalc.answers.gates.verdicts import SetWord
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, glued
from ductcalc.report.closing import program_line
from ductcalc.report.display import Display
from ductcalc.report.sentences import listed, several, the

LONG_NAME = 24
WHY: dict[SetWord, str] = {
    "fine": "",
    "settles": "chips settle in the pipe",
    "short": "too little air",
    "short and settles": "too little air, and chips settle in the pipe",
    "no answer": "not known: the collector's figures end too early",
}
SAFETY = (
    "Shut every other gate. Open the gate before you start the machine.",
    "Fine wood dust burns and can explode: no sparks, no metal, no smoking; keep the duct's ground wires on.",
    "Empty the bin and clean the filter with the power off, and wear a mask for it.",
    "Stop and look when the suction drops: a gate left open, a full bin, a blocked pipe.",
    "A planning estimate, not a safety assessment; local codes and licensed practice decide.",
)


def card_blocks(card: Card, display: Display) -> Iterator[Block]:
    """Yield the card."""
    yield Paragraph((Span(f"DUST GATES: {card.shop}", "strong"),))
    if card.provisional:
        yield Paragraph((Span("PROVISIONAL: the blower is known from its box only.", "warn"),))
    if card.always_open:
        yield Paragraph(f"Always open, no gate: {listed(card.always_open)}.")
    yield from _part("MAY RUN ALONE, only its own gate open", _names(card.alone))
    yield from _part("MAY RUN WHEN A SECOND GATE IS OPEN TOO (that machine stays off)", _helped(card))
    yield from _part("MAY RUN TOGETHER, two at a time", _together(card.any_two_of))
    yield from _rest(card)
    yield from _part("NAMED SETS", _sets(card.named))
    yield from _part("MUST NOT RUN ALONE", [f"{name}: {WHY[word]}" for name, word in card.not_allowed])
    yield from _part("ONE HOSE, one at a time", [listed(pair) for pair in card.one_hose])
    if card.filter is not None:
        yield from _part("CLEAN THE FILTER", [_filter(card.filter, display)])
    yield from _part("SAFETY", SAFETY)
    yield Paragraph("")
    yield program_line(card.shop)


def _part(title: str, lines: Sequence[str]) -> Iterator[Block]:
    if lines:
        yield Heading(title)
        for line in lines:
            yield Paragraph(line, "  ", "    ")


def _names(names: Sequence[str]) -> list[str]:
    return [_joined(names)] if names else []


def _helped(card: Card) -> list[str]:
    """Return machines alone first, then pairs gathered by their helper."""
    lines = [f"{machines[0]}: open {_gates(helpers)}" for machines, helpers in card.with_helper if len(machines) == 1]
    pairs: dict[tuple[str, ...], list[str]] = {}
    for machines, helpers in card.with_helper:
        if len(machines) > 1:
            pairs.setdefault(helpers, []).append(" + ".join(map(whole, machines)))
    return [*lines, *(f"with {_gates(helpers)} open: {', '.join(some)}" for helpers, some in pairs.items())]


def _together(groups: Sequence[Sequence[str]]) -> list[str]:
    """Return groups of which any two may run, then the pairs that are left by their first machine."""
    partners: dict[str, list[str]] = {}
    for pair in groups:
        if len(pair) == 2:
            partners.setdefault(pair[0], []).append(pair[1])
    lines = [f"any two of: {_joined(group)}" for group in groups if len(group) > 2]
    return [*lines, *(f"{whole(one)} with {_joined(others)}" for one, others in partners.items())]


def _joined(names: Sequence[str]) -> str:
    return ", ".join(map(whole, names))


def whole(name: str) -> str:
    """Return a name that no line end parts, unless it is long."""
    return glued(name) if len(name) <= LONG_NAME else name


def _rest(card: Card) -> Iterator[Block]:
    helped = sum(len(machines) == 2 for machines, _ in card.with_helper)
    rest = card.pairs - len(card.together) - helped
    if rest:
        yield Paragraph("")
        which = "No two machines" if rest == card.pairs else "No other two"
        said = "may run together" + ("" if card.pairs == 1 else f" ({several(rest, 'pair')})")
        yield Paragraph((Span(f"{which} {said}: too little air, or chips settle in the pipe.", "bad"),))


def _sets(named: Sequence[NamedOnCard]) -> list[str]:
    lines = []
    for one in named:
        said = f"{one.name}: {listed(one.running)}"
        if one.helping:
            said += f", with {_gates(one.helping)} open for air only"
        if one.word == "fine":
            said += " - ALLOWED"
        elif one.more_helpers:
            said += f" - ALLOWED with {_gates(one.more_helpers)} open too"
        else:
            said += f" - NOT ALLOWED: {WHY[one.word]}"
        lines.append(said)
    return lines


def _gates(names: Sequence[str]) -> str:
    return f"{listed([the(name) + chr(39) + 's' for name in names])} gate" + ("s" if len(names) > 1 else "")


def _filter(reading: FilterReading, display: Display) -> str:
    said = (
        f"When the gauge across the filter reads {_gauge(reading.loaded_pa, display)} with only"
        f" {the(reading.machine)}'s gate open. Just cleaned it reads {_gauge(reading.clean_pa, display)}."
    )
    if reading.assumed:
        said += " ASSUMED: not stated for this filter; go by what its maker says."
    return said


def _gauge(pressure_pa: float, display: Display) -> str:
    unit = "in of water" if display.system == "inch" else "Pa"
    return glued(f"{display.pressure_number(pressure_pa)} {unit}")
