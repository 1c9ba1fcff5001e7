"""Where a tube is held behind a machine."""

from __future__ import annotations

import numpy as np
import pytest

from ductcalc.cases.taps import Taps, TapTable
from ductcalc.model.decided import middle
from ductcalc.model.model import build_model
from tests.scenes import elbow, end, gate, pipe, port, run, shop


@pytest.mark.parametrize(("length", "left"), [("4 m", 0.925), ("400 mm", 0.5)])
def test_behind_a_machine_the_tap_is_three_bores_down_its_pipe_or_in_its_middle(length: str, left: float) -> None:
    made = shop(run("a", port("saw", "100 mm"), pipe(length), gate(), end("100 mm")))
    tap = Taps(build_model(made)).port("a")
    assert tap is not None and tap.part is not None and tap.part.kind == "pipe"
    assert tap.share == pytest.approx(left)


def test_what_leaks_through_a_shut_gate_ahead_of_a_tap_loses_with_its_square() -> None:
    model = build_model(shop(run("a", port("saw", "100 mm"), pipe("4 m"), gate(), end("100 mm"))))
    tap = Taps(model).port("a")
    assert tap is not None
    flow = np.array([[0.001, 0.003]])
    is_open, shut = (TapTable(model, (tap,))._lost(middle, flow, np.full((1, 2), one)) for one in (False, True))
    added = (shut - is_open)[0]
    assert added[0] > 0.0 and added[1] == pytest.approx(9.0 * added[0])


def test_behind_a_gate_the_air_has_yet_to_pass_every_piece_that_follows_it() -> None:
    made = shop(run("a", port("saw", "100 mm"), pipe("1 m"), gate(), pipe("2 m"), elbow(), end("100 mm")))
    tap = Taps(build_model(made)).gate("a")
    assert tap is not None
    assert [(loss.kind, loss.length_m) for loss in tap.behind] == [("pipe", 2.0), ("elbow", 0.0)]
