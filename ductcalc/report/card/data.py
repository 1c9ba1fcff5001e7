"""The wall card as a JSON document and as CSV."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.gates.card import Card
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import GRADES, PROGRAM, fields_of


def card_document(card: Card) -> dict[str, Any]:
    """Return the card as nested plain values."""
    return {
        **PROGRAM,
        "shop": card.shop,
        "exit_code": card.exit_code,
        "alone": [case.name for case in card.alone],
        "with_helper": [
            {"open": list(one.before.asked), "helpers": list(one.helpers), **fields_of(one.after, *GRADES)}
            for one in card.with_helper
        ],
        "together": [list(case.asked) for case in card.together],
        "named": [
            {
                **fields_of(one.case, "name", "running", "helping"),
                **fields_of(one, "more_helpers"),
                **fields_of(one.case, *GRADES),
            }
            for one in card.named
        ],
        "not_allowed": [{"machine": case.name, **fields_of(case, *GRADES)} for case in card.not_allowed],
        "never_allowed": list(card.never_allowed),
        "three_or_more": None
        if card.three_or_more is None
        else [
            {"open": list(case.asked), "all_parts": parts, **fields_of(case, *GRADES)}
            for case, parts in card.three_or_more
        ],
        "one_of": [list(group) for group in card.school.one_of],
        "keep_open": None
        if card.school.keep_open is None
        else fields_of(card.school.keep_open, "least", "gates", "now", "then"),
        "own_blowers": list(card.own_blowers),
        "one_hose": [list(pair) for pair in card.one_hose],
        "always_open": list(card.always_open),
        "provisional": card.provisional,
        "filter": None
        if card.filter is None
        else fields_of(card.filter, "machine", "machine_off", "gated", "clean_pa", "loaded_pa", "assumed"),
    }


class _Line(NamedTuple):
    kind: str
    machines: Sequence[str]
    word: str
    helpers: Sequence[str] = ()


LINES: Columns[_Line] = (
    Column("kind", lambda line: line.kind),
    Column("machines", lambda line: " + ".join(line.machines)),
    Column("helpers", lambda line: " + ".join(line.helpers)),
    Column("word", lambda line: line.word),
)


def card_csv(card: Card, display: Display) -> str:
    """Return a line for each thing that the card allows or forbids."""
    return csv_of(LINES, _lines(card), display)


def _lines(card: Card) -> Iterator[_Line]:
    for case in card.alone:
        yield _Line("alone", [case.name], case.word)
    for one in card.with_helper:
        assert one.after is not None
        yield _Line("with helper", one.before.asked, one.after.word, one.helpers)
    for case in card.together:
        yield _Line("together", case.asked, case.word)
    for case in (named.case for named in card.named):
        yield _Line(f"set {case.name}", case.running, case.word, case.helping)
    for case in card.not_allowed:
        yield _Line("not alone", [case.name], case.word)
    for pair in card.one_hose:
        yield _Line("one hose", pair, "one at a time")
