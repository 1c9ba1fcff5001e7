"""What each row of the duct table takes, and which pieces nobody wrote."""

from __future__ import annotations

import math
from typing import Any

import pytest

import ductcalc
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model, build_model
from ductcalc.model.numbers import stretch_numbers
from ductcalc.shop import Shop
from tests.scenes import (
    Row,
    Rows,
    cap,
    elbow,
    end,
    gate,
    hose,
    other,
    piece,
    pipe,
    port,
    reducer,
    run,
    shop,
    tight,
    wye,
)

HANDBOOK: dict[str, Any] = {"method": {"friction": "handbook"}}


def losses(*rows: Row, settings: dict[str, object] | None = None) -> tuple[Loss, ...]:
    """Return the losses of one run behind a port of 4 in."""
    made = shop(run("trunk", port("saw", "4 in", k=0), *rows, end()), **(settings or {}))
    return build_model(made).sections[0].losses()[1:]


def k_of(row: Row, settings: dict[str, object] | None = None) -> float:
    found = losses(row, settings=settings)
    assert len(found) == 1, found
    assert found[0].k is not None
    return found[0].k.value


class TestOwnK:
    @pytest.mark.parametrize("k", ["0", "1.7"])
    @pytest.mark.parametrize("kind", ["pipe", "flex", "elbow", "gate", "other", "collector"])
    def test_replaces_the_tables_on_every_kind(self, kind: str, k: str) -> None:
        cells = {"length": "10 ft"} if kind in ("pipe", "flex") else {}
        rows = (piece(kind, k=k, **cells),) if kind != "collector" else ()
        last = end(k=k) if kind == "collector" else end()
        made = shop(run("trunk", port("saw", "4 in", k=0), *rows, last))
        found = build_model(made).sections[0].losses()[1:]
        assert len(found) == 1
        assert found[0].k is not None and found[0].k.value == float(k)
        assert not found[0].has_friction

    @pytest.mark.parametrize("k", ["0", "1.7"])
    def test_of_a_reducer_stands_on_the_smaller_bore_like_the_tables_own(self, k: str) -> None:
        (found,) = losses(reducer("6 in", k=k))
        assert found.k is not None and found.k.value == float(k)
        assert found.bore_m == pytest.approx(4 * 0.0254)

    def test_of_a_reducer_behind_a_wye_of_the_same_bore_counts(self) -> None:
        made = shop(run("trunk", port("saw", "4 in", k=0), wye("cap", "6 in"), reducer("6 in", k=3), end()))
        body = build_model(made).sections[1].body
        assert [loss.k.value for loss in body if loss.k] == [3.0]

    def test_of_a_wye_is_lost_by_every_stream_on_the_outlets_vp(self) -> None:
        made = tight(
            run("trunk", port("saw", "4 in", k=1), wye("drop", "6 in", k=0.8), end()),
            run("drop", port("planer", "5 in", k=1)),
        )
        case = ductcalc.check(made).loaded[0]
        assert case.collector is not None
        area = math.pi / 4 * (6 * 0.0254) ** 2
        vp = 0.5 * ductcalc.check(made).air.density_kg_m3 * (case.collector.flow_m3_s / area) ** 2
        lost = {s.section: s.wye_loss_pa for s in case.sections}
        assert lost["trunk 1"] == pytest.approx(0.8 * vp, rel=1e-9)
        assert lost["drop 1"] == pytest.approx(0.8 * vp, rel=1e-9)

    def test_zero_of_a_wye_costs_nothing(self) -> None:
        made = tight(
            run("trunk", port("saw", "4 in", k=1), wye("drop", "6 in", k=0), end()),
            run("drop", port("planer", "5 in", k=1)),
        )
        case = ductcalc.check(made).loaded[0]
        assert [s.wye_loss_pa for s in case.sections] == [0.0, 0.0, 0.0]

    def test_counts_alike_elbows(self) -> None:
        assert k_of(elbow(k=0.3, count=3)) == pytest.approx(0.9)

    def test_of_hose_is_not_multiplied_by_its_bends(self) -> None:
        assert k_of(hose("6 ft", count=3, k=2)) == 2.0

    def test_of_a_gate_leaves_its_leak_alone(self) -> None:
        (found,) = losses(gate(k=0, leak="2 %"))
        assert found.shut_k is not None and found.shut_k.value == pytest.approx(1 / (0.61 * 0.02) ** 2)


