"""The wall card as a JSON document and as CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.gates.card import Card
from ductcalc.report.csv_text import csv_text
from ductcalc.report.json_text import fields_of


def card_document(card: Card) -> dict[str, Any]:
    """Return the card as nested plain values."""
    from ductcalc import __version__

    return {
        "program": "ductcalc",
        "version": __version__,
        "shop": card.shop,
        "exit_code": card.exit_code,
        "alone": list(card.alone),
        "with_helper": [{"open": list(machines), "helpers": list(gates)} for machines, gates in card.with_helper],
        "together": [list(pair) for pair in card.together],
        "named": [fields_of(one, "name", "running", "helping", "word", "more_helpers") for one in card.named],
        "not_allowed": [{"machine": machine, "word": word} for machine, word in card.not_allowed],
        "never_allowed": list(card.never_allowed),
        "three_or_more": None
        if card.three_or_more is None
        else [{"open": list(names), "all_parts": parts} for names, parts in card.three_or_more],
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
    lines = [("alone", machine, "", "fine") for machine in card.alone]
    lines += [("with helper", " + ".join(m), " + ".join(h), "fine") for m, h in card.with_helper]
    lines += [("together", " + ".join(pair), "", "fine") for pair in card.together]
    lines += [(f"set {one.name}", " + ".join(one.running), " + ".join(one.helping), one.word) for one in card.named]
    lines += [("not alone", machine, "", word) for machine, word in card.not_allowed]
    lines += [("one hose", " + ".join(pair), "", "one at a time") for pair in card.one_hose]
    return csv_text(("kind", "machines", "helpers", "word"), lines)
