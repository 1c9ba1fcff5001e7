"""The collector at the shop's air: basis of its curve, parts in and out of it, laws of cyclone and filter, outlet."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, ClassVar

import numpy as np
import pytest
from fluids.friction import friction_factor
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

import ductcalc
from ductcalc.cases.case import Case
from ductcalc.cases.figures import CollectorAnswer
from ductcalc.shop import Shop
from tests.scenes import (
    CFM,
    INCH_WATER,
    NO_PARTS,
    STRONG,
    TIGHT,
    Rows,
    end,
    none,
    other,
    piece,
    pipe,
    points,
    port,
    rated,
    reducer,
    run,
    shop,
)

INCH = 0.0254
STANDARD = 1.2014
THICK = 1.82e-5
NO_FILTER = [none("filter clean"), none("filter loaded")]
FLOWS = np.array([float(flow.split()[0]) * CFM for flow, _ in STRONG])
STATIC = np.array([float(pressure.split()[0]) * INCH_WATER for _, pressure in STRONG])
CURVE = PchipInterpolator(FLOWS, STATIC)
AT_800 = 12 * INCH_WATER
STANDARD_AIR = {"air": {"density": f"{STANDARD} kg/m3", "viscosity": f"{THICK} Pa s"}}


def kinetic(density: float, bore_m: float) -> float:
    """Velocity pressure over flow squared [Pa s2/m6]."""
    return 0.5 * density / (math.pi / 4 * bore_m**2) ** 2


def one_machine(table: Rows, *outlet: Rows, k: float = 3.0, **settings: Any) -> Shop:
    """Build a machine right at a collector of 6 in, so that k on its VP is all that the duct takes."""
    return shop(run("trunk", port("saw", "6 in", k=k), end()), *outlet, table=table, **{**TIGHT, **settings})


def k_for(pressure_pa: float, flow_m3_s: float, density: float = STANDARD) -> float:
    return pressure_pa / (kinetic(density, 6 * INCH) * flow_m3_s**2)


def case_of(made: Shop, filter_: str = "loaded") -> Case:
    return next(c for c in ductcalc.check(made).cases if c.filter == filter_)


def point(made: Shop, filter_: str = "loaded") -> CollectorAnswer:
    found = case_of(made, filter_).collector
    assert found is not None
    return found


def keys(made: Shop) -> set[str]:
    return {w.assumption.key for w in ductcalc.check(made).assumptions}


def in_code(made: Shop, **changes: Any) -> Shop:
    """Change the collector without the checks of its table, as a caller of the library may."""
    return replace(made, collectors=(replace(made.collectors[0], **changes),))


def pascals(pressures: np.ndarray) -> Rows:
    pairs = [(f"{f!r} m3/s", f"{p!r} Pa") for f, p in zip(FLOWS.tolist(), pressures.tolist(), strict=True)]
    return points(*pairs)


class TestBasis:
    """One physical blower written on three bases; it must land on its point at 800 cfm each time."""

    k = k_for(AT_800, 800 * CFM)

    def flow(self, pressures: np.ndarray, **collector: str) -> float:
        made = one_machine([*pascals(pressures), *NO_PARTS], k=self.k, collector=collector, **STANDARD_AIR)
        return point(made).flow_m3_s / CFM

    def test_fan_static(self) -> None:
        assert self.flow(STATIC, curve="fan static") == pytest.approx(800, rel=1e-9)

    def test_fan_total(self) -> None:
        total = STATIC + kinetic(STANDARD, 7 * INCH) * FLOWS**2
        assert self.flow(total, curve="fan total", outlet_size="7 in") == pytest.approx(800, rel=1e-9)

    def test_inlet_suction(self) -> None:
        suction = STATIC + kinetic(STANDARD, 5 * INCH) * FLOWS**2
        assert self.flow(suction, curve="inlet suction", test_pipe="5 in") == pytest.approx(800, rel=1e-9)

    def test_unstated_is_taken_as_fan_static_and_said(self) -> None:
        made = one_machine([*pascals(STATIC), *NO_PARTS], k=self.k, **STANDARD_AIR)
        assert point(made).flow_m3_s / CFM == pytest.approx(800, rel=1e-9)
        assert "basis of the blower curve" in keys(made)

    def test_stated_is_not_assumed(self) -> None:
        made = one_machine([*pascals(STATIC), *NO_PARTS], collector={"curve": "fan static"})
        assert keys(made) == set()

    @pytest.mark.parametrize("basis", ["fan total", "inlet suction"])
    def test_a_basis_without_its_size_is_refused(self, basis: str) -> None:
        with pytest.raises(ductcalc.InputError):
            one_machine([*pascals(STATIC), *NO_PARTS], collector={"curve": basis})


    @pytest.mark.parametrize(
        ("changes", "said"),
        [
            ({"basis": "fan total"}, "outlet"),
            ({"basis": "inlet suction"}, "bore of the pipe"),
            ({"contains": frozenset({"filter clean"}), "filter_clean": None}, "loading"),
        ],
    )
    def test_what_a_collector_made_in_code_lacks_is_refused_too(self, changes: dict[str, Any], said: str) -> None:
        parts = [none("cyclone"), *(rated(f"filter {state}", "800 cfm", "1 inwg") for state in ("clean", "loaded"))]
        made = one_machine([*pascals(STATIC), *parts], collector={"curve": "fan static"})
        with pytest.raises(ductcalc.InputError, match=said):
            ductcalc.check(in_code(made, **changes))


class TestOutlet:
    def test_the_outlet_duct_is_paid_and_its_vp_regained_or_not(self) -> None:
        outlet = run("out", end("7 in"), other(1.2), reducer("8 in", k=0.3))
        made = one_machine([*pascals(STATIC), *NO_PARTS], outlet, collector={"curve": "fan static"}, **STANDARD_AIR)
        inside = 3 * kinetic(STANDARD, 6 * INCH)
        outside = (1.2 + 0.3) * kinetic(STANDARD, 7 * INCH)
        regained = kinetic(STANDARD, 8 * INCH) - kinetic(STANDARD, 7 * INCH)
        expected = brentq(lambda q: CURVE(q) - (inside + outside + regained) * q**2, 1e-6, FLOWS[-1])
        assert point(made).flow_m3_s == pytest.approx(expected, rel=1e-9)

    def test_a_fan_total_curve_takes_the_outlets_size_from_the_outlet_duct_when_written(self) -> None:
        total = STATIC + kinetic(STANDARD, 7 * INCH) * FLOWS**2
        outlet = run("out", end("7 in"), other(0))
        made = one_machine(
            [*pascals(total), *NO_PARTS],
            outlet,
            k=k_for(AT_800, 800 * CFM),
            collector={"curve": "fan total", "outlet_size": "7 in"},
            **STANDARD_AIR,
        )
        assert point(made).flow_m3_s / CFM == pytest.approx(800, rel=1e-9)

    def test_pipe_behind_the_blower_takes_air(self) -> None:
        free = point(one_machine([*pascals(STATIC), *NO_PARTS])).flow_m3_s
        long = point(one_machine([*pascals(STATIC), *NO_PARTS], run("out", end("6 in"), pipe("30 ft")))).flow_m3_s
        assert long < free

    def test_between_unlike_bores_of_the_outlet_a_widening_of_30_degrees_is_assumed(self) -> None:
        outlet = run("out", end("7 in"), other(1.2, "8 in"))
        made = one_machine([*pascals(STATIC), *NO_PARTS], outlet, collector={"curve": "fan static"}, **STANDARD_AIR)
        crane = 2.6 * math.sin(math.radians(15)) * (1 - (7 / 8) ** 2) ** 2
        duct = 3 * kinetic(STANDARD, 6 * INCH) + crane * kinetic(STANDARD, 7 * INCH) + 1.2 * kinetic(STANDARD, 8 * INCH)
        regained = kinetic(STANDARD, 8 * INCH) - kinetic(STANDARD, 7 * INCH)
        expected = brentq(lambda q: CURVE(q) - (duct + regained) * q**2, 1e-6, FLOWS[-1])
        assert point(made).flow_m3_s == pytest.approx(expected, rel=1e-9)

    def test_what_is_assumed_of_it_is_listed_as_of_the_outlet(self) -> None:
        made = one_machine([*pascals(STATIC), *NO_PARTS], run("out", end("6 in"), piece("elbow")))
        where = {w.assumption.key: w.assumption.where for w in ductcalc.check(made).assumptions}
        assert where["build of elbows"] == ("outlet",)

    @pytest.mark.parametrize("bore_in", [6.0, 8.0])
    def test_its_friction_is_colebrooks_in_the_shops_air(self, bore_in: float) -> None:
        density, viscosity, length, rough = 0.95, 1.7e-5, 30 * 0.3048, 0.0002
        outlet = run("out", end(f"{bore_in:g} in"), pipe("30 ft", roughness="0.2 mm"))
        made = one_machine(
            [*pascals(STATIC), *NO_PARTS],
            outlet,
            collector={"curve": "fan static"},
            air={"density": f"{density} kg/m3", "viscosity": f"{viscosity} Pa s"},
        )
        bore = bore_in * INCH

        def short(q: float) -> float:
            number = density * q / (math.pi / 4 * bore**2) * bore / viscosity
            pipe_k = friction_factor(number, rough / bore) * length / bore
            duct = 3 * kinetic(density, 6 * INCH) + pipe_k * kinetic(density, bore)
            return float(CURVE(q)) * density / STANDARD - duct * q**2

        assert point(made).flow_m3_s == pytest.approx(brentq(short, 1e-3, FLOWS[-1]), rel=1e-9)


class TestParts:
    cyclone = rated("cyclone", "800 cfm", "2 inwg")
    clean = rated("filter clean", "800 cfm", "1 inwg")
    loaded = rated("filter loaded", "800 cfm", "3 inwg")

    def flow(self, *parts: object, contains: list[str] | None = None, filter_: str = "loaded") -> float:
        collector: dict[str, Any] = {"curve": "fan static"}
        if contains:
            collector["contains"] = contains
        made = one_machine([*pascals(STATIC), *parts], collector=collector, **STANDARD_AIR)  # type: ignore[list-item]
        return point(made, filter_).flow_m3_s

    def by_hand(self, cyclone: float = 0.0, filter_: float = 0.0) -> float:
        """Flow where the curve meets duct, cyclone (square) and filter (straight); pressures in inches at 800 cfm."""
        rated_flow = 800 * CFM

        def short(q: float) -> float:
            parts = cyclone * INCH_WATER * (q / rated_flow) ** 2 + filter_ * INCH_WATER * q / rated_flow
            return float(CURVE(q)) - parts - 3 * kinetic(STANDARD, 6 * INCH) * q**2

        return float(brentq(short, 1e-6, FLOWS[-1]))

    def test_a_cyclone_grows_with_the_square_and_a_filter_in_proportion(self) -> None:
        assert self.flow(self.cyclone, self.clean, self.loaded) == pytest.approx(self.by_hand(2, 3), rel=1e-9)
        assert self.flow(self.cyclone, self.clean, self.loaded, filter_="clean") == pytest.approx(
            self.by_hand(2, 1), rel=1e-9
        )

    def test_a_contained_cyclone_is_not_charged_again(self) -> None:
        found = self.flow(self.cyclone, *NO_FILTER, contains=["cyclone"])
        assert found == pytest.approx(self.by_hand(), rel=1e-9)
        assert self.flow(self.cyclone, *NO_FILTER) == pytest.approx(self.by_hand(2), rel=1e-9)

    def test_that_is_remarked(self) -> None:
        made = one_machine([*pascals(STATIC), self.cyclone, *NO_FILTER], collector={"contains": ["cyclone"]})
        assert any("not charged twice" in remark for remark in ductcalc.check(made).remarks)

    def test_a_contained_cyclone_without_a_row_is_not_assumed(self) -> None:
        made = one_machine([*pascals(STATIC), *NO_FILTER], collector={"contains": ["cyclone"]})
        assert "cyclone" not in keys(made)

    def test_of_a_contained_clean_filter_only_what_loading_adds_is_charged(self) -> None:
        parts = (none("cyclone"), self.clean, self.loaded)
        assert self.flow(*parts, contains=["filter"]) == pytest.approx(self.by_hand(0, 2), rel=1e-9)
        assert self.flow(*parts, contains=["filter"], filter_="clean") == pytest.approx(self.by_hand(), rel=1e-9)

    def test_a_contained_loaded_filter_is_not_charged_again(self) -> None:
        parts = (none("cyclone"), self.clean, self.loaded)
        assert self.flow(*parts, contains=["filter loaded"]) == pytest.approx(self.by_hand(), rel=1e-9)
        assert self.flow(*parts, contains=["filter loaded"], filter_="clean") == pytest.approx(
            self.by_hand(0, -2), rel=1e-9
        )

    def test_a_loaded_filter_beside_an_unknown_contained_clean_one_is_refused(self) -> None:
        with pytest.raises(ductcalc.InputError) as caught:
            self.flow(none("cyclone"), self.loaded, contains=["filter"])
        assert "what loading adds" in caught.value.problems[0].message

    def test_none_means_that_a_part_does_not_exist(self) -> None:
        assert self.flow(*NO_PARTS) == pytest.approx(self.by_hand(), rel=1e-9)
        assert keys(one_machine([*pascals(STATIC), *NO_PARTS], collector={"curve": "fan static"})) == set()

    def test_unstated_parts_are_assumed_at_half_the_largest_flow(self) -> None:
        made = one_machine(pascals(STATIC), collector={"curve": "fan static"}, **STANDARD_AIR)
        half = FLOWS[-1] / 2

        def short(q: float) -> float:
            parts = 2 * INCH_WATER * (q / half) ** 2 + (1 + 2) * INCH_WATER * q / half
            return float(CURVE(q)) - parts - 3 * kinetic(STANDARD, 6 * INCH) * q**2

        assert point(made).flow_m3_s == pytest.approx(brentq(short, 1e-6, FLOWS[-1]), rel=1e-9)
        assert keys(made) == {"cyclone", "clean filter", "loaded filter"}

    @pytest.mark.parametrize("known", ["cyclone row", "cyclone in the curve"])
    def test_beside_a_cyclone_an_unstated_filter_is_taken_as_not_there_and_that_is_remarked(self, known: str) -> None:
        parts, contains = ([self.cyclone], []) if known == "cyclone row" else ([], ["cyclone"])
        assert self.flow(*parts, contains=contains) == pytest.approx(self.by_hand(2 * len(parts)), rel=1e-9)
        made = one_machine([*pascals(STATIC), *parts], collector={"curve": "fan static", "contains": contains})
        assert keys(made) == set()
        assert ductcalc.check(made).remarks == ("filter not stated while the cyclone is: taken as not there",)

    @pytest.mark.parametrize("known", ["filter rows", "filter in the curve", "no filter"])
    def test_beside_a_filter_or_none_an_unstated_cyclone_is_taken_as_not_there_and_that_is_remarked(
        self, known: str
    ) -> None:
        parts = NO_FILTER if known == "no filter" else [self.clean, self.loaded]
        contains = ["filter"] if known == "filter in the curve" else []
        filter_pa = {"filter rows": 3.0, "filter in the curve": 2.0, "no filter": 0.0}[known]
        assert self.flow(*parts, contains=contains) == pytest.approx(self.by_hand(filter_=filter_pa), rel=1e-9)
        made = one_machine([*pascals(STATIC), *parts], collector={"curve": "fan static", "contains": contains})
        assert keys(made) == set()
        assert "cyclone not stated while the filter is: taken as not there" in ductcalc.check(made).remarks

    def test_without_a_cyclone_an_unstated_filter_is_still_assumed(self) -> None:
        made = one_machine([*pascals(STATIC), none("cyclone")], collector={"curve": "fan static"})
        assert keys(made) == {"clean filter", "loaded filter"}

    def test_an_unknown_loaded_filter_is_the_clean_one_plus_two_inches_at_the_cyclones_flow(self) -> None:
        made = one_machine(
            [*pascals(STATIC), rated("cyclone", "600 cfm", "1 inwg"), self.clean],
            collector={"curve": "fan static"},
            **STANDARD_AIR,
        )
        found = point(made)
        assert found.filter_pa is not None
        at_600 = (1 * 600 / 800 + 2) * INCH_WATER
        assert found.filter_pa == pytest.approx(at_600 * found.flow_m3_s / (600 * CFM), rel=1e-9)
        assert keys(made) == {"loaded filter"}

    def test_the_verdict_names_what_each_part_takes(self) -> None:
        found = point(one_machine([*pascals(STATIC), self.cyclone, self.clean, self.loaded], **STANDARD_AIR))
        share = found.flow_m3_s / (800 * CFM)
        assert found.cyclone_pa == pytest.approx(2 * INCH_WATER * share**2)
        assert found.filter_pa == pytest.approx(3 * INCH_WATER * share)
        assert found.blower_pa == pytest.approx(float(CURVE(found.flow_m3_s)), rel=1e-9)

    def test_of_contained_parts_only_what_the_curve_lacks_is_told_among_the_losses(self) -> None:
        made = one_machine(
            [*pascals(STATIC), self.cyclone, self.clean, self.loaded],
            collector={"curve": "fan static", "contains": ["cyclone", "filter"]},
            **STANDARD_AIR,
        )
        found = ductcalc.losses(made)
        lost = {row.group: row.loss_pa for row in found.rows}
        assert lost.get("cyclone", 0.0) == pytest.approx(0.0, abs=1e-9)
        share = found.case.collector.flow_m3_s / (800 * CFM)  # type: ignore[union-attr]
        assert lost["filter"] == pytest.approx((3 - 1) * INCH_WATER * share, rel=1e-9)

    @pytest.mark.parametrize(
        ("unknown", "clean_gains"), [((), 2.0), (("filter_clean",), 0.0), (("filter_clean", "filter_loaded"), 0.0)]
    )
    def test_a_curve_with_its_loaded_filter_loses_no_more_and_cleaning_gains_what_both_rows_say(
        self, unknown: tuple[str, ...], clean_gains: float
    ) -> None:
        parts = [none("cyclone"), self.clean, self.loaded]
        settings = {"curve": "fan static", "contains": ["filter loaded"]}
        made = one_machine([*pascals(STATIC), *parts], collector=settings, **STANDARD_AIR)
        made = in_code(made, **dict.fromkeys(unknown))
        assert point(made, "loaded").flow_m3_s == pytest.approx(self.by_hand(), rel=1e-9)
        assert point(made, "clean").flow_m3_s == pytest.approx(self.by_hand(filter_=-clean_gains), rel=1e-9)

    def test_beside_an_unknown_contained_clean_filter_loading_is_assumed_to_add_two_inches(self) -> None:
        half = 0.5 * FLOWS[-1]
        found = self.flow(none("cyclone"), contains=["filter clean"])
        assert found == pytest.approx(self.by_hand(filter_=2 * 800 * CFM / half), rel=1e-9)

    def test_an_own_exponent_of_a_filter(self) -> None:
        found = point(
            one_machine(
                [*pascals(STATIC), none("cyclone"), self.clean, {**self.loaded, "exponent": "1.5"}], **STANDARD_AIR
            )
        )
        assert found.filter_pa == pytest.approx(3 * INCH_WATER * (found.flow_m3_s / (800 * CFM)) ** 1.5)


class TestAnotherDensity:
    """Contained parts come out at the curve's air, the rest is scaled, each part goes back by its own law."""

    density, viscosity = 0.95, 1.7e-5
    air: ClassVar = {"air": {"density": f"{density} kg/m3", "viscosity": f"{viscosity} Pa s"}}

    def by_hand(self, exponent: float, contained_clean: float, charged: float, cyclone: float, inside: float) -> float:
        rho, r800 = self.density / STANDARD, 800 * CFM
        thick = (self.viscosity / THICK) ** (2 - exponent) * rho ** (exponent - 1)

        def short(q: float) -> float:
            square, power = (q / r800) ** 2, (q / r800) ** exponent
            bare = float(CURVE(q)) + INCH_WATER * (inside * square + contained_clean * power)
            offered = rho * bare - INCH_WATER * (rho * cyclone * square + charged * thick * power)
            return offered - 3 * kinetic(self.density, 6 * INCH) * q**2

        return float(brentq(short, 1e-6, FLOWS[-1]))

    @pytest.mark.parametrize("exponent", [1.0, 1.4, 2.0])
    def test_curve_cyclone_and_filter_each_by_its_own_law(self, exponent: float) -> None:
        parts = [
            rated("cyclone", "800 cfm", "2 inwg"),
            rated("filter clean", "800 cfm", "1 inwg", exponent=str(exponent)),
            rated("filter loaded", "800 cfm", "3 inwg", exponent=str(exponent)),
        ]
        made = one_machine([*pascals(STATIC), *parts], collector={"curve": "fan static"}, **self.air)
        assert point(made).flow_m3_s == pytest.approx(self.by_hand(exponent, 0, 3, 2, 0), rel=1e-9)

    @pytest.mark.parametrize("exponent", [1.0, 1.4, 2.0])
    def test_with_both_parts_contained(self, exponent: float) -> None:
        parts = [
            rated("cyclone", "800 cfm", "2 inwg"),
            rated("filter clean", "800 cfm", "1 inwg", exponent=str(exponent)),
            rated("filter loaded", "800 cfm", "3 inwg", exponent=str(exponent)),
        ]
        made = one_machine(
            [*pascals(STATIC), *parts],
            collector={"curve": "fan static", "contains": ["cyclone", "filter"]},
            **self.air,
        )
        assert point(made).flow_m3_s == pytest.approx(self.by_hand(exponent, 1, 3, 2, 2), rel=1e-9)

    @pytest.mark.parametrize("contains", [[], ["cyclone", "filter"]])
    def test_the_blowers_pressure_is_told_with_what_its_curve_contains_by_that_parts_own_law(
        self, contains: list[str]
    ) -> None:
        """A contained filter without any inertia does not get easier in thin air, as the rest of the curve does."""
        clean, rated_flow = INCH_WATER, 800 * CFM
        parts = [rated("cyclone", "800 cfm", "2 inwg"), rated("filter clean", "800 cfm", "1 inwg", exponent="1")]
        made = one_machine(
            [*pascals(STATIC), *parts, rated("filter loaded", "800 cfm", "3 inwg", exponent="1")],
            collector={"curve": "fan static", "contains": contains},
            **self.air,
        )
        found = point(made)
        rho = self.density / STANDARD
        filter_pa = clean * found.flow_m3_s / rated_flow if contains else 0.0
        expected = rho * (float(CURVE(found.flow_m3_s)) + filter_pa) - self.viscosity / THICK * filter_pa
        assert found.blower_pa == pytest.approx(expected, rel=1e-9)

    @pytest.mark.parametrize(
        ("basis", "size", "inches"), [("fan total", "outlet_size", 7), ("inlet suction", "test_pipe", 5)]
    )
    def test_what_a_basis_holds_of_velocity_pressure_is_scaled_too(self, basis: str, size: str, inches: int) -> None:
        """The same point at 800 cfm as on the fan static basis, at which the static pressure is the ratio's share."""
        pressures = STATIC + kinetic(STANDARD, inches * INCH) * FLOWS**2
        made = one_machine(
            [*pascals(pressures), *NO_PARTS],
            k=k_for(AT_800 * self.density / STANDARD, 800 * CFM, self.density),
            collector={"curve": basis, size: f"{inches} in"},
            **self.air,
        )
        assert point(made).flow_m3_s / CFM == pytest.approx(800, rel=1e-9)

    def test_a_curve_may_hold_at_an_air_of_its_own(self) -> None:
        made = one_machine(
            [*pascals(STATIC), *NO_PARTS],
            collector={"curve": "fan static", "density": f"{self.density} kg/m3"},
            **self.air,
        )
        expected = brentq(lambda q: CURVE(q) - 3 * kinetic(self.density, 6 * INCH) * q**2, 1e-6, FLOWS[-1])
        assert point(made).flow_m3_s == pytest.approx(expected, rel=1e-9)