class TestGate:
    def test_open_costs_015(self) -> None:
        assert k_of(gate()) == 0.15

    def test_part_open_costs_more_the_further_it_is_shut(self) -> None:
        found = [k_of(gate(opening=share)) for share in ("100 %", "75 %", "50 %", "25 %")]
        assert found[0] == 0.15
        assert found == sorted(found)
        assert found[2] == pytest.approx(0.15 + 2.06, rel=0.02)

    @pytest.mark.parametrize("share", [0.002, 0.01, 0.03])
    def test_shut_is_a_sharp_opening_in_its_bore(self, share: float) -> None:
        (found,) = losses(gate(leak=f"{100 * share:g} %"))
        assert found.shut_k is not None
        assert found.shut_k.value == pytest.approx(1 / (0.61 * share) ** 2, rel=1e-12)

    def test_leaks_one_percent_by_default_with_a_band(self) -> None:
        (found,) = losses(gate())
        assert found.shut_k is not None
        assert (found.shut_k.value, found.shut_k.assumed) == (
            pytest.approx(1 / 0.0061**2),
            "leak of shut gates",
        )
        assert found.shut_k.low == pytest.approx(1 / (0.61 * 0.001) ** 2)
        assert found.shut_k.high == pytest.approx(1 / (0.61 * 0.03) ** 2)

    def test_the_settings_say_what_all_gates_leak(self) -> None:
        (found,) = losses(gate(), settings={"gates": {"leak": "2 %"}})
        assert found.shut_k is not None
        assert (found.shut_k.value, found.shut_k.assumed) == (pytest.approx(1 / 0.0122**2), None)

    def test_tight_is_infinite(self) -> None:
        (found,) = losses(gate(leak="0"))
        assert found.shut_k is not None and math.isinf(found.shut_k.value)


class TestHose:
    def test_blank_bends_are_one_and_assumed(self) -> None:
        (found,) = losses(hose("6 ft", count=None))
        assert found.k is not None
        assert (found.k.value, found.k.low, found.k.high, found.k.assumed) == (0.5, 0.3, 1.0, "bends in hoses")

    def test_no_bends_cost_nothing(self) -> None:
        (found,) = losses(hose("6 ft", count=0))
        assert found.k is None

    def test_of_its_own_roughness_loses_what_a_pipe_so_rough_does(self) -> None:
        (rough,), (straight,) = losses(hose("6 ft", roughness="0.9 mm")), losses(pipe("6 ft", roughness="0.9 mm"))
        assert rough.factor is not None and (rough.factor.value, rough.factor.assumed) == (1.0, None)
        assert rough.roughness_m is not None and straight.roughness_m is not None
        assert rough.roughness_m.value == straight.roughness_m.value == pytest.approx(0.0009)

    def test_of_its_own_roughness_still_takes_a_factor(self) -> None:
        (found,) = losses(hose("6 ft", roughness="0.9 mm", factor=1.5))
        assert found.factor is not None and found.factor.value == 1.5

    def test_three_bends_cost_three_times_one(self) -> None:
        (found,) = losses(hose("6 ft", count=3))
        assert found.k is not None
        assert (found.k.value, found.k.assumed) == (1.5, None)

    def test_the_settings_say_what_a_bend_costs(self) -> None:
        assert k_of(hose("6 ft", count=2), {"method": {"hose_bend_k": 0.8}}) == 1.6

    def test_factor_is_24_and_assumed_unless_written(self) -> None:
        (plain,) = losses(hose("6 ft"))
        (own,) = losses(hose("6 ft", factor="4"))
        (set_,) = losses(hose("6 ft"), settings={"method": {"flex_factor": 3}})
        assert plain.factor is not None and own.factor is not None and set_.factor is not None
        assert (plain.factor.value, plain.factor.low, plain.factor.high) == (2.4, 1.5, 4.0)
        assert plain.factor.assumed == "hose factor"
        assert (own.factor.value, own.factor.assumed) == (4.0, None)
        assert (set_.factor.value, set_.factor.assumed) == (3.0, None)

    def test_has_the_friction_of_spiral_pipe_times_the_factor(self) -> None:
        def friction(*rows: Row) -> float:
            made = tight(run("trunk", port("saw", "4 in", k=20), *rows, other(0), end()))
            found = ductcalc.losses(made)
            row = found.rows[1]
            assert row.vp_pa is not None
            return row.loss_pa / row.vp_pa

        # flows differ a little, and with them the friction factor
        assert friction(hose("10 ft", factor="2.4")) == pytest.approx(2.4 * friction(pipe("10 ft")), rel=0.01)


