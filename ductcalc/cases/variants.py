"""Many changed shops at once: those whose ducts hang together alike are solved as cases of one call."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Places
from ductcalc.audit import Asked, PieceTable, audit
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import JudgedCases, status_of
from ductcalc.cases.solving import (
    asked_for,
    collector_of,
    end_flow,
    judged_cases,
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
MOST_TOGETHER = 64
"""Variants of one model whose numbers are laid out together."""


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


class _Group(NamedTuple):
    """What was found of variants of one model: the cases of `solved` are all choices of the first, of the second..."""

    variants: Sequence[Variant]
    asked: Asked
    state: OpenState
    solved: Solved
    supplies: Sequence[Supply]

    @property
    def repeated(self) -> Places:
        """Return which choice each case is (cases,)."""
        return np.tile(np.arange(self.state.shut.shape[1]), len(self.variants))

    def each(self) -> Iterator[Found]:
        """Yield what was found of each variant."""
        count = self.state.shut.shape[1]
        for number, (variant, supply) in enumerate(zip(self.variants, self.supplies, strict=True)):
            part = self.solved.part(slice(number * count, (number + 1) * count))
            yield Found(variant, self.asked, self.state, part, supply)


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
    groups, count = _alone_together(variants), len(choices)
    judged = judged_groups([[variants[n] for n in group] for group in groups], choices, filter_state, audited)
    each = {n: (one, place) for group, one in zip(groups, judged, strict=True) for place, n in enumerate(group)}
    return tuple(
        one if one.count == count else one.take(slice(place * count, (place + 1) * count))
        for one, place in (each[n] for n in range(len(variants)))
    )


def judged_groups(
    groups: Sequence[Sequence[Variant]],
    choices: Sequence[Choice],
    filter_state: FilterState = "loaded",
    audited: bool = False,
) -> tuple[JudgedCases, ...]:
    """Return what groups of variants come to: every choice of a group's first, then every choice of its second...

    Those of one group are variants of one model.
    """
    judged = {n: _judged(found, choices, audited) for n, found in _solved_groups(groups, choices, filter_state)}
    return tuple(judged[number] for number in range(len(groups)))


def found_variants(
    variants: Sequence[Variant], choices: Sequence[Choice], filter_state: FilterState = "loaded"
) -> Iterator[tuple[int, Found]]:
    """Yield each variant's number with what was found of it; those that hang together alike come one after another."""
    numbers = _alone_together(variants)
    for group, found in _solved_groups([[variants[n] for n in some] for some in numbers], choices, filter_state):
        yield from zip(numbers[group], found.each(), strict=True)


def _alone_together(variants: Sequence[Variant]) -> list[list[int]]:
    """Return the numbers of variants that follow each other and are of one model, no more than are solved at once."""
    groups: list[list[int]] = []
    for number, variant in enumerate(variants):
        if not number or variant.model is not variants[number - 1].model or len(groups[-1]) == MOST_TOGETHER:
            groups.append([])
        groups[-1].append(number)
    return groups


def _solved_groups(
    groups: Sequence[Sequence[Variant]], choices: Sequence[Choice], filter_state: FilterState
) -> Iterator[tuple[int, _Group]]:
    """Yield each group's number with what was found of it; those that hang together alike are solved in one call."""
    alike: dict[tuple[object, ...], list[int]] = {}
    for number, group in enumerate(groups):
        alike.setdefault(_topology(group[0].model), []).append(number)
    for numbers in alike.values():
        size_of_one = len(groups[numbers[0]][0].model.sections) * len(choices)
        for block in _blocks(numbers, [size_of_one * len(groups[n]) for n in numbers]):
            yield from zip(block, _solved([groups[n] for n in block], choices, filter_state), strict=True)


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


def _blocks(numbers: Sequence[int], sizes: Sequence[int]) -> Iterator[list[int]]:
    """Yield numbers in blocks whose sizes stay within what is solved at once."""
    block: list[int] = []
    so_far = 0
    for number, size in zip(numbers, sizes, strict=True):
        if block and so_far + size > NUMBERS_AT_ONCE:
            yield block
            block, so_far = [], 0
        block.append(number)
        so_far += size
    yield block


def _solved(
    groups: Sequence[Sequence[Variant]], choices: Sequence[Choice], filter_state: FilterState
) -> Iterator[_Group]:
    first, widths = groups[0][0].model, [len(group) * len(choices) for group in groups]
    state = first.opening.state(*named_and_running(first, choices))
    parts = [numbers_of(group[0].model, state, *(variant.pick for variant in group)) for group in groups]
    joined = side_by_side(parts, widths, [group[0].model.tree.geometry for group in groups])
    supplies, which = _supplies([variant for group in groups for variant in group], filter_state)
    asked = asked_for(first, choices, (filter_state,))
    solved = operating_point(first.tree, joined, first.junction, supplies, np.repeat(which, len(choices)))
    variant, case = 0, 0
    for group, width in zip(groups, widths, strict=True):
        own = [supplies[n] for n in which[variant : variant + len(group)]]
        yield _Group(group, asked, state, solved.part(slice(case, case + width)), own)
        variant, case = variant + len(group), case + width


def _judged(found: _Group, choices: Sequence[Choice], audited: bool) -> JudgedCases:
    model, solved, wide = found.variants[0].model, found.solved, found.repeated
    passed = solved.converged
    if audited:
        passed = passed & np.concatenate([_passed(one) for one in found.each()])
    last = np.repeat([supply.last_flow_m3_s for supply in found.supplies], len(choices))
    status = status_of(solved.converged, passed, end_flow(model, solved), last)
    asked = found.asked.open[:, wide], found.asked.running[:, wide]
    return judged_cases(
        model, asked, wanted_by_port(model, choices)[:, wide], found.state.columns(wide), solved, status
    )


def _passed(found: Found) -> Flags:
    asked = replace(found.asked, end=found.variant.end)
    return audit(PieceTable.of(found.variant.model, found.variant.pick), asked, found.state, found.solved).passed


def _supplies(variants: Sequence[Variant], filter_state: FilterState) -> tuple[list[Supply], Places]:
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
