"""What a machine's air is worth under other assumptions, methods and curves: all of them in one batch per method."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit import PieceTable, audit
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import collector_of, named_and_running, port_flows
from ductcalc.catalog import fact
from ductcalc.model.assumption import Assumption
from ductcalc.model.collector import CurveEnd
from ductcalc.model.decided import Pick, leaning, middle
from ductcalc.model.model import Model, build_model
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import side_by_side
from ductcalc.solve.operating import operating_point
from ductcalc.solve.supply import Supply

JUNCTIONS: tuple[Junction, ...] = ("momentum", "handbook", "factored")
CURVE_ENDS: tuple[CurveEnd, ...] = ("low", "middle", "high")
CHIP_HEAVY = ("planer", "thicknesser", "surfacer")


@dataclass(frozen=True)
class WorthAnswer:
    """An assumption and the air [m3/s] of the machine in question at its two ends (None: no band or no answer)."""

    assumption: Assumption
    low_m3_s: float | None
    high_m3_s: float | None


@dataclass(frozen=True)
class MethodAnswer:
    """What another method gives: air [m3/s] of the machine in question (None when it has no answer)."""

    method: str
    flow_m3_s: float | None


@dataclass(frozen=True)
class Sensitivity:
    """What a machine's air depends on. chips: a chip-heavy machine with a planer's full cut in the ducts."""

    assumptions: tuple[WorthAnswer, ...]
    methods: tuple[MethodAnswer, ...]
    by_curve: tuple[MethodAnswer, ...]
    chips: MethodAnswer | None


@dataclass(frozen=True)
class _Variant:
    """The same case with another model, other ends of decided numbers, or another curve; whose air is asked."""

    model: Model
    machine: str
    pick: Pick = middle
    end: CurveEnd = "low"


def sensitivity(model: Model, choice: Choice, machine: str) -> Sensitivity:
    """Return what the air of a machine in a choice is worth under each assumption, method and curve (loaded filter)."""
    banded = [a for a in model.assumptions if a.banded]
    ends = [_Variant(model, machine, leaning(a.key, end)) for a in banded for end in ("low", "high")]
    others = [j for j in JUNCTIONS if j != model.junction]
    alike = [build_model(model.shop, j, loading=model.loading, hanging=model.hanging) for j in others]
    methods = [_Variant(other, machine) for other in alike]
    provisional = collector_of(model).provisional
    curves = [_Variant(model, machine, end=end) for end in CURVE_ENDS] if provisional else []
    chips = _with_chips(model, choice)
    flows = _flows(choice, [*ends, *methods, *curves, *chips])
    got = iter(flows)
    worth = {a.key: (next(got), next(got)) for a in banded}
    return Sensitivity(
        tuple(WorthAnswer(a, *worth.get(a.key, (None, None))) for a in model.assumptions),
        tuple(MethodAnswer(j, next(got)) for j in others),
        tuple(MethodAnswer(variant.end, next(got)) for variant in curves),
        MethodAnswer(chips[0].machine, next(got)) if chips else None,
    )


def _with_chips(model: Model, choice: Choice) -> list[_Variant]:
    """Return the first chip-heavy machine's case with chips in the air, if there is such a machine."""
    heavy = [m for m in choice.machines if any(word in key_of(m) for word in CHIP_HEAVY)]
    if not heavy:
        return []
    loading = fact("chips", "loading, planer at full cut").value
    return [_Variant(build_model(model.shop, model.junction, loading=loading, hanging=model.hanging), heavy[0])]


def _flows(choice: Choice, variants: Sequence[_Variant]) -> list[float | None]:
    """Solve all variants, those of one junction method in one batch; None where there is no answer."""
    found: list[float | None] = [None] * len(variants)
    for junction in JUNCTIONS:
        mine = [n for n, variant in enumerate(variants) if variant.model.junction == junction]
        if mine:
            for number, flow in zip(mine, _one_method(choice, [variants[n] for n in mine]), strict=True):
                found[number] = flow
    return found


def _one_method(choice: Choice, variants: Sequence[_Variant]) -> list[float | None]:
    model = variants[0].model
    state = model.opening.state(*named_and_running(model, [choice]))
    numbers = side_by_side([numbers_of(v.model, state, v.pick) for v in variants], [1] * len(variants))
    supplies, index = _supplies(variants)
    solved = operating_point(model.tree, numbers, model.junction, supplies, index)
    wide = state.columns(np.zeros(len(variants), dtype=np.intp))
    ports = port_flows(model, wide, solved.flow)
    return [
        float(sum(ports[p, n] for p in model.ports_of[key_of(variant.machine)]))
        if _holds(variant, state, solved, n, supplies[index[n]])
        else None
        for n, variant in enumerate(variants)
    ]


def _supplies(variants: Sequence[_Variant]) -> tuple[list[Supply], NDArray[np.intp]]:
    """Return the supplies that differ, and which of them is each variant's."""
    different: dict[tuple[object, ...], int] = {}
    supplies: list[Supply] = []
    index: list[int] = []
    for variant in variants:
        supply = collector_of(variant.model).supply("loaded", variant.pick, variant.end)
        key = (variant.end, supply.terms, supply.outlet)
        if key not in different:
            different[key] = len(supplies)
            supplies.append(supply)
        index.append(different[key])
    return supplies, np.array(index, dtype=np.intp)


def _holds(variant: _Variant, state: OpenState, solved: Solved, column: int, supply: Supply) -> bool:
    """Whether a variant has an answer on its curve; audited wherever the model's own numbers were used."""
    root = variant.model.tree.root
    total = float(solved.flow[root, column] + solved.leak[root, column])
    if not solved.converged[column] or total > supply.last_flow_m3_s:
        return False
    if variant.pick is not middle:
        return True
    one = solved.part(slice(column, column + 1))
    checked = audit(variant.model, PieceTable.of(variant.model), state, one, [supply], np.zeros(1, dtype=np.intp))
    return bool(checked.passed[0])
