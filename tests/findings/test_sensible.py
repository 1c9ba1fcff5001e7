"""Forty clean shops, drawn and typed by hand, inch and metric: next to nothing is told of them unasked."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import ductcalc
from ductcalc.answers.check import Check, check
from ductcalc.cases.choices import usable_machines
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.findings.sensible import sensible_shop

TYPED = sorted((Path(__file__).parent / "typed").iterdir())
SEEDS = range(40 - len(TYPED))
MOST_WARNINGS = 4


@cache
def shops() -> dict[str, Shop]:
    drawn = {f"seed {seed}": sensible_shop(seed) for seed in SEEDS}
    return {**drawn, **{folder.name: ductcalc.read_shop(folder) for folder in TYPED}}


@cache
def answers() -> dict[str, Check]:
    return {name: check(shop) for name, shop in shops().items()}


def test_forty_clean_shops_give_four_warnings_at_most() -> None:
    told = [(name, one.rule) for name, answer in answers().items() for one in answer.findings.all]
    assert len(answers()) == 40
    assert len(told) <= MOST_WARNINGS, told


def test_they_are_of_many_kinds() -> None:
    machines = {len(usable_machines(build_model(shop))) for shop in shops().values()}
    assert machines >= set(range(1, 10))
    assert {shop.system for shop in shops().values()} == {"inch", "metric"}
    assert {shop.settings.room.exhaust for shop in shops().values()} == {"indoors", "outdoors", None}
    assert sum(any(case.chips == "settles" for case in answer.loaded) for answer in answers().values()) > 5


def test_they_serve_what_is_asked_of_them() -> None:
    short = [(name, case.name) for name, answer in answers().items() for case in answer.loaded if case.air != "ok"]
    assert short == []


def test_whatever_settles_alone_may_run_in_a_set_that_was_named_for_it() -> None:
    for name, answer in answers().items():
        helped = {key for case in answer.loaded if not case.single and case.may_run for key in case.running_keys}
        alone = {key for case in answer.loaded if case.single and not case.may_run for key in case.running_keys}
        assert alone <= helped, name
