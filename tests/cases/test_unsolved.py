"""Why a case has no answer, in words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ductcalc.cases.case import read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.scenes import NO_PARTS, end, gate, pipe, points, port, run, shop, two_machines, wye


def batch_of(made: Shop) -> Batch:
    return solve_choices(build_model(made), [Choice("both", ("band saw", "planer"))])


def unsettled(batch: Batch) -> Batch:
    return replace(batch, solved=replace(batch.solved, converged=np.zeros_like(batch.solved.converged)))


def refused(batch: Batch) -> Batch:
    return replace(batch, audit=replace(batch.audit, mass=batch.audit.mass + 1e-4))


def test_a_solved_case_says_no_reason() -> None:
    assert [case.why for case in read_cases(batch_of(two_machines()))] == [None, None]


def test_a_flow_that_the_check_refuses_is_not_told() -> None:
    for case in read_cases(refused(batch_of(two_machines()))):
        assert case.check_failed and case.why is not None and "independent check" in case.why
        assert case.status == "not converged"
        assert (case.collector, case.machines, case.sections, case.audit) == (None, (), (), None)


def test_without_a_known_reason_it_says_that_the_calculation_did_not_settle() -> None:
    case = read_cases(unsettled(batch_of(two_machines())))[0]
    assert case.why is not None and "did not settle" in case.why
    assert not case.check_failed


def test_a_wye_far_narrower_than_what_comes_in_is_named() -> None:
    made = shop(
        run("main", port("band saw", "4 in", k=2), gate(), wye("drop", "4 in"), pipe("3 ft"), end()),
        run("drop", port("planer", "20 in", k=2), gate()),
    )
    case = read_cases(unsettled(batch_of(made)))[0]
    assert case.why is not None
    assert "wye in main" in case.why and "5 times" in case.why


def test_points_at_almost_one_flow_are_named() -> None:
    curve = points(("0 cfm", "12 inwg"), ("999.9999 cfm", "9 inwg"), ("1000 cfm", "0 inwg"))
    case = read_cases(unsettled(batch_of(two_machines(table=[*curve, *NO_PARTS]))))[0]
    assert case.why is not None and "almost the same flow" in case.why
