"""Numbers are shown in one system, with no more digits than they deserve."""

from __future__ import annotations

import pytest

from ductcalc.report.display import Display

CFM = 0.3048**3 / 60.0


def _said(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("system", "flow", "speed", "pressure", "fine", "size"),
    [
        ("inch", "400 cfm", "3940 fpm", "3.6 in of water", "3.61 in of water", "6 in"),
        ("metric", "680 m3/h", "20.0 m/s", "900 Pa", "900 Pa", "152.4 mm"),
    ],
)
def test_one_value_in_both_systems(system: str, flow: str, speed: str, pressure: str, fine: str, size: str) -> None:
    show = Display(system)  # type: ignore[arg-type]
    assert _said(show.flow(400 * CFM)) == flow
    assert _said(show.speed(20.0)) == speed
    assert _said(show.pressure(900.0)) == pressure
    assert _said(show.pressure(900.0, fine=True)) == fine
    assert _said(show.size(0.1524)) == size


def test_shortfall_that_rounding_would_hide_is_shown() -> None:
    show = Display("inch")
    assert show.got_number(399.8 * CFM, 400.0 * CFM, enough=False) == "<400"
    assert show.got_number(400.2 * CFM, 400.0 * CFM, enough=True) == "400"
    assert show.got_number(400.2 * CFM, 400.0 * CFM, enough=False) == "400"


def test_nothing_is_never_negative() -> None:
    assert Display("metric").pressure_number(-0.3, fine=True) == "0"


@pytest.mark.parametrize(
    ("length_m", "said"), [(3.81, "12 ft 6 in"), (0.1524, "6 in"), (2.4384, "8 ft"), (-1.2192, "-4 ft"), (0.0, "0 in")]
)
def test_lengths_read_as_they_are_written(length_m: float, said: str) -> None:
    assert _said(Display("inch").written_length(length_m)) == said


def test_metric_lengths_to_the_centimetre() -> None:
    assert _said(Display("metric").written_length(3.8)) == "3.8 m"
