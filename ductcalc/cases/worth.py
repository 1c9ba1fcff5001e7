"""What a machine's air is worth under other assumptions, methods and curves: all of them in one batch per method."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import JudgedCases
from ductcalc.cases.solving import collector_of
from ductcalc.cases.variants import Variant, judged_variants
from ductcalc.catalog import fact
from ductcalc.model.assumption import Assumption
from ductcalc.model.collector import CurveEnd
from ductcalc.model.decided import leaning
from ductcalc.model.model import Model, build_model
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction

JUNCTIONS: tuple[Junction, ...] = ("momentum", "handbook", "factored")
CURVE_ENDS: tuple[CurveEnd, ...] = ("low", "middle", "high")
CHIP_HEAVY = ("planer", "thicknesser", "surfacer")


class WorthAnswer(NamedTuple):
    """An assumption and the air [m3/s] of the machine in question at its two ends (None: no band or no answer)."""

    assumption: Assumption
    low_m3_s: float | None
    high_m3_s: float | None


class MethodAnswer(NamedTuple):
    """What another method gives: air [m3/s] of the machine in question (None when it has no answer)."""

    method: str
    flow_m3_s: float | None


class Sensitivity(NamedTuple):
    """What a machine's air depends on. chips: a chip-heavy machine with a planer's full cut in the ducts."""

    assumptions: tuple[WorthAnswer, ...]
    methods: tuple[MethodAnswer, ...]
    by_curve: tuple[MethodAnswer, ...]
    chips: MethodAnswer | None


class OtherWays(NamedTuple):
    """Some choices by every other wye method, and on every advertised curve; each way's cases, choice by choice."""

    methods: tuple[tuple[str, JudgedCases], ...]
    curves: tuple[tuple[str, JudgedCases], ...]

    def turning(self, cases: Sequence[Case]) -> tuple[tuple[str, ...], ...]:
        """Return for each of the cases, choice by choice, the ways by which its verdict would be another one."""
        ways = [(name, _verdicts(other)) for name, other in (*self.methods, *self.curves)]
        own = [(case.well, case.may_run, case.solved) for case in cases]
        return tuple(
            tuple(name for name, other in ways if tuple(other[:, column]) != verdict)
            for column, verdict in enumerate(own)
        )


def other_ways(model: Model, choices: Sequence[Choice]) -> OtherWays:
    """Solve some choices by every other way (loaded filter)."""
    others = [junction for junction in JUNCTIONS if junction != model.junction]
    models = [build_model(model.shop, j, loading=model.loading, hanging=model.hanging) for j in others]
    ends = CURVE_ENDS if collector_of(model).provisional else ()
    variants = [*(Variant(other) for other in models), *(Variant(model, end=end) for end in ends)]
    found = tuple(zip((*others, *ends), judged_variants(variants, choices, audited=True), strict=True))
    return OtherWays(found[: len(others)], found[len(others) :])


def _verdicts(judged: JudgedCases) -> Flags:
    """Return what a verdict says (3, cases): everybody served, may run, has an answer."""
    return np.array([judged.well, judged.may_run, judged.solved])


def sensitivity(
    model: Model, choice: Choice, machine: str, ways: OtherWays | None = None, column: int = 0
) -> Sensitivity:
    """Return what the air of a machine in a choice is worth under each assumption, method and curve (loaded filter).

    ways: where the choice was solved by the other ways already, as case number `column`.
    """
    banded = [a for a in model.assumptions if a.banded]
    ends = [Variant(model, leaning(a.key, end)) for a in banded for end in ("low", "high")]
    heavy = next((m for m in choice.machines if any(word in key_of(m) for word in CHIP_HEAVY)), None)
    chips = [] if heavy is None else [Variant(_with_chips(model))]
    moved = judged_variants([*ends, *chips], [choice], audited=True)
    got = (_air(judged, machine, 0) for judged in moved)
    worth = {a.key: (next(got), next(got)) for a in banded}
    others = other_ways(model, [choice]) if ways is None else ways
    return Sensitivity(
        tuple(WorthAnswer(a, *worth.get(a.key, (None, None))) for a in model.assumptions),
        tuple(MethodAnswer(name, _air(judged, machine, column)) for name, judged in others.methods),
        tuple(MethodAnswer(name, _air(judged, machine, column)) for name, judged in others.curves),
        None if heavy is None else MethodAnswer(heavy, _air(moved[-1], heavy, 0)),
    )


def _with_chips(model: Model) -> Model:
    """Return the model with a planer's full cut in the air."""
    loading = fact("chips", "loading, planer at full cut").value
    return build_model(model.shop, model.junction, loading=loading, hanging=model.hanging)


def _air(judged: JudgedCases, machine: str, column: int) -> float | None:
    """Return a machine's air [m3/s] in a case; None without an answer."""
    place = [key_of(name) for name in judged.model.machines].index(key_of(machine))
    return float(judged.machine_flow_m3_s[place, column]) if judged.solved[column] else None
