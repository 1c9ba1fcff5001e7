"""Grades: air ok, just short, short; chips that move, are slow, settle; each edge from both sides."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import ductcalc
from ductcalc.cases.case import Case
from ductcalc.cases.figures import SectionAnswer
from ductcalc.cases.judged import AIR, CHIPS, JudgedCases, Yardstick, joined, limits
from ductcalc.catalog import fact
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.scenes import (
    BARE,
    CFM,
    NO_PARTS,
    STRONG,
    cap,
    end,
    gate,
    none,
    pipe,
    points,
    port,
    rated,
    reducer,
    run,
    shop,
    tight,
    two_machines,
    wye,
)


def case(made: Shop, *machines: str) -> Case:
    ask = [ductcalc.Ask.machines(*machines)] if machines else None
    return ductcalc.check(made, ask).loaded[0]


def lone(flow: str, table: list[dict[str, object]] = BARE, **settings: object) -> Shop:
    return shop(run("trunk", port("saw", "4 in", flow=flow, k=3), pipe("10 ft"), end()), table=table, **settings)


def got() -> float:
    return case(lone("10 cfm")).machine("saw").flow_m3_s / CFM


@pytest.mark.parametrize(("share", "status"), [(1.01, "solved"), (0.99, "beyond the curve")])
def test_a_flow_just_past_the_curves_last_point_has_no_answer(share: float, status: str) -> None:
    flat = [*points(("0 cfm", "8 inwg"), ("3000 cfm", "8 inwg")), *NO_PARTS]
    flow = case(lone("10 cfm", flat)).machine("saw").flow_m3_s / CFM
    ends = [*points(("0 cfm", "8 inwg"), (f"{share * flow} cfm", "8 inwg")), *NO_PARTS]
    assert case(lone("10 cfm", ends)).status == status


@pytest.mark.parametrize(
    ("share", "word", "served", "may_run"),
    [
        (1.001, "ok", True, True),
        (0.999, "just short", False, True),
        (0.901, "just short", False, True),
        (0.899, "short", False, False),
    ],
)
def test_a_machine_is_judged_by_what_it_gets_of_what_it_wants(
    share: float, word: str, served: bool, may_run: bool
) -> None:
    found = case(lone(f"{got() / share} cfm"))
    saw = found.machine("saw")
    assert (saw.word, saw.grade, saw.served) == (word, word, served)
    assert (found.air, found.may_run, found.well) == (word, may_run and found.chips != "settles", found.well and served)


def test_far_more_is_a_remark_from_one_and_a_half_times_and_no_grade() -> None:
    found = [case(lone(f"{got() / share} cfm")).machine("saw") for share in (1.49, 1.51)]
    assert [saw.far_more for saw in found] == [False, True]
    assert [saw.word for saw in found] == ["ok", "ok"]


def test_the_loaded_filter_decides_and_the_clean_one_stands_beside() -> None:
    table = [
        *points(*STRONG),
        none("cyclone"),
        rated("filter clean", "800 cfm", "0.5 inwg"),
        rated("filter loaded", "800 cfm", "8 inwg"),
    ]
    flows = [c.machine("saw").flow_m3_s / CFM for c in ductcalc.check(lone("10 cfm", table)).cases]
    found = ductcalc.check(lone(f"{sum(flows) / 2} cfm", table))
    loaded = found.loaded[0]
    assert [c.filter for c in found.cases] == ["loaded", "clean"]
    assert loaded.machine("saw").word == "short"
    assert found.clean(loaded).machine("saw").word == "ok"
    assert not found.well


def two_ports(upper: str = "100 cfm", lower: str = "100 cfm") -> Shop:
    return shop(
        run("lower", port("table saw", "4 in", flow=lower, k=1), wye("upper", "5 in"), gate(), pipe("10 ft"), end()),
        run("upper", port("table saw", "2 in", flow=upper, k=3), pipe("10 ft")),
    )


def test_a_machine_of_two_ports_is_served_only_if_each_is() -> None:
    plenty = case(two_ports()).machine("table saw")
    flows = {p.run: p.flow_m3_s / CFM for p in plenty.ports}
    assert plenty.served
    starved = case(two_ports(upper=f"{flows['upper'] * 1.2} cfm")).machine("table saw")
    assert starved.flow_m3_s > starved.wanted_m3_s
    assert (starved.word, starved.served) == ("short", False)
    assert {p.run: p.enough for p in starved.ports} == {"lower": True, "upper": False}


def test_a_machine_of_two_ports_is_far_more_only_if_each_is() -> None:
    flows = {p.run: p.flow_m3_s / CFM for p in case(two_ports()).machine("table saw").ports}
    found = case(two_ports(upper=f"{flows['upper'] / 1.2} cfm")).machine("table saw")
    assert found.share > 1.5
    assert not found.far_more


def test_a_machines_flow_is_that_of_its_ports_together() -> None:
    found = case(two_ports()).machine("table saw")
    assert found.flow_m3_s == pytest.approx(sum(p.flow_m3_s for p in found.ports), rel=1e-12)
    assert found.wanted_m3_s == pytest.approx(200 * CFM, rel=1e-9)


def section(made: Shop, name: str, *machines: str) -> SectionAnswer:
    return next(s for s in case(made, *machines).sections if s.section == name)


def at_speed(speed: float, rise: str | None = None, **cells: object) -> SectionAnswer:
    """Solve one 4 in pipe whose port lets this speed [m/s] through, at 1.2 kg/m3 and 2000 Pa."""
    table = [*points(("0 cfm", "2000 Pa"), ("2000 cfm", "2000 Pa")), *NO_PARTS]
    row = pipe("0.001 mm", rise=rise) if rise else pipe("0.001 mm")
    made = tight(
        run("trunk", port("saw", "4 in", k=2000 / (0.6 * speed**2), **cells), row, end()),
        table=table,
        air={"density": "1.2 kg/m3"},
        collector={"density": "1.2 kg/m3"},
    )
    return section(made, "trunk 1")


GRADED = 3500 / 3937


@pytest.mark.parametrize(
    ("speed", "word"), [(20.1, "moves"), (19.9, "slow"), (20 * GRADED + 0.1, "slow"), (20 * GRADED - 0.1, "settles")]
)
def test_on_the_flat_speeds_down_to_3500_fpm_are_only_slow(speed: float, word: str) -> None:
    found = at_speed(speed)
    assert found.velocity_m_s == pytest.approx(speed, rel=1e-4)
    assert found.word == word


GRADED_RISE = 3700 / 3937


@pytest.mark.parametrize(
    ("speed", "word"),
    [(20.1, "moves"), (19.9, "slow"), (20 * GRADED_RISE + 0.1, "slow"), (20 * GRADED_RISE - 0.1, "settles")],
)
def test_a_riser_settles_below_3700_fpm(speed: float, word: str) -> None:
    found = at_speed(speed, rise="0.001 mm")
    assert (found.word, found.decides) == (word, "riser")
    assert found.settling_velocity_m_s == pytest.approx(20 * GRADED_RISE, rel=1e-4)


def test_a_fall_is_no_riser() -> None:
    assert at_speed(19.9, rise="-0.001 mm").word == "slow"


@pytest.mark.parametrize(("material", "needed"), [("fine dust", 15.0), ("dry chips", 20.0), ("damp chips", 28.0)])
def test_each_material_needs_its_speed(material: str, needed: float) -> None:
    assert at_speed(25.0, material=material).needed_velocity_m_s == pytest.approx(needed)


def test_thin_air_must_go_faster() -> None:
    made = tight(run("trunk", port("saw", "4 in", k=2), pipe("2 ft"), end()), air={"density": "0.9 kg/m3"})
    assert section(made, "trunk 1").needed_velocity_m_s == pytest.approx(20 * (1.2 / 0.9) ** 0.5)


def test_the_slowest_bore_of_a_section_counts() -> None:
    made = tight(run("trunk", port("saw", "4 in", k=2), reducer("6 in"), pipe("2 ft"), reducer("4 in"), end()))
    found = section(made, "trunk 1")
    assert found.velocity_m_s == pytest.approx(found.flow_m3_s / (0.7853981633974483 * 0.1524**2))


@pytest.mark.parametrize("wide", [[reducer("8 in"), end("8 in")], [end("8 in")], [gate(size="8 in"), end("8 in")]])
def test_what_has_no_length_is_no_duct_in_which_chips_lie(wide: list[dict[str, object]]) -> None:
    made = tight(run("trunk", port("saw", "4 in", k=2), pipe("2 ft"), *wide))
    found = section(made, "trunk 1")
    assert found.velocity_m_s == pytest.approx(found.flow_m3_s / (math.pi / 4 * 0.1016**2), rel=1e-9)


def test_a_section_without_pipe_or_hose_is_not_judged() -> None:
    made = tight(run("trunk", port("saw", "8 in", k=20), gate(), end()))
    found = case(made)
    assert [s.word for s in found.sections] == ["no length"]
    assert (found.chips, found.slowest) == ("moves", None)


def test_a_reducer_at_the_inlet_and_the_inlets_size_in_the_collector_row_judge_alike() -> None:
    written = tight(run("trunk", port("saw", "7 in", k=3), pipe("20 ft"), reducer("8 in"), end()))
    plain = tight(run("trunk", port("saw", "7 in", k=3), pipe("20 ft"), end("8 in")))
    one, two = case(written), case(plain)
    assert (one.word, one.chips, one.may_run) == (two.word, two.chips, two.may_run)
    assert one.sections[0].velocity_m_s == pytest.approx(two.sections[0].velocity_m_s, rel=1e-9)


def test_a_riser_is_judged_in_its_own_bore_not_in_the_slowest_one() -> None:
    made = tight(
        run("trunk", port("saw", "4 in", k=2), pipe("2 ft", rise="2 ft"), reducer("6 in"), pipe("2 ft"), end())
    )
    found = section(made, "trunk 1")
    assert found.riser_velocity_m_s == pytest.approx(found.velocity_m_s * 2.25)


def test_of_two_rises_the_wider_one_counts_where_the_air_is_slower() -> None:
    up = {"rise": "2 ft"}
    made = tight(
        run("trunk", port("saw", "4 in", k=2), pipe("2 ft", **up), reducer("5 in"), pipe("2 ft", **up), end("6 in"))
    )
    found = section(made, "trunk 1")
    assert found.riser_velocity_m_s == pytest.approx(found.flow_m3_s / (math.pi / 4 * 0.127**2), rel=1e-9)


def mixed() -> Shop:
    return shop(
        run(
            "trunk", port("sander", "4 in", material="fine dust", k=1), gate(), wye("wet", "6 in"), pipe("6 ft"), end()
        ),
        run("wet", port("sawmill", "4 in", material="damp chips", k=1), gate()),
    )


def test_the_hardest_material_on_a_section_decides() -> None:
    found = section(mixed(), "trunk 2", "sander", "sawmill")
    assert (found.material, found.needed_velocity_m_s) == (
        "damp chips",
        pytest.approx(28 * (1.2 / 1.1996) ** 0.5, rel=1e-4),
    )
    assert section(mixed(), "trunk 2", "sander").material == "fine dust"


def test_a_section_that_carries_only_leakage_is_idle() -> None:
    found = section(mixed(), "wet 1", "sander")
    assert (found.word, found.needed_velocity_m_s) == ("idle", None)
    assert found.flow_m3_s > 0.0


def test_a_capped_stub_is_idle() -> None:
    made = shop(run("trunk", cap("6 in"), pipe("6 ft"), wye("drop"), end()), run("drop", port("saw", "4 in", k=1)))
    assert section(made, "trunk 1").word == "idle"


class TestHelpers:
    def made(self) -> Shop:
        sets = {"with help": {"open": ["band saw", "planer"], "helpers": ["planer"]}}
        return two_machines(gates={"sets": sets})

    def case(self) -> Case:
        return ductcalc.check(self.made(), [ductcalc.Ask.gate_set("with help")]).loaded[0]

    def test_a_helpers_own_stretch_carries_no_chips(self) -> None:
        words = {s.section: (s.word, s.needed_velocity_m_s) for s in self.case().sections}
        assert words["drop 1"] == ("no chips", None)
        assert words["trunk 1"][1] is not None and words["trunk 2"][1] is not None

    def test_a_helper_is_open_and_does_not_run(self) -> None:
        planer = self.case().machine("planer")
        assert (planer.open, planer.asked, planer.runs) == (True, True, False)

    def test_a_helper_that_gets_little_is_not_short(self) -> None:
        sets = {
            "with help": {
                "open": ["band saw", "planer"],
                "helpers": ["planer"],
                "flow": {"planer": "5000 cfm", "band saw": "10 cfm"},
            }
        }
        found = ductcalc.check(two_machines(gates={"sets": sets}), [ductcalc.Ask.gate_set("with help")]).loaded[0]
        assert found.lacking == ()

    def test_it_takes_the_same_air_as_if_it_ran(self) -> None:
        both = ductcalc.check(self.made(), [ductcalc.Ask.machines("band saw", "planer")]).loaded[0]
        assert self.case().machine("planer").flow_m3_s == both.machine("planer").flow_m3_s


def test_the_poorest_machine_is_named_first() -> None:
    made = two_machines()
    both = case(made, "band saw", "planer")
    assert both.lacking == tuple(sorted(both.lacking, key=lambda m: m.share))


def test_of_a_case_the_worst_machine_and_the_worst_section_decide() -> None:
    made = two_machines(gates={"sets": {"both": {"open": ["band saw", "planer"], "flow": {"planer": "5000 cfm"}}}})
    both = ductcalc.check(made, [ductcalc.Ask.gate_set("both")]).loaded[0]
    assert both.air == "short" == both.machine("planer").grade
    assert both.slowest is not None and both.chips == both.slowest.word
    assert next(m.machine for m in both.lacking) == "planer"


class TestArrays:
    """Grades of made-up flows through one machine's 4 in pipe."""

    def judged(self, *flows: float, wanted: float = 1.0) -> JudgedCases:
        made = tight(run("trunk", port("saw", "4 in", k=2), pipe("9 ft"), end()), air={"density": "1.2 kg/m3"})
        count, yes = len(flows), np.ones((1, len(flows)), dtype=bool)
        flow = np.array([flows])
        status = np.zeros(count, dtype=np.int8)
        return JudgedCases(Yardstick(build_model(made)), status, yes, yes, yes, np.full((1, count), wanted), flow, flow)

    AREA = math.pi / 4 * 0.1016**2

    def test_limits_are_rows_of_the_tables(self) -> None:
        assert limits().just_short == fact("verdict", "just short share").value == 0.9
        assert limits().level == fact("transport", "graded share").value == pytest.approx(3500 / 3937, abs=1e-4)
        assert limits().riser == fact("transport", "riser share").value == pytest.approx(3700 / 3937, abs=1e-4)
        assert (limits().near, limits().far_more) == (0.03, 1.5)

    def test_air_changes_its_grade_at_nine_tenths_and_at_the_whole(self) -> None:
        below = 1.0 - 1e-6
        shares = (0.5, 0.9 * below, 0.9, below, 1.0, 2.0)
        grades = [AIR[grade] for grade in self.judged(*shares).case_air]
        assert grades == ["short", "short", "just short", "just short", "ok", "ok"]

    def test_chips_change_their_grade_at_both_limits(self) -> None:
        below, full = 1.0 - 1e-6, 20.0 * self.AREA
        shares = (0.5, limits().level * below, limits().level, below, 1.0)
        grades = [CHIPS[grade] for grade in self.judged(*(share * full for share in shares)).case_chips]
        assert grades == ["settles", "settles", "slow", "slow", "moves"]

    def test_what_may_run_is_not_short_and_does_not_settle(self) -> None:
        full = 20.0 * self.AREA
        airs = {"ok": 0.5, "just short": 1.05, "short": 2.0}
        for grade, wish in airs.items():
            for share, chips in ((1.0, "moves"), (0.95, "slow"), (0.8, "settles")):
                found = self.judged(share * full, wanted=wish * share * full)
                assert (AIR[found.case_air[0]], CHIPS[found.case_chips[0]]) == (grade, chips)
                assert found.may_run[0] == (grade != "short" and chips != "settles")
                assert found.well[0] == (grade == "ok" and chips != "settles")

    @pytest.mark.parametrize(
        ("air", "speed", "close"),
        [
            (1.5, 1.5, False),
            (1.029, 1.5, True),
            (0.971, 1.5, True),
            (1.031, 1.5, False),
            (0.928, 1.5, False),
            (0.926, 1.5, True),
            (0.874, 1.5, True),
            (0.872, 1.5, False),
            (1.5, 1.029, True),
            (1.5, 0.971, True),
            (1.5, 0.969, False),
            (1.5, 1.031, False),
            (1.02, 0.5, False),  # it may not run for its chips, whatever its air
            (0.5, 1.02, False),  # nor for its air, whatever its chips
            (0.89, 0.98, True),
        ],
    )
    def test_a_verdict_is_close_within_three_per_cent_of_a_limit_that_it_hangs_on(
        self, air: float, speed: float, close: bool
    ) -> None:
        flow = speed * limits().level * 20.0 * self.AREA
        assert self.judged(flow, wanted=flow / air).close[0] == close

    def test_without_an_answer_there_is_no_grade_and_nothing_may_run(self) -> None:
        for status, word in ((1, "beyond the curve"), (2, "not converged")):
            found = replace(self.judged(1.0), status=np.array([status], dtype=np.int8))
            one = Case(found, 0, "saw")
            assert (one.status, one.solved, one.air, one.chips) == (word, False, None, None)
            assert (one.word, one.may_run, one.well, one.close) == ("no answer", False, False, False)
            assert one.machines == () == one.sections

    def test_nothing_settles_where_no_chips_pass(self) -> None:
        found = self.judged(0.0)
        still = found.asked_as(found.asked, np.zeros((1, 1), dtype=bool))
        assert CHIPS[still.case_chips[0]] == "moves" and np.isinf(still.settling_share).all()
        assert AIR[still.case_air[0]] == "ok"

    def test_the_section_told_is_one_of_the_grade_told(self) -> None:
        """A riser at 1.04 of the needed speed is nearer to settling than a level pipe at 0.99, which alone is slow."""
        rising = run("trunk", port("saw", "4 in", k=2), pipe("9 ft", rise="9 ft"), wye("drop", "4 in"), pipe("9 ft"))
        made = tight([*rising, end()], run("drop", port("lathe", "4 in", k=2), gate()), air={"density": "1.2 kg/m3"})
        model = build_model(made)
        full = 20.0 * self.AREA
        shares = {"trunk 1": 1.04, "trunk 2": 0.99, "drop 1": 0.0}
        flow = np.array([[shares[section.name] * full] for section in model.sections])
        saw = np.array([[port.machine == "saw"] for port in model.ports])
        status, wanted = np.zeros(1, dtype=np.int8), np.full((2, 1), 0.01)
        found = Case(JudgedCases(Yardstick(model), status, saw, saw, saw, wanted, saw * full, flow), 0, "saw")
        by_name = {section.section: section for section in found.sections}
        assert by_name["trunk 1"].settling_share < by_name["trunk 2"].settling_share
        assert (found.chips, found.slowest) == ("slow", by_name["trunk 2"])

    def test_taking_and_joining_keep_every_case(self) -> None:
        found = self.judged(0.5, 0.95, 1.0)
        back = joined([found.take([2, 0]), found.take([1])])
        assert back.case_air.tolist() == found.case_air[[2, 0, 1]].tolist()
        assert back.section_flow_m3_s.tolist() == [[1.0, 0.5, 0.95]]
