"""What one rule sees in a shop, before it is weighed."""

from __future__ import annotations

from ductcalc.cases.case import read_cases
from ductcalc.cases.choices import default_choices
from ductcalc.cases.solving import solve_choices
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import Amount, Phrase
from ductcalc.findings.rules import RULES
from ductcalc.findings.subject import Subject, subject_of
from ductcalc.model.model import build_model
from ductcalc.report.display import Display
from ductcalc.report.findings import amount_words, phrase_words
from ductcalc.shop import Shop
from ductcalc.shop.change import changed
from ductcalc.shop.hanging import spelled_out
from ductcalc.units.closed_list import UnitSystem


def subject(shop: Shop) -> Subject:
    model = build_model(shop)
    choices = default_choices(model)
    return subject_of(model, choices, read_cases(solve_choices(model, choices, ("loaded",))))


def seen(shop: Shop, rule: str) -> list[Observation]:
    look = next(one.look for one in RULES if one.name == rule)
    return list(look(subject(shop)))


def words(phrase: Phrase, system: UnitSystem = "inch") -> str:
    return phrase_words(phrase, Display(system)).replace("\u00a0", " ")


def figures(phrase: Phrase) -> list[str]:
    """Return the amounts of a sentence as a reader sees them, in order."""
    amounts = (part for part in phrase if isinstance(part, Amount))
    return [amount_words(amount, Display("inch")).replace("\u00a0", " ") for amount in amounts]


def mended(shop: Shop, found: Observation) -> Shop:
    assert found.change is not None
    return changed(spelled_out(shop), [found.change])


def names(shop: Shop, rule: str) -> list[str]:
    return [one.name for one in seen(shop, rule)]


def rows(shop: Shop, rule: str) -> list[int | None]:
    return [one.place.row if one.place else None for one in seen(shop, rule)]