class TestEndsOfTheCurve:
    def test_left_of_the_first_point_the_pressure_is_held_and_flagged(self) -> None:
        table = [*points(("600 cfm", "10 inwg"), ("1000 cfm", "7 inwg"), ("1400 cfm", "1 inwg")), *NO_PARTS]
        k = k_for(10 * INCH_WATER, 300 * CFM)
        found = point(one_machine(table, k=k, **STANDARD_AIR))
        assert found.flow_m3_s / CFM == pytest.approx(300, rel=1e-9)
        assert found.left_of_curve

    def test_within_the_points_nothing_is_flagged(self) -> None:
        assert not point(one_machine([*pascals(STATIC), *NO_PARTS])).left_of_curve

    def test_past_the_last_point_there_is_no_answer_but_a_surplus(self) -> None:
        table = [*points(("0 cfm", "10 inwg"), ("400 cfm", "9 inwg"), ("600 cfm", "8 inwg")), *NO_PARTS]
        found = case_of(one_machine(table, k=1, **STANDARD_AIR))
        assert found.status == "beyond the curve"
        assert (found.machines, found.sections, found.collector, found.audit) == ((), (), None, None)
        taken = kinetic(STANDARD, 6 * INCH) * (600 * CFM) ** 2
        assert found.surplus_pa == pytest.approx(8 * INCH_WATER - taken, rel=1e-9)
        assert found.surplus_pa > 0
        assert not found.well

    def test_a_case_just_short_of_the_last_point_is_an_answer(self) -> None:
        table = [*points(("0 cfm", "10 inwg"), ("400 cfm", "9 inwg"), ("600 cfm", "8 inwg")), *NO_PARTS]
        found = case_of(one_machine(table, k=k_for(8 * INCH_WATER, 600 * CFM), **STANDARD_AIR))
        assert found.status == "solved"
        assert found.surplus_pa is None

    def test_a_humped_curve_names_its_other_crossings_and_stands_on_the_largest(self) -> None:
        flows, heads = [0, 200, 400, 600, 800, 1000], [6.0, 1.0, 1.2, 6.0, 5.8, 1.0]
        table = [*points(*[(f"{f} cfm", f"{h} inwg") for f, h in zip(flows, heads, strict=True)]), *NO_PARTS]
        curve = PchipInterpolator(np.array(flows) * CFM, np.array(heads) * INCH_WATER)
        k = k_for(1.05 * INCH_WATER, 260 * CFM)
        grid = np.linspace(1, 999, 4000) * CFM
        gap = curve(grid) - k * kinetic(STANDARD, 6 * INCH) * grid**2
        hand = grid[np.flatnonzero(np.sign(gap[:-1]) != np.sign(gap[1:]))]
        found = case_of(one_machine(table, k=k, **STANDARD_AIR))
        assert found.collector is not None
        everything = [*found.other_crossings_m3_s, found.collector.flow_m3_s]
        assert len(hand) == 3
        assert everything == pytest.approx(hand.tolist(), abs=3 * CFM)

    def test_a_falling_curve_has_one_crossing(self) -> None:
        assert case_of(one_machine([*pascals(STATIC), *NO_PARTS])).other_crossings_m3_s == ()


