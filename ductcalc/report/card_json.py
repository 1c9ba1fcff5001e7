"""The wall card as a JSON document and as CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.gates.card import Card
from ductcalc.cases.case import Case
from ductcalc.report.csv_text import csv_text
from ductcalc.report.json_text import GRADES, fields_of


def card_document(card: Card) -> dict[str, Any]:
    """Return the card as nested plain values."""
    from ductcalc import __version__

    return {
        "program": "ductcalc",
        "version": __version__,
        "shop": card.shop,
        "exit_code": card.exit_code,
        "alone": [case.name for case in card.alone],
        "with_helper": [{"open": list(machines), "helpers": list(gates)} for machines, gates in card.with_helper],
        "together": [list(case.asked) for case in card.together],
        "named": [
            {**fields_of(one, "name", "running", "helping", "more_helpers"), **_grades(one.case)} for one in card.named
        ],
        "not_allowed": [{"machine": case.name, **_grades(case)} for case in card.not_allowed],
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


def _grades(case: Case) -> dict[str, Any]:
    return fields_of(case, *GRADES)


def card_csv(card: Card) -> str:
    """Return a line for each thing that the card allows or forbids."""
    lines = [("alone", case.name, "", case.word) for case in card.alone]
    lines += [("with helper", " + ".join(m), " + ".join(h), "may run") for m, h in card.with_helper]
    lines += [("together", " + ".join(case.asked), "", case.word) for case in card.together]
    for one in card.named:
        lines.append((f"set {one.name}", " + ".join(one.running), " + ".join(one.helping), one.case.word))
    lines += [("not alone", case.name, "", case.word) for case in card.not_allowed]
    lines += [("one hose", " + ".join(pair), "", "one at a time") for pair in card.one_hose]
    return csv_text(("kind", "machines", "helpers", "word"), lines)
