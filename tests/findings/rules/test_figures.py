"""Figures that hold in other air, or are too near to call."""

from __future__ import annotations

import pytest

from ductcalc.answers.check import check
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, names, seen, words


def at(altitude: str | None, **settings: object) -> Shop:
    air = {} if altitude is None else {"air": {"altitude": altitude}}
    return s.shop(s.run("a", s.port("saw", "5 in", "540 cfm"), s.pipe("9 ft"), s.end()), **air, **settings)


@pytest.mark.parametrize(
    ("altitude", "count"), [(None, 0), ("900 ft", 0), ("1500 ft", 0), ("2500 ft", 1), ("3000 m", 1)]
)
def test_thin_air_is_told_from_two_thousand_feet_on(altitude: str | None, count: int) -> None:
    assert len(seen(at(altitude), "thin air")) == count


def test_thin_air_says_how_far_pressures_and_a_pitot_tube_are_off() -> None:
    (found,) = seen(at("5000 ft"), "thin air")
    assert "17 %" in figures(found.what) and "8.9 %" in figures(found.cure)


def test_curve_that_was_given_for_the_thin_air_is_no_finding() -> None:
    assert names(at("5000 ft", collector={"density": "0.0624 lb/ft3"}), "thin air") == []


def machine(wish: str, *more: s.Rows, **settings: object) -> Shop:
    rows = [s.port("saw", "5 in", wish, k=1.5), s.gate(), s.pipe("9 ft")]
    wyes = [s.wye(str(run[0]["run"]), "5 in") for run in more]
    return s.shop(s.run("a", *rows, *wyes, s.pipe("6 ft"), s.end()), *more, **settings)


def got_cfm(shop: Shop, case: int = 0) -> float:
    machine = check(shop).loaded[case].machine(("saw", "lathe")[case])
    return machine.flow_m3_s / s.CFM


@pytest.mark.parametrize(("times", "count"), [(1.04, 1), (0.96, 1), (1.07, 0), (0.93, 0)])
def test_verdict_within_five_per_cent_is_a_close_call(times: float, count: int) -> None:
    got = got_cfm(machine("500 cfm"))
    assert len(seen(machine(f"{got / times:.3f} cfm"), "close call")) == count


def test_several_close_calls_are_one_finding_at_the_nearest() -> None:
    def lathe(wish: str) -> s.Rows:
        return s.run("b", s.port("lathe", "5 in", wish, k=1.5), s.gate(), s.pipe("9 ft"))

    saw, other = (got_cfm(machine("500 cfm", lathe("500 cfm")), case) for case in (0, 1))
    (found,) = seen(machine(f"{saw / 1.04:.3f} cfm", lathe(f"{other / 1.01:.3f} cfm")), "close call")
    assert found.name == "lathe"
    assert "1 more" in words(found.what)


def two_ports(first: str, second: str) -> Shop:
    return s.shop(
        s.run("a", s.port("saw", "4 in", first, k=1.5), s.wye("b", "5 in"), s.gate(), s.pipe("6 ft"), s.end()),
        s.run("b", s.port("saw", "4 in", second, k=1.5)),
    )


def test_close_call_of_a_machine_with_two_ports_is_at_its_poorest_port() -> None:
    ports = check(two_ports("200 cfm", "200 cfm")).loaded[0].machines[0].ports
    first, second = (port.flow_m3_s / s.CFM for port in ports)
    (found,) = seen(two_ports(f"{first / 1.2:.3f} cfm", f"{second / 1.02:.3f} cfm"), "close call")
    assert "port b " in words(found.what)
    assert seen(two_ports(f"{first / 1.02:.3f} cfm", f"{second / 0.8:.3f} cfm"), "close call") == []