class TestReducers:
    def assumed(self, made: Shop) -> list[tuple[str, float, float]]:
        model = build_model(made)
        return [
            (section.name, round(loss.bore_m / 0.0254, 6), round(max(loss.ends_m or ()) / 0.0254, 6))
            for section in model.sections
            for loss in section.losses()
            if loss.assumed
        ]

    def test_unlike_neighbours_get_one_at_the_smaller_bore(self) -> None:
        made = shop(run("trunk", port("saw", "4 in"), pipe("6 ft", "4 in"), pipe("6 ft", "6 in"), end("5 in")))
        assert self.assumed(made) == [("trunk 1", 4.0, 6.0), ("trunk 1", 5.0, 6.0)]

    def test_a_port_of_another_bore_gets_one(self) -> None:
        assert self.assumed(shop(run("trunk", port("saw", "5 in"), pipe("6 ft", "4 in"), end()))) == [
            ("trunk 1", 4.0, 5.0)
        ]

    def test_a_written_reducer_leaves_nothing_to_assume(self) -> None:
        made = shop(run("trunk", port("saw", "4 in"), reducer("6 in"), pipe("6 ft"), reducer("5 in"), end()))
        assert self.assumed(made) == []

    def test_none_is_assumed_at_a_wyes_inlets(self) -> None:
        made = shop(
            run("trunk", port("saw", "4 in"), pipe("2 ft"), wye("drop", "6 in"), end()),
            run("drop", port("planer", "5 in"), pipe("2 ft")),
        )
        assert self.assumed(made) == []

    def test_one_is_assumed_behind_a_wyes_outlet(self) -> None:
        made = shop(
            run("trunk", port("saw", "4 in"), wye("drop", "6 in"), pipe("2 ft", "5 in"), end()),
            run("drop", port("planer", "5 in")),
        )
        assert self.assumed(made) == [("trunk 2", 5.0, 6.0)]

    def test_assumed_ones_are_listed_with_their_place(self) -> None:
        made = shop(run("trunk", port("saw", "4 in"), pipe("6 ft", "4 in"), pipe("6 ft", "6 in"), end()))
        found = [w.assumption for w in ductcalc.check(made).assumptions if w.assumption.key == "reducers"]
        assert [a.where for a in found] == [("trunk 1 at duct row 3",)]

    def test_widening_and_narrowing_follow_crane(self) -> None:
        b = (4 / 6) ** 2
        half = math.sin(math.radians(15))
        assert k_of(reducer("6 in")) == pytest.approx(2.6 * half * (1 - b) ** 2)
        narrow = losses(reducer("6 in"), reducer("4 in"))[1]
        assert narrow.k is not None and narrow.k.value == pytest.approx(0.8 * half * (1 - b))

    def test_between_equal_bores_it_costs_nothing(self) -> None:
        assert k_of(reducer("4 in")) == 0.0


