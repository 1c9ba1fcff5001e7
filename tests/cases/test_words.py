"""The verdict words: served, short, far more; moves, slow, settles, idle."""

from __future__ import annotations

import math

import pytest

import ductcalc
from ductcalc.cases.case import CaseAnswer, SectionAnswer
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


def case(made: Shop, *machines: str) -> CaseAnswer:
    ask = [ductcalc.Ask.machines(*machines)] if machines else None
    return ductcalc.check(made, ask).loaded[0]


def lone(flow: str, table: list[dict[str, object]] = BARE, **settings: object) -> Shop:
    return shop(run("trunk", port("saw", "4 in", flow=flow, k=3), pipe("10 ft"), end()), table=table, **settings)


def got() -> float:
    return case(lone("10 cfm")).machine("saw").flow_m3_s / CFM


@pytest.mark.parametrize(
    ("share", "word", "served"), [(1.001, "short", False), (0.999, "served", True), (0.5, "far more", True)]
)
def test_a_machine_is_judged_by_what_it_gets_of_what_it_wants(share: float, word: str, served: bool) -> None:
    saw = case(lone(f"{got() * share} cfm")).machine("saw")
    assert (saw.word, saw.served) == (word, served)


def test_far_more_begins_at_one_and_a_half_times() -> None:
    assert case(lone(f"{got() / 1.49} cfm")).machine("saw").word == "served"
    assert case(lone(f"{got() / 1.51} cfm")).machine("saw").word == "far more"


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
    assert found.clean(loaded).machine("saw").word == "served"
    assert not found.all_well


def two_ports(upper: str = "100 cfm", lower: str = "100 cfm") -> Shop:
    return shop(
        run("lower", port("table saw", "4 in", flow=lower, k=1), wye("upper", "5 in"), gate(), pipe("10 ft"), end()),
        run("upper", port("table saw", "2 in", flow=upper, k=3), pipe("10 ft")),
    )


def test_a_machine_of_two_ports_is_served_only_if_each_is() -> None:
    plenty = case(two_ports()).machine("table saw")
    flows = {p.run: p.flow_m3_s / CFM for p in plenty.ports}
    assert plenty.served
    starved = case(two_ports(upper=f"{flows['upper'] * 1.1} cfm")).machine("table saw")
    assert starved.flow_m3_s > starved.wanted_m3_s
    assert (starved.word, starved.served) == ("short", False)
    assert {p.run: p.enough for p in starved.ports} == {"lower": True, "upper": False}


def test_a_machine_of_two_ports_is_far_more_only_if_each_is() -> None:
    flows = {p.run: p.flow_m3_s / CFM for p in case(two_ports()).machine("table saw").ports}
    found = case(two_ports(upper=f"{flows['upper'] / 1.2} cfm")).machine("table saw")
    assert found.share > 1.5
    assert found.word == "served"


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


@pytest.mark.parametrize(("speed", "word"), [(20.1, "moves"), (19.9, "settles")])
def test_a_riser_needs_the_full_speed(speed: float, word: str) -> None:
    assert at_speed(speed, rise="0.001 mm").word == word


def test_a_fall_is_no_riser() -> None:
    assert at_speed(19.9, rise="-0.001 mm").word == "slow"


@pytest.mark.parametrize(("material", "needed"), [("fine dust", 15.0), ("dry chips", 20.0), ("damp chips", 28.0)])
def test_each_material_needs_its_speed(material: str, needed: float) -> None:
    assert at_speed(25.0, material=material).needed_velocity_m_s == pytest.approx(needed)


def test_thin_air_must_go_faster() -> None:
    made = tight(run("trunk", port("saw", "4 in", k=2), end()), air={"density": "0.9 kg/m3"})
    assert section(made, "trunk 1").needed_velocity_m_s == pytest.approx(20 * (1.2 / 0.9) ** 0.5)


def test_the_slowest_bore_of_a_section_counts() -> None:
    made = tight(run("trunk", port("saw", "4 in", k=2), reducer("6 in"), pipe("2 ft"), reducer("4 in"), end()))
    found = section(made, "trunk 1")
    assert found.velocity_m_s == pytest.approx(found.flow_m3_s / (0.7853981633974483 * 0.1524**2))


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

    def case(self) -> CaseAnswer:
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
        assert found.short == ()

    def test_it_takes_the_same_air_as_if_it_ran(self) -> None:
        both = ductcalc.check(self.made(), [ductcalc.Ask.machines("band saw", "planer")]).loaded[0]
        assert self.case().machine("planer").flow_m3_s == both.machine("planer").flow_m3_s


def test_the_poorest_machine_is_named_first() -> None:
    made = two_machines()
    both = case(made, "band saw", "planer")
    assert both.short == tuple(sorted(both.short, key=lambda m: m.share))
