"""What is told unasked, with figures: split air, throttled cabinets, own blowers; and cures where no gate helps."""

from __future__ import annotations

import math

import pytest

import ductcalc
from ductcalc.answers.gates.gates import gates
from ductcalc.answers.gates.told import InletAnswer
from ductcalc.catalog import sizes_sold
from ductcalc.shop import Shop
from ductcalc.shop.change import air_bleed, changed, section_at_most
from ductcalc.shop.hanging import spelled_out
from tests.scenes import Row, elbow, end, gate, hose, pipe, port, run, shop, wye

FOUR_INCH_M2 = math.pi / 4.0 * 0.1016**2
SQUARE_INCH_M2 = 0.0254**2


def alone(**cells: object) -> Shop:
    return shop(run("main", port("cabinet saw", "4 in", **cells), gate(), pipe("9 ft"), end()))


def inlets(**cells: object) -> tuple[InletAnswer, ...]:
    return gates(alone(**cells)).told.inlets


class TestInlet:
    def test_share_of_the_ports_loss(self) -> None:
        (found,) = inlets(inlet="8 in2")
        opening = (FOUR_INCH_M2 / (0.6 * 8 * SQUARE_INCH_M2)) ** 2
        assert (found.inlet_m2, found.port_m2) == pytest.approx((8 * SQUARE_INCH_M2, FOUR_INCH_M2))
        assert found.share == pytest.approx(opening / (opening + 0.5), rel=1e-9)

    def test_with_an_entry_of_its_own(self) -> None:
        (found,) = inlets(inlet="8 in2", style="plain")
        opening = (FOUR_INCH_M2 / (0.6 * 8 * SQUARE_INCH_M2)) ** 2
        assert found.share == pytest.approx(opening / (opening + 0.93), rel=1e-9)

    def test_a_stated_coefficient_leaves_no_share(self) -> None:
        (found,) = inlets(inlet="8 in2", k=3)
        assert found.share is None

    def test_an_opening_as_large_as_the_port_is_no_matter(self) -> None:
        assert inlets(inlet="13 in2") == ()


def two_ports(guard: str, wanted: str) -> Shop:
    return shop(
        run(
            "main", port("saw", "4 in", flow="300 cfm", k=1), wye("guard", "5 in"), gate(), pipe("9 ft"), elbow(), end()
        ),
        run("guard", port("saw", guard, flow=wanted, k=1), hose("9 ft")),
    )


class TestSplit:
    @pytest.mark.parametrize(("wanted", "grade"), [("150 cfm", "just short"), ("180 cfm", "short")])
    def test_the_starved_port_is_named_with_its_air(self, wanted: str, grade: str) -> None:
        made = two_ports("2 in", wanted)
        (split,) = gates(made).told.splits
        case = ductcalc.check(made).loaded[0]
        own = {port.run: port.flow_m3_s for port in case.machine("saw").ports}
        assert {port.run: port.flow_m3_s for port in split.ports} == pytest.approx(own, rel=1e-9)
        assert split.starved is not None and split.starved.run == "guard"
        assert split.starved.grade == gates(made).singles[0].air == grade
        assert gates(made).singles[0].machine("saw").short_at_a_port

    def test_no_port_is_starved_when_both_have_enough(self) -> None:
        (split,) = gates(two_ports("3 in", "150 cfm")).told.splits
        assert split.starved is None and all(port.enough for port in split.ports)


class TestOwnBlower:
    def test_air_with_it_and_without(self) -> None:
        pushed = shop(
            run("main", port("edger", "4 in", k=2), gate(), pipe("9 ft"), end()),
            machines={"edger": {"own_blower": "300 Pa"}},
        )
        still = shop(run("main", port("edger", "4 in", k=2), gate(), pipe("9 ft"), end()))
        (blower,) = gates(pushed).told.blowers
        assert blower.own_pa == pytest.approx(300.0)
        assert blower.flow_m3_s == gates(pushed).singles[0].machine("edger").flow_m3_s
        assert blower.without_m3_s == pytest.approx(gates(still).singles[0].machine("edger").flow_m3_s, rel=1e-9)
        assert blower.flow_m3_s > blower.without_m3_s

    def test_none(self) -> None:
        assert gates(alone(k=1)).told.blowers == ()


def lonely() -> list[list[Row]]:
    """Return one small port far up a wide main, and nothing that could help it."""
    return [
        run(
            "main",
            port("bench", "3 in", flow="120 cfm", k=1),
            gate(),
            pipe("5 ft"),
            wye("drop", "6 in"),
            pipe("20 ft"),
            end(),
        ),
        run("drop", port("scroll saw", "2 in", flow="60 cfm", k=1), gate(), pipe("6 ft")),
    ]


class TestCures:
    def test_a_smaller_pipe_moves_the_chips_in_the_changed_shop(self) -> None:
        made = shop(*lonely())
        cure = next(c for c in gates(made).uncured if c.before.name == "bench")
        assert cure.smaller is not None
        changes = []
        for name, _, then in cure.smaller.sections:
            run_name, number = name.rsplit(" ", 1)
            changes.append(section_at_most(run_name, int(number), then))
        case = ductcalc.check(changed(spelled_out(made), changes), [ductcalc.Ask.machines("bench")]).loaded[0]
        assert not case.settling
        assert cure.smaller.after.machine("bench").flow_m3_s == pytest.approx(case.machine("bench").flow_m3_s, rel=1e-9)

    def test_an_air_bleed_moves_the_chips_and_a_smaller_one_does_not(self) -> None:
        made = shop(*lonely())
        cure = next(c for c in gates(made).uncured if c.before.name == "bench")
        assert cure.bleed is not None
        run_name, number = cure.bleed.section.rsplit(" ", 1)

        def settling(area_m2: float) -> bool:
            bled = changed(made, [air_bleed(run_name, int(number), area_m2)])
            return bool(ductcalc.check(bled, [ductcalc.Ask.machines("bench")]).loaded[0].settling)

        assert not settling(cure.bleed.area_m2)
        smaller = [bore for bore in sizes_sold("air hole", "in") if bore < cure.bleed.bore_m]
        assert smaller and all(settling(math.pi / 4.0 * bore**2) for bore in smaller)
