"""Served and settling as arrays say what the verdict's words say."""

from __future__ import annotations

import math

import numpy as np
import pytest

from ductcalc.cases.judging import Judge
from ductcalc.model.model import build_model
from tests.scenes import end, pipe, port, run, tight

NEEDED_M_S = 20.0
AREA_M2 = math.pi / 4 * 0.1016**2
STANDARD_FOR_CHIPS = {"air": {"density": "1.2 kg/m3"}}


def judged(rise: str | None, share: float) -> tuple[float, bool]:
    """Speed over the one below which dry chips settle, and whether they do, at a share of the speed that they need."""
    made = tight(run("trunk", port("saw", "4 in", k=2), pipe("9 ft", rise=rise), end()), **STANDARD_FOR_CHIPS)
    judge = Judge(build_model(made))
    flow, rank = np.array([[share * NEEDED_M_S * AREA_M2]]), np.array([[1]])
    return float(judge.speed_share(flow, rank)[0, 0]), bool(judge.settles(flow, rank)[0, 0])


@pytest.mark.parametrize(
    ("rise", "share", "of_least", "settles"),
    [
        (None, 0.95, 0.95 * 3937 / 3500, False),
        (None, 0.88, 0.88 * 3937 / 3500, True),
        ("9 ft", 0.95, 0.95, True),
        ("9 ft", 1.01, 1.01, False),
    ],
)
def test_chips_settle_below_3500_fpm_on_the_flat_and_below_3937_on_a_rise(
    rise: str | None, share: float, of_least: float, settles: bool
) -> None:
    found, word = judged(rise, share)
    assert found == pytest.approx(of_least, rel=1e-4)
    assert word is settles


def test_nothing_settles_where_no_chips_pass() -> None:
    made = tight(run("trunk", port("saw", "4 in", k=2), pipe("9 ft"), end()))
    judge = Judge(build_model(made))
    still, none = np.array([[0.0]]), np.array([[0]])
    assert not judge.settles(still, none).any()
    assert np.isinf(judge.speed_share(still, none)).all()