class TestChips:
    def model(self, loading: float | None) -> Model:
        return build_model(
            shop(run("trunk", cap("4 in"), wye("a"), end()), run("a", port("planer", "4 in"))), loading=loading
        )

    def test_none_fly_by_default(self) -> None:
        assert self.model(None).loading == 0.0

    def test_what_they_add_is_on_the_ducts_not_on_the_machine(self) -> None:
        rows: Rows = run("trunk", port("planer", "4 in", k=2), other(3), end())
        clean = ductcalc.losses(tight(rows))
        laden = ductcalc.losses(tight(rows, material={"loading": 0.07}))
        ducts = [[r.coefficient for r in found.rows if r.group != "inlet"] for found in (clean, laden)]
        assert ducts[0] == pytest.approx([2.0, 3.0])
        assert ducts[1] == pytest.approx([2.0, 3.0 * (1 + 1.4 * 0.07)])

    def test_what_they_add_is_on_wyes_as_well(self) -> None:
        drop = run("a", port("planer", "4 in", k=2), gate(), pipe("6 ft"))
        rows: Rows = [*run("trunk", cap("6 in"), wye("a"), pipe("20 ft"), end()), *drop]
        clean = ductcalc.losses(tight(rows), ductcalc.Ask.machines("planer"))
        laden = ductcalc.losses(tight(rows, material={"loading": 0.07}), ductcalc.Ask.machines("planer"))
        at_wye = [next(r for r in found.rows if r.label.startswith("wye")) for found in (clean, laden)]
        assert at_wye[1].coefficient == pytest.approx(at_wye[0].coefficient * (1 + 1.4 * 0.07), rel=1e-9)
        assert abs(at_wye[0].coefficient) > 0.1

    def test_a_planer_is_also_judged_at_full_cut(self) -> None:
        rows = run("trunk", port("planer", "4 in", k=2), pipe("20 ft"), end())
        found = ductcalc.check(tight(rows))
        laden = ductcalc.check(tight(rows, material={"loading": 0.07}))
        assert found.chips is not None and found.chips.flow_m3_s is not None
        assert found.chips.flow_m3_s == pytest.approx(laden.loaded[0].machine("planer").flow_m3_s, rel=1e-9)
        assert found.chips.flow_m3_s < found.loaded[0].machine("planer").flow_m3_s

    def test_a_lathe_is_not(self) -> None:
        assert ductcalc.check(tight(run("trunk", port("lathe", "4 in", k=2), end()))).chips is None


class TestPipe:
    @pytest.mark.parametrize(("style", "feet"), [("spiral", 0.0003), ("snap-lock", 0.0005), ("plastic", 0.00005)])
    def test_roughness_by_make(self, style: str, feet: float) -> None:
        (found,) = losses(pipe("6 ft", style=style))
        assert found.roughness_m is not None
        assert (found.roughness_m.value, found.roughness_m.assumed) == (pytest.approx(feet * 0.3048), None)

    def test_blank_make_is_spiral_and_assumed(self) -> None:
        (found,) = losses(piece("pipe", length="6 ft"))
        assert found.roughness_m is not None
        assert (found.roughness_m.value, found.roughness_m.assumed) == (pytest.approx(0.00009144), "make of pipe")

    def test_own_roughness(self) -> None:
        (found,) = losses(pipe("6 ft", roughness="0.2 mm"))
        assert found.roughness_m is not None and found.roughness_m.value == pytest.approx(0.0002)