class TestAdvertised:
    """Two maxima only: a straight line through 0.9 of both, a parabola through 0.9 of both, one through both."""

    table: ClassVar = [rated("advertised", "1000 cfm", "10 inwg"), *NO_PARTS]

    def by_hand(self, share: float, straight: bool) -> float:
        top, most = share * 10 * INCH_WATER, share * 1000 * CFM
        c = 3 * kinetic(STANDARD, 6 * INCH)
        if not straight:
            return math.sqrt(top / (c + top / most**2))
        return (-top / most + math.sqrt((top / most) ** 2 + 4 * c * top)) / (2 * c)

    def test_three_curves(self) -> None:
        found = ductcalc.check(one_machine(self.table, **STANDARD_AIR))
        assert [m.method for m in found.by_curve] == ["low", "middle", "high"]
        expected = [self.by_hand(0.9, True), self.by_hand(0.9, False), self.by_hand(1.0, False)]
        assert [m.flow_m3_s for m in found.by_curve] == pytest.approx(expected, rel=1e-9)

    def test_the_verdict_stands_on_the_low_one_and_is_provisional(self) -> None:
        found = ductcalc.check(one_machine(self.table, **STANDARD_AIR))
        assert found.provisional
        assert found.loaded[0].machine("saw").flow_m3_s == pytest.approx(self.by_hand(0.9, True), rel=1e-9)
        assert "advertised maxima" in {w.assumption.key for w in found.assumptions}

    def test_a_measured_curve_is_not_provisional(self) -> None:
        found = ductcalc.check(one_machine([*pascals(STATIC), *NO_PARTS]))
        assert not found.provisional
        assert found.by_curve == ()


