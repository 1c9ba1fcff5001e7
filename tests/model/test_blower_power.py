"""The blower's power: between the points that state it, in the shop's air."""

from __future__ import annotations

import pytest
from scipy.interpolate import PchipInterpolator

from ductcalc.model.collector import ModelCollector
from ductcalc.model.model import build_model
from tests.scenes import BARE, CFM, Row, end, gate, pipe, port, run, shop


def collector(*powers: str | None, density: str = "1.2014 kg/m3") -> ModelCollector:
    points: list[Row] = [
        {"item": "blower", "flow": f"{500 * n} cfm", "pressure": f"{9 - 2 * n} inwg", "power": power}
        for n, power in enumerate(powers)
    ]
    made = shop(
        run("a", port("lathe", "4 in"), gate(), pipe("9 ft"), end()),
        table=[*points, *BARE[-3:]],
        air={"density": density},
    )
    found = build_model(made).collector
    assert found is not None
    return found


@pytest.mark.parametrize(("flow", "watts"), [(0.0, 600.0), (500.0, 900.0), (1000.0, 1400.0)])
def test_it_goes_through_the_points(flow: float, watts: float) -> None:
    assert collector("600 W", "900 W", "1400 W").power_w(flow * CFM) == pytest.approx(watts, rel=1e-4)


@pytest.mark.parametrize("flow", [100.0, 250.0, 640.0, 990.0])
def test_between_them_it_is_a_general_library_s_monotone_cubic(flow: float) -> None:
    expected = float(PchipInterpolator([0.0, 500.0, 1000.0], [600.0, 900.0, 1400.0])(flow))
    assert collector("600 W", "900 W", "1400 W").power_w(flow * CFM) == pytest.approx(expected, rel=1e-4)


def test_it_falls_with_density_as_the_fan_laws_say() -> None:
    thin = collector("600 W", "900 W", "1400 W", density="0.96112 kg/m3")
    assert thin.power_w(500 * CFM) == pytest.approx(0.8 * 900.0, rel=1e-4)


def test_it_is_unknown_outside_of_the_points_that_state_it() -> None:
    some = collector(None, "900 W", "1400 W")
    assert some.power_w(499 * CFM) is None and some.power_w(1001 * CFM) is None
    assert some.power_w(750 * CFM) is not None


@pytest.mark.parametrize("powers", [(None, None, None), (None, "900 W", None)])
def test_fewer_than_two_points_tell_nothing(powers: tuple[str | None, ...]) -> None:
    assert collector(*powers).power_w(500 * CFM) is None
