"""Where a tube is held behind a machine."""

from __future__ import annotations

import pytest

from ductcalc.cases.taps import Taps
from ductcalc.model.model import build_model
from tests.scenes import end, gate, pipe, port, run, shop


@pytest.mark.parametrize(("length", "left"), [("4 m", 0.925), ("400 mm", 0.5)])
def test_behind_a_machine_the_tap_is_three_bores_down_its_pipe_or_in_its_middle(length: str, left: float) -> None:
    made = shop(run("a", port("saw", "100 mm"), pipe(length), gate(), end("100 mm")))
    tap = Taps(build_model(made)).port("a")
    assert tap is not None and tap.part is not None and tap.part.kind == "pipe"
    assert tap.share == pytest.approx(left)
