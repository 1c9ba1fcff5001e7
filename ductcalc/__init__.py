"""ductcalc: real air flow and pressure loss in every branch of a small shop's dust duct.

>>> import ductcalc
>>> shop = ductcalc.shop_from_rows(
...     duct=[
...         {"run": "trunk", "piece": "port", "machine": "band saw", "size": "4 in", "flow": "400 cfm"},
...         {"piece": "pipe", "size": "4 in", "length": "12 ft"},
...         {"piece": "collector"},
...     ],
...     collector=[
...         {"item": "blower", "flow": "0 cfm", "pressure": "10 inwg"},
...         {"item": "blower", "flow": "1000 cfm", "pressure": "2 inwg"},
...     ],
... )
>>> verdict = ductcalc.check(shop)
>>> verdict.worst.machine
'band saw'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

__version__ = "0.1.0"

_HOMES = {
    "Ask": "answers.choices",
    "Card": "answers.gates.card",
    "Check": "answers.check",
    "CaseAnswer": "answers.case",
    "DuctcalcError": "errors",
    "Gates": "answers.gates.gates",
    "InputError": "errors",
    "Losses": "answers.losses",
    "NoAnswerError": "errors",
    "NoOperatingPointError": "errors",
    "NotConvergedError": "errors",
    "Place": "errors",
    "Problem": "errors",
    "Shop": "shop",
    "card": "answers.gates.card",
    "check": "answers.check",
    "gates": "answers.gates.gates",
    "losses": "answers.losses",
    "quantity": "answers.quantities",
    "read_shop": "tables",
    "shop_from_rows": "tables",
    "write_starter": "tables",
}

if TYPE_CHECKING:
    from ductcalc.answers.case import CaseAnswer
    from ductcalc.answers.check import Check, check
    from ductcalc.answers.choices import Ask
    from ductcalc.answers.gates.card import Card, card
    from ductcalc.answers.gates.gates import Gates, gates
    from ductcalc.answers.losses import Losses, losses
    from ductcalc.answers.quantities import quantity
    from ductcalc.errors import (
        DuctcalcError,
        InputError,
        NoAnswerError,
        NoOperatingPointError,
        NotConvergedError,
        Place,
        Problem,
    )
    from ductcalc.shop import Shop
    from ductcalc.tables import read_shop, shop_from_rows, write_starter

__all__ = [
    "Ask",
    "Card",
    "CaseAnswer",
    "Check",
    "DuctcalcError",
    "Gates",
    "InputError",
    "Losses",
    "NoAnswerError",
    "NoOperatingPointError",
    "NotConvergedError",
    "Place",
    "Problem",
    "Shop",
    "__version__",
    "card",
    "check",
    "gates",
    "losses",
    "quantity",
    "read_shop",
    "shop_from_rows",
    "write_starter",
]


def __getattr__(name: str) -> object:
    """Import a public name when it is first asked for, so that `--help` stays fast."""
    if name not in _HOMES:
        raise AttributeError(f"module 'ductcalc' has no attribute {name!r}")
    value = getattr(import_module(f"ductcalc.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
