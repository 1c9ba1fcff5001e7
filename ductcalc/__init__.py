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

TYPE_CHECKING = False  # known to type checkers; loading typing for it would take longer than all else here

__version__ = "0.2.0"

_HOMES = {
    "Ask": "cases.choices",
    "Card": "answers.gates.card",
    "Change": "shop.change",
    "Chart": "answers.chart",
    "Check": "answers.check",
    "Comparison": "answers.compare.compare",
    "Case": "cases.case",
    "Diagnosis": "answers.diagnose.diagnose",
    "Drawing": "answers.draw",
    "DuctcalcError": "errors",
    "Expect": "answers.expect",
    "Finding": "findings.finding",
    "Findings": "findings.finding",
    "Gates": "answers.gates.gates",
    "Improve": "answers.improve.improve",
    "InputError": "errors",
    "Losses": "answers.losses",
    "Need": "answers.need.need",
    "NoAnswerError": "errors",
    "NoOperatingPointError": "errors",
    "NotConvergedError": "errors",
    "Parts": "answers.parts.parts",
    "Reading": "shop.readings",
    "Place": "errors",
    "Problem": "errors",
    "Running": "answers.running",
    "Shop": "shop",
    "DropSizing": "answers.size.drop",
    "Sizing": "answers.size.sizing",
    "Tune": "answers.tune",
    "card": "answers.gates.card",
    "changed": "shop.change",
    "chart": "answers.chart",
    "check": "answers.check",
    "compare": "answers.compare.compare",
    "diagnose": "answers.diagnose.diagnose",
    "expect": "answers.expect",
    "draw": "answers.draw",
    "findings_of": "findings.weighing",
    "gates": "answers.gates.gates",
    "improve": "answers.improve.improve",
    "losses": "answers.losses",
    "need": "answers.need.need",
    "parts": "answers.parts.parts",
    "quantity": "answers.columns",
    "read_changes": "tables.what_if",
    "read_prices": "tables.stock",
    "read_readings": "tables.readings",
    "read_shop": "tables",
    "read_stock": "tables.stock",
    "running": "answers.running",
    "shop_from_rows": "tables",
    "size": "answers.size.sizing",
    "size_drop": "answers.size.drop",
    "tune": "answers.tune",
    "write_first_layout": "tables.machines",
    "write_starter": "tables.writing",
}

if TYPE_CHECKING:
    from ductcalc.answers.chart import Chart, chart
    from ductcalc.answers.check import Check, check
    from ductcalc.answers.columns import quantity
    from ductcalc.answers.compare.compare import Comparison, compare
    from ductcalc.answers.diagnose.diagnose import Diagnosis, diagnose
    from ductcalc.answers.draw import Drawing, draw
    from ductcalc.answers.expect import Expect, expect
    from ductcalc.answers.gates.card import Card, card
    from ductcalc.answers.gates.gates import Gates, gates
    from ductcalc.answers.improve.improve import Improve, improve
    from ductcalc.answers.losses import Losses, losses
    from ductcalc.answers.need.need import Need, need
    from ductcalc.answers.parts.parts import Parts, parts
    from ductcalc.answers.running import Running, running
    from ductcalc.answers.size.drop import DropSizing, size_drop
    from ductcalc.answers.size.sizing import Sizing, size
    from ductcalc.answers.tune import Tune, tune
    from ductcalc.cases.case import Case
    from ductcalc.cases.choices import Ask
    from ductcalc.errors import (
        DuctcalcError,
        InputError,
        NoAnswerError,
        NoOperatingPointError,
        NotConvergedError,
        Place,
        Problem,
    )
    from ductcalc.findings.finding import Finding, Findings
    from ductcalc.findings.weighing import findings_of
    from ductcalc.shop import Shop
    from ductcalc.shop.change import Change, changed
    from ductcalc.shop.readings import Reading
    from ductcalc.tables import read_shop, shop_from_rows
    from ductcalc.tables.machines import write_first_layout
    from ductcalc.tables.readings import read_readings
    from ductcalc.tables.stock import read_prices, read_stock
    from ductcalc.tables.what_if import read_changes
    from ductcalc.tables.writing import write_starter

__all__ = [
    "Ask",
    "Card",
    "Case",
    "Change",
    "Chart",
    "Check",
    "Comparison",
    "Diagnosis",
    "Drawing",
    "DropSizing",
    "DuctcalcError",
    "Expect",
    "Finding",
    "Findings",
    "Gates",
    "Improve",
    "InputError",
    "Losses",
    "Need",
    "NoAnswerError",
    "NoOperatingPointError",
    "NotConvergedError",
    "Parts",
    "Place",
    "Problem",
    "Reading",
    "Running",
    "Shop",
    "Sizing",
    "Tune",
    "__version__",
    "card",
    "changed",
    "chart",
    "check",
    "compare",
    "diagnose",
    "draw",
    "expect",
    "findings_of",
    "gates",
    "improve",
    "losses",
    "need",
    "parts",
    "quantity",
    "read_changes",
    "read_prices",
    "read_readings",
    "read_shop",
    "read_stock",
    "running",
    "shop_from_rows",
    "size",
    "size_drop",
    "tune",
    "write_first_layout",
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
