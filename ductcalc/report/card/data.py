"""The wall card as a JSON document and as CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.gates.card import Card
from ductcalc.report.csv_text import csv_text
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
        "own_blowers": list(card.own_blowers),
        "one_hose": [list(pair) for pair in card.one_hose],
        "always_open": list(card.always_open),
        "provisional": card.provisional,
        "filter": None
        if card.filter is None
        else fields_of(card.filter, "machine", "machine_off", "gated", "clean_pa", "loaded_pa", "assumed"),
    }


def card_csv(card: Card) -> str:
    """Return a line for each thing that the card allows or forbids."""
    lines = [("alone", case.name, "", case.word) for case in card.alone]
    for one in card.with_helper:
        assert one.after is not None
        lines.append(("with helper", " + ".join(one.before.asked), " + ".join(one.helpers), one.after.word))
    lines += [("together", " + ".join(case.asked), "", case.word) for case in card.together]
    for case in (named.case for named in card.named):
        lines.append((f"set {case.name}", " + ".join(case.running), " + ".join(case.helping), case.word))
    lines += [("not alone", case.name, "", case.word) for case in card.not_allowed]
    lines += [("one hose", " + ".join(pair), "", "one at a time") for pair in card.one_hose]
    return csv_text(("kind", "machines", "helpers", "word"), lines)
