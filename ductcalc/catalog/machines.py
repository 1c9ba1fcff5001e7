"""Kinds of machine in plain trade words, and the air that each is given to start from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from ductcalc.catalog.fact import FactRow, fact_rows
from ductcalc.catalog.read import table
from ductcalc.catalog.words import bare, words_of

AIRFLOW = "machine_airflow"


@cache
def machine_kinds() -> Mapping[str, FactRow]:
    """Return every kind with the row and the flow [m3/s] of table `machine_airflow`, in its order."""
    items = dict.fromkeys(row["item"] for row in table(AIRFLOW).rows)
    found = {one.row["kind"]: one for item in items for one in fact_rows(AIRFLOW, item)}
    return MappingProxyType({row["kind"]: found[row["kind"]] for row in table(AIRFLOW).rows})


def machine_kind(text: str) -> str | None:
    """Return the kind that a text names, None for none; letter case, hyphens and spaces do not matter.

    >>> machine_kind("Thickness Planer 15in")
    'planer 15 in'
    """
    plain = _plain(text)
    return next((kind for kind in machine_kinds() if bare(kind) == plain), None)


def kinds_like(text: str) -> tuple[str, ...]:
    """Return the kinds whose words begin with a text, as of one machine in several sizes; else with its words alone.

    >>> kinds_like("thicknesser")[-1]
    'planer 20 in'
    >>> kinds_like("drum sander 16 in")
    ('drum sander each port',)
    """
    plain = _plain(text)
    for start in (plain, re.sub(r"\d.*", "", plain)):
        found = tuple(kind for kind in machine_kinds() if start and bare(kind).startswith(start))
        if found:
            return found
    return ()


def _plain(text: str) -> str:
    """Return a text with another word for its machine replaced, in the form in which kinds are compared."""
    plain = bare(text.replace('"', " in").replace("″", " in"))
    others = sorted(words_of("machine").items(), key=lambda pair: -len(pair[0]))
    return next((bare(word) + plain.removeprefix(o) for o, word in others if plain.startswith(o)), plain)
