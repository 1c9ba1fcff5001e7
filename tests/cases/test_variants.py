"""Variants solved together come to what each comes to on its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ductcalc
from ductcalc.cases.bands import unknowns_of
from ductcalc.cases.choices import every_machine_alone, named_sets
from ductcalc.cases.solving import solve_choices
from ductcalc.cases.variants import judged_variants, outcomes
from ductcalc.model.model import Model, build_model
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop

EXAMPLES = ("examples/creamery", "examples/joinery-class")


def each_piece(shop: Shop, change: object) -> Shop:
    return replace(shop, runs=tuple(replace(r, pieces=tuple(change(p) for p in r.pieces)) for r in shop.runs))  # type: ignore[operator]


def wider(piece: Piece) -> Piece:
    return replace(piece, size_m=piece.size_m * 1.1) if piece.size_m and piece.kind in ("pipe", "elbow") else piece


def shorter(piece: Piece) -> Piece:
    return replace(piece, length_m=0.5 * piece.length_m) if piece.kind == "flex" and piece.length_m else piece


def steeper(piece: Piece) -> Piece:
    return replace(piece, angles_deg=(90.0,) * len(piece.joins)) if piece.kind == "wye" and piece.joins else piece


def variants(name: str) -> list[Model]:
    shop = ductcalc.read_shop(name)
    collector = shop.collectors[0]
    slow = replace(
        collector, blower=tuple(replace(point, pressure_pa=0.8 * point.pressure_pa) for point in collector.blower)
    )
    shops = [
        shop,
        each_piece(shop, wider),
        each_piece(shop, shorter),
        each_piece(shop, steeper),
        replace(shop, collectors=(slow,)),
    ]
    return [build_model(one) for one in shops]


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_agrees_with_the_audited_answer(name: str) -> None:
    models = variants(name)
    choices = [*every_machine_alone(models[0]), *named_sets(models[0])]
    found = outcomes(models, choices)
    assert len(found) == len(models)
    for model, outcome in zip(models, found, strict=True):
        alone = solve_choices(model, choices, ("loaded",))
        assert outcome.model is model
        good = alone.solved.converged & alone.audit.passed
        mine, theirs = outcome.section_flow_m3_s[:, good], alone.solved.flow[:, good]
        np.testing.assert_allclose(mine, theirs, rtol=1e-9, atol=1e-12)
        total = alone.collector_flow
        assert np.array_equal(outcome.solved, good & (total <= alone.supplies[0].last_flow_m3_s))


@pytest.mark.parametrize("name", EXAMPLES)
def test_words_agree_with_those_of_a_check(name: str) -> None:
    shop = ductcalc.read_shop(name)
    model = build_model(shop)
    choices = [*every_machine_alone(model), *named_sets(model)]
    outcome = outcomes([model], choices)[0]
    cases = ductcalc.check(shop).loaded
    assert [case.name for case in cases] == [choice.name for choice in choices]
    for column, case in enumerate(cases):
        running = [case.machine(name) for name in case.running]
        assert bool(outcome.served[column]) == (case.solved and all(machine.served for machine in running))
        assert outcome.settling[column] == len(case.settling)
        assert outcome.word(column) == case.word
        for machine in running:
            row = model.machines.index(machine.machine)
            assert outcome.machine_flow_m3_s[row, column] == pytest.approx(machine.flow_m3_s, rel=1e-9)


@pytest.mark.parametrize("friction", ["colebrook", "handbook"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_variants_of_one_model_come_to_the_same_together_and_alone(name: str, friction: str) -> None:
    unknowns = unknowns_of(replace(build_model(ductcalc.read_shop(name)), friction=friction))  # type: ignore[arg-type]
    some = [unknowns.variant(off) for off in [unknowns.none, *unknowns.sample(5)]]
    choices = every_machine_alone(unknowns.model)
    flows = []
    for variant, together in zip(some, judged_variants(some, choices), strict=True):
        (alone,) = judged_variants([variant], choices)
        np.testing.assert_allclose(together.section_flow_m3_s, alone.section_flow_m3_s, rtol=1e-12, atol=1e-15)
        assert np.array_equal(together.status, alone.status)
        flows.append(alone.section_flow_m3_s)
    assert len(flows) == 6
    assert not np.allclose(flows[0], flows[1], rtol=1e-6)


def test_models_that_hang_together_otherwise_are_solved_beside_the_rest() -> None:
    models = variants("examples/creamery")
    shop = models[0].shop
    capped = replace(
        shop, runs=tuple(r for r in each_piece(shop, lambda p: without(p, "fret drop")).runs if r.name != "fret drop")
    )
    fewer = build_model(capped)
    assert len(fewer.sections) < len(models[0].sections)
    choices = every_machine_alone(fewer)
    found = outcomes([models[1], fewer, models[0]], choices)
    assert [outcome.model for outcome in found] == [models[1], fewer, models[0]]
    for outcome in found:
        alone = solve_choices(outcome.model, choices, ("loaded",))
        np.testing.assert_allclose(outcome.section_flow_m3_s, alone.solved.flow, rtol=1e-9, atol=1e-12)


def without(piece: Piece, run: str) -> Piece:
    """Close a wye where a run came in."""
    return replace(piece, joins=tuple("cap" if name == run else name for name in piece.joins))