@pytest.mark.parametrize("angle_deg", [30.0, 45.0, 60.0])
def test_a_wye_balances_momentum_by_the_angle_and_the_bores_as_written(angle_deg: float) -> None:
    made = tight(
        run("trunk", port("saw", "4 in", k=1), wye("drop", "6 in", angle=f"{angle_deg:g}"), end()),
        run("drop", port("planer", "4 in", k=1), reducer("5 in")),
    )
    found = ductcalc.check(made)
    flow = {s.section: s.flow_m3_s for s in found.loaded[0].sections}
    area = {name: math.pi / 4 * (inches * 0.0254) ** 2 for name, inches in [("trunk 1", 4), ("drop 1", 5), ("out", 6)]}
    outlet_speed = flow["trunk 2"] / area["out"]
    run_thrust = flow["trunk 1"] ** 2 / area["trunk 1"]
    branch_thrust = flow["drop 1"] ** 2 / area["drop 1"] * math.cos(math.radians(angle_deg))
    lost = {s.section: s.wye_loss_pa for s in found.loaded[0].sections}
    for name in ("trunk 1", "drop 1"):
        heads = (flow[name] / area[name]) ** 2 + outlet_speed**2
        by_hand = 0.5 * found.air.density_kg_m3 * (heads - 2.0 * (run_thrust + branch_thrust) / area["out"])
        assert lost[name] == pytest.approx(by_hand, rel=1e-9)


def test_joints_leak_over_the_surface_of_pipe_and_hose_in_their_own_bores() -> None:
    made = shop(
        run(
            "trunk", port("saw", "4 in"), hose("3 ft"), gate(), pipe("10 ft"), elbow(), reducer("6 in"), pipe("20 ft"),
            end(),
        )
    )  # fmt: skip
    section = build_model(made).sections[0]
    inch, foot = 0.0254, 0.3048
    behind_gate = math.pi * (4 * inch * 10 * foot + 6 * inch * 20 * foot)
    assert section.surfaces_m2[0] == pytest.approx(behind_gate + math.pi * 4 * inch * 3 * foot, rel=1e-12)
    assert section.surfaces_m2[1] == pytest.approx(behind_gate, rel=1e-12)


def test_elbows_alike_multiply() -> None:
    assert k_of(elbow(count=2)) == pytest.approx(2 * k_of(elbow()))


@pytest.mark.parametrize(
    ("row", "published"),
    [
        (elbow("150 mm"), 0.28),
        (elbow("75 mm"), 0.51),
        (elbow("230 mm", style="3-gore", angle="45"), 0.13),
        (elbow("150 mm", style="7-gore", radius="2.5"), 0.12),
        (elbow("150 mm", radius="2.0"), 0.28 * 0.19 / 0.24),
    ],
)
def test_an_elbow_has_the_published_value_of_its_build_bore_angle_and_radius(row: Row, published: float) -> None:
    """ASHRAE fittings CD3-9, CD3-10 and CD3-14; another radius by SMACNA's values of five pieces."""
    found = losses(row)[-1]
    assert found.k is not None and found.k.value == pytest.approx(published, rel=1e-9)


def test_an_elbows_build_is_assumed_when_blank() -> None:
    (found,) = losses(piece("elbow"))
    assert found.k is not None
    assert (found.k.assumed, found.k.value) == ("build of elbows", k_of(elbow(style="5-gore")))


def test_a_hose_factor_multiplies_the_friction_of_the_fitted_formula_too() -> None:
    def power(factor: float) -> float:
        made = build_model(shop(run("a", port("saw", "4 in"), hose("9 ft", factor=factor), end()), **HANDBOOK))
        found = stretch_numbers(made, [made.sections[0].body]).power
        assert found is not None
        return float(found[0, 0])

    assert power(3.0) == pytest.approx(3.0 * power(1.0), rel=1e-12)


def test_of_pieces_that_rise_the_widest_bore_is_the_risers() -> None:
    made = build_model(
        shop(run("a", port("saw", "4 in"), pipe("3 ft", rise="3 ft"), pipe("2 ft", "5 in", rise="2 ft"), end("6 in")))
    )
    assert made.sections[0].riser_bore_m == pytest.approx(0.127)
