"""What a practitioner would sign, on sensible shops as written and with every size spoilt; 200 in a long run."""

from __future__ import annotations

import os
from functools import cache

import pytest

from ductcalc.answers.size.sizing import Sizing, size
from ductcalc.cases.case import Case
from ductcalc.cases.judged import AIR, CHIPS
from ductcalc.catalog import is_adapter
from ductcalc.findings.weighing import findings_of
from ductcalc.model.model import Model, build_model
from ductcalc.report.display import Display
from ductcalc.report.size.words import EXPLAINED, explanations
from ductcalc.shop.names import key_of
from tests.answers.size.shops import sensible

LONG = bool(os.environ.get("DUCTCALC_LONG"))
SEEDS = range(200 if LONG else 6)
SHOPS = [(seed, spoilt) for seed in SEEDS for spoilt in (False, True)]


@cache
def sized(seed: int, spoilt: bool) -> Sizing:
    return size(sensible(seed, spoilt=spoilt))


@cache
def hung(seed: int, spoilt: bool) -> Model:
    return build_model(sized(seed, spoilt).sized)


def poorest_share(case: Case) -> float:
    """Return what the poorest running port of a case gets of what it wants, all of it at most."""
    ports = (port for machine in case.machines if machine.runs for port in machine.ports)
    return min(1.0, *(port.flow_m3_s / port.wanted_m3_s for port in ports))


@pytest.mark.parametrize(("seed", "spoilt"), SHOPS)
class TestRules:
    def test_no_set_is_worse_than_written(self, seed: int, spoilt: bool) -> None:
        answer = sized(seed, spoilt)
        for now, then in zip(answer.now, answer.then, strict=True):
            assert then.may_run or not now.may_run
            if now.solved and (now.may_run or not then.may_run):
                assert then.air is not None and AIR.index(then.air) <= AIR.index(now.air or "short")
                assert then.chips is not None and CHIPS.index(then.chips) <= CHIPS.index(now.chips or "settles")

    def test_a_set_that_may_not_run_keeps_nine_tenths_of_its_air_unless_another_gains(
        self, seed: int, spoilt: bool
    ) -> None:
        answer = sized(seed, spoilt)
        pairs = list(zip(answer.now, answer.then, strict=True))
        if not any(then.may_run and not now.may_run for now, then in pairs):
            for now, then in pairs:
                if now.solved and then.solved and not then.may_run:
                    assert poorest_share(then) >= 0.9 * poorest_share(now) - 1e-6

    def test_nothing_is_narrower_than_what_flows_into_it(self, seed: int, spoilt: bool) -> None:
        model = hung(seed, spoilt)
        for wye in model.hanging.wyes:
            for stream in wye.streams:
                assert model.hanging.sections[stream.section].end_bore_m <= wye.hung.bore_m + 1e-9

    def test_no_drop_is_under_its_port_and_hose_gate_and_pipe_have_one_size(self, seed: int, spoilt: bool) -> None:
        model = hung(seed, spoilt)
        for port in model.hanging.ports:
            pieces = model.hanging.sections[port.section].pieces
            (bore,) = {one.bore_m for one in pieces if not one.piece.traits.keeps_bore}
            assert bore >= port.hung.bore_m or is_adapter(bore, port.hung.bore_m)

    def test_a_gain_is_told_as_one(self, seed: int, spoilt: bool) -> None:
        answer = sized(seed, spoilt)
        may_now, may_then = (sum(case.may_run for case in cases) for cases in (answer.now, answer.then))
        assert may_then >= may_now
        if answer.why_not:
            assert not any(stretch.changes for stretch in answer.stretches)
            assert answer.cost_then == answer.cost_now

    def test_what_warnings_call_wide_or_thin_is_explained(self, seed: int, spoilt: bool) -> None:
        answer = sized(seed, spoilt)
        seen = [found for found in answer.findings.all if found.rule in EXPLAINED]
        idle = bool(answer.idle_reducers)  # one more line says which to leave out
        assert len(list(explanations(answer, Display(answer.units)))) == len(seen) + idle


@pytest.mark.parametrize("seed", range(100, 103))
def test_the_sized_shop_checked_anew_stands_as_told(seed: int) -> None:
    answer = sized(seed, True)
    seen = findings_of(answer.sized)
    assert [found.rule for found in seen.all] == [found.rule for found in answer.findings.all]
    again = size(answer.sized)
    assert [case.word for case in again.now] == [case.word for case in answer.then]
    names = [key_of(stretch.stretch) for stretch in again.stretches]
    assert names == [key_of(stretch.stretch) for stretch in answer.stretches]