def test_a_shop_without_a_collector_is_refused_with_a_repair() -> None:
    with pytest.raises(ductcalc.InputError) as caught:
        ductcalc.check(shop(run("trunk", port("saw", "6 in"), end()), table=[]))
    assert "has no blower curve" in caught.value.problems[0].message
    assert "collector.csv" in caught.value.problems[0].hint
    assert "ductcalc need SHOP" in caught.value.problems[0].hint


def test_the_duct_table_says_which_of_several_collectors_it_ends_at() -> None:
    weak = [{**row, "collector": "weak"} for row in [*points(("0 cfm", "3 inwg"), ("1200 cfm", "1 inwg")), *NO_PARTS]]
    strong = [{**row, "collector": "strong"} for row in [*pascals(STATIC), *NO_PARTS]]
    flows = {
        name: point(shop(run("trunk", port("saw", "6 in", k=9), end(machine=name)), table=[*weak, *strong])).flow_m3_s
        for name in ("weak", "strong")
    }
    assert flows["strong"] > 1.3 * flows["weak"]


def test_several_collectors_and_no_name_is_refused() -> None:
    weak = [{**row, "collector": "weak"} for row in [*pascals(STATIC), *NO_PARTS]]
    strong = [{**row, "collector": "strong"} for row in [*pascals(STATIC), *NO_PARTS]]
    with pytest.raises(ductcalc.InputError, match="several collectors"):
        ductcalc.check(shop(run("trunk", port("saw", "6 in"), end()), table=[*weak, *strong]))
