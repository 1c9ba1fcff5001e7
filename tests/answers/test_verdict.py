"""What a verdict is said with."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc.answers.check import Check, check
from ductcalc.answers.gates.gates import gates
from ductcalc.answers.losses import losses
from ductcalc.answers.verdict import (
    by_effect,
    counts,
    deciding_case,
    effect,
    exit_code,
    first_to_mend,
    heaviest_groups,
    key_figures,
    pairs,
    poorest,
    settling_places,
    way_out,
)
from ductcalc.shop import Shop
from ductcalc.tables import read_shop
from tests.scenes import NO_PARTS, SHOPS, end, gate, pipe, points, port, run, shop, wye


@pytest.fixture(scope="module")
def verdict() -> Check:
    return check(read_shop(SHOPS / "cellar"))


def test_pairs_are_the_loaded_and_the_clean_filter(verdict: Check) -> None:
    assert all((pair.loaded.filter, pair.clean.filter) == ("loaded", "clean") for pair in pairs(verdict))
    assert [pair.loaded.name for pair in pairs(verdict) if pair.alone] == ["band saw", "planer", "table saw"]


def test_a_case_far_below_settling_decides_before_one_a_little_short() -> None:
    found = check(
        shop(
            run("main", port("saw", "4 in", flow="500 cfm"), gate(), pipe("9 ft"), wye("side", "9 in"), pipe("9 ft"),
                end()),
            run("side", port("lathe", "8 in", flow="900 cfm", k=40), gate(), pipe("9 ft")),
        )
    )  # fmt: skip
    saw, lathe = found.loaded
    assert (saw.air, saw.chips, lathe.air, lathe.chips) == ("ok", "settles", "short", "settles")
    assert deciding_case(found.loaded) is saw


def test_of_a_set_whose_machines_may_not_even_run_alone_the_worst_of_these_is_mended_first(verdict: Check) -> None:
    decides, first = deciding_case(verdict.loaded), first_to_mend(verdict)
    assert decides is not None and decides.name == "ripping"
    barred = [case for case in verdict.loaded if case.alone and case.name in decides.running and not case.may_run]
    assert barred and first is deciding_case(barred)


def two_on_a_main(bore: str, flow: str, lathe: str = "4 in", **settings: object) -> Shop:
    drop = [gate(), pipe("9 ft")]
    return shop(
        run("main", port("saw", "4 in", flow), *drop, wye("side", bore), pipe("9 ft"), end()),
        run("side", port("lathe", lathe, flow, style="tapered"), *drop),
        **settings,
    )


BOTH = {"sets": {"both": ["saw", "lathe"]}}
WIDE = shop(run("main", port("saw", "4 in"), gate(), pipe("9 ft"), pipe("9 ft", "7 in"), end()))


@pytest.mark.parametrize(
    ("made", "way"),
    [
        (two_on_a_main("6 in", "300 cfm"), "gates"),
        (WIDE, "size"),
        (two_on_a_main("8 in", "350 cfm", "7 in"), "improve"),
        (two_on_a_main("6 in", "650 cfm", "3 in"), "improve"),
    ],
)
def test_settling_chips_lead_to_the_question_that_knows_a_cure(made: Shop, way: str) -> None:
    found = check(made)
    case = deciding_case(found.loaded)
    assert case is not None and case.chips == "settles"
    assert way_out(found, case) == way
    cured = {one.before.name for one in gates(made).helped if one.cured}
    assert (case.name in cured) is (way == "gates")
    runs_then = {one.name for one in ductcalc.size(made).then if one.may_run}
    assert way != "size" or case.name in runs_then


def test_a_set_whose_machines_may_run_one_by_one_leads_to_the_gates() -> None:
    weak = [*points(("0 cfm", "6 inwg"), ("400 cfm", "5 inwg"), ("700 cfm", "1 inwg")), *NO_PARTS]
    found = check(two_on_a_main("4 in", "350 cfm", gates=BOTH, table=weak))
    *alone, both = found.loaded
    assert all(case.may_run for case in alone) and both.chips == "settles"
    assert way_out(found, both) == "gates"


def test_counts_are_those_of_the_cases(verdict: Check) -> None:
    found = counts(verdict)
    assert (found.alone, found.sets) == (3, 2)
    may_run = sum(case.may_run for case in verdict.loaded)
    assert found.alone_may_run + found.sets - len(found.sets_that_may_not) == may_run
    assert found.slow == tuple(case for case in verdict.loaded if case.chips == "slow")
    assert {close.case for close in found.close} >= {case for case in verdict.loaded if case.close}
    assert exit_code(verdict) == (0 if verdict.well else 1)


def test_poorest_is_no_better_than_any_port(verdict: Check) -> None:
    least = poorest(verdict.loaded)
    assert least is not None
    shares = [
        port.flow_m3_s / port.wanted_m3_s
        for case in verdict.loaded
        for machine in case.machines
        if machine.asked and machine.runs
        for port in machine.ports
    ]
    assert least.share == min(shares)


def test_settling_places_name_each_section_once_at_its_worst(verdict: Check) -> None:
    places = settling_places(verdict)
    assert len({place.section.section for place in places}) == len(places)
    for place in places:
        found = [s for case in verdict.loaded for s in case.settling if s.section == place.section.section]
        assert place.section.settling_share == min(section.settling_share for section in found)
        assert place.times == len(found)


def test_margin_is_what_the_collector_has_less_what_is_needed(verdict: Check) -> None:
    figures = key_figures(verdict, verdict.farthest)
    assert figures.available_pa is not None and figures.needed_pa is not None and figures.margin_pa is not None
    assert figures.available_pa - figures.needed_pa == pytest.approx(figures.margin_pa)


def test_assumptions_come_by_their_effect_and_those_without_a_band_last(verdict: Check) -> None:
    effects = list(map(effect, by_effect(verdict)))
    assert effects == sorted(effects, reverse=True)
    assert not by_effect(verdict)[-1].assumption.banded


def test_heaviest_groups_add_up() -> None:
    answer = losses(read_shop(SHOPS / "cellar"), machine="planer")
    heaviest = heaviest_groups(answer)
    sums = {group: share for group, _, share in answer.by_group()}
    assert heaviest.share == pytest.approx(sum(sums[group] for group in heaviest.groups))
    assert heaviest.share >= max(sums.values())
