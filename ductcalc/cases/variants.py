"""Many changed shops at once: those whose ducts hang together alike are solved as cases of one call."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit import Asked, PieceTable, audit
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import JudgedCases, status_of
from ductcalc.cases.solving import (
    asked_for,
    collector_of,
    end_flow,
    judged_cases,
    last_flows,
    named_and_running,
    wanted_by_port,
)
from ductcalc.model.collector import CurveEnd, FilterState
from ductcalc.model.decided import Pick, middle
from ductcalc.model.model import Model
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import side_by_side
from ductcalc.solve.operating import operating_point
from ductcalc.solve.supply import Supply

NUMBERS_AT_ONCE = 100_000
"""Sections times choices of variants that are solved in one call, so that memory stays bounded."""


@dataclass(frozen=True)
class Variant:
    """A shop with its numbers decided, at other ends of these (`pick`) or of an advertised curve.

    speed: of the blower, as a share of the one at which its curve holds.
    """

    model: Model
    pick: Pick = middle
    end: CurveEnd = "low"
    speed: float = 1.0


class Found(NamedTuple):
    """What was found of a variant in every choice: what is open, flows and pressures, the supply that it stands on.

    asked: what the audit is to know of the choices, at the low end of an advertised curve.
    """

    variant: Variant
    asked: Asked
    state: OpenState
    solved: Solved
    supply: Supply


def outcomes(
    models: Sequence[Model],
    choices: Sequence[Choice],
    filter_state: FilterState = "loaded",
    audited: bool = False,
) -> tuple[JudgedCases, ...]:
    """Return what each model comes to in every choice; models may differ in anything.

    audited: every answer is checked by the other route, and one that fails does not count as solved.

    Raises InputError when one has no collector or a choice names a machine that it does not have.
    """
    return judged_variants([Variant(model) for model in models], choices, filter_state, audited)


def judged_variants(
    variants: Sequence[Variant], choices: Sequence[Choice], filter_state: FilterState = "loaded", audited: bool = False
) -> tuple[JudgedCases, ...]:
    """Return what each variant comes to in every choice, as `outcomes` does."""
    judged: dict[int, JudgedCases] = {}
    for number, found in found_variants(variants, choices, filter_state):
        judged[number] = _judged(found, choices, audited)
    return tuple(judged[number] for number in range(len(variants)))


def found_variants(
    variants: Sequence[Variant], choices: Sequence[Choice], filter_state: FilterState = "loaded"
) -> Iterator[tuple[int, Found]]:
    """Yield each variant's number with what was found of it; those that hang together alike come one after another."""
    alike: dict[tuple[object, ...], list[int]] = {}
    for number, variant in enumerate(variants):
        alike.setdefault(_topology(variant.model), []).append(number)
    for numbers in alike.values():
        for block in _blocks(numbers, len(variants[numbers[0]].model.sections) * len(choices)):
            yield from zip(block, _solved([variants[n] for n in block], choices, filter_state), strict=True)


def _topology(model: Model) -> tuple[object, ...]:
    """Return what must agree between models that are solved in one call."""
    opening = model.opening
    return (
        model.junction,
        model.friction,
        model.air.density_kg_m3,
        model.shop.settings.machines,
        tuple((wye.streams, wye.outlet) for wye in model.tree.wyes),
        tuple((port.machine, port.section, port.off) for port in model.ports),
        opening.gated.tobytes(),
    )


def _blocks(numbers: Sequence[int], size_of_one: int) -> Iterator[Sequence[int]]:
    step = max(1, NUMBERS_AT_ONCE // max(1, size_of_one))
    return (numbers[first : first + step] for first in range(0, len(numbers), step))


def _solved(
    variants: Sequence[Variant], choices: Sequence[Choice], filter_state: FilterState
) -> Iterator[Found]:
    first, count = variants[0].model, len(choices)
    state = first.opening.state(*named_and_running(first, choices))
    parts = [numbers_of(variant.model, state, variant.pick) for variant in variants]
    joined = side_by_side(parts, [count] * len(variants), [variant.model.tree.geometry for variant in variants])
    supplies, which = _supplies(variants, filter_state)
    asked = asked_for(first, choices, (filter_state,))
    solved = operating_point(first.tree, joined, first.junction, supplies, np.repeat(which, count))
    for number, variant in enumerate(variants):
        part = solved.part(slice(number * count, (number + 1) * count))
        yield Found(variant, asked, state, part, supplies[which[number]])


def _judged(found: Found, choices: Sequence[Choice], audited: bool) -> JudgedCases:
    variant, model, state, solved = found.variant, found.variant.model, found.state, found.solved
    asked = replace(found.asked, end=variant.end)
    index, passed = np.zeros(len(choices), dtype=np.intp), solved.converged
    if audited:
        passed = passed & audit(PieceTable.of(model, variant.pick), asked, state, solved).passed
    status = status_of(solved.converged, passed, end_flow(model, solved), last_flows([found.supply], index))
    return judged_cases(model, (asked.open, asked.running), wanted_by_port(model, choices), state, solved, status)


def _supplies(variants: Sequence[Variant], filter_state: FilterState) -> tuple[list[Supply], NDArray[np.intp]]:
    """Return the supplies that differ, and which of them is each variant's."""
    different: dict[tuple[object, ...], int] = {}
    supplies: list[Supply] = []
    which = []
    for variant in variants:
        supply = collector_of(variant.model).supply(filter_state, variant.pick, variant.end, variant.speed)
        curve = supply.curve
        key = (curve.breaks.tobytes(), curve.coefficients.tobytes(), supply.terms, supply.outlet)
        if key not in different:
            different[key] = len(supplies)
            supplies.append(supply)
        which.append(different[key])
    return supplies, np.array(which, dtype=np.intp)
