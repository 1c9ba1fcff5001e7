"""Whose air is improved, what is refused, prices, tables."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import ductcalc
from ductcalc.answers.improve.candidate import NEVER_FIRST
from ductcalc.answers.improve.improve import Improve, improve
from ductcalc.answers.parts.parts import parts
from ductcalc.errors import InputError
from ductcalc.shop.change import changed
from ductcalc.shop.parts import PartName, Price
from ductcalc.shop.settings import GateSet
from ductcalc.tables.what_if import read_changes
from tests.answers.improve.full import shop_with, told
from tests.scenes import CFM, NO_PARTS, elbow, end, gate, hose, pipe, points, port, run, shop, two_machines, wye

CREAMERY = ductcalc.read_shop("examples/creamery")
PRICES = (
    Price(PartName("pipe"), 24.0),
    Price(PartName("flex"), 3.5),
    Price(PartName("elbow"), 11.0),
    Price(PartName("reducer"), 8.0),
    Price(PartName("wye"), 30.0),
    Price(PartName("gate"), 15.0),
    Price(PartName("coupling"), 2.0),
    Price(PartName("clamp"), 1.0),
    Price(PartName("hanger"), 0.5),
    Price(PartName("sealant"), 6.0),
)


@cache
def of_creamery() -> Improve:
    """Return the first example's answer, worked out once."""
    return improve(CREAMERY)


def test_the_shortest_port_is_the_subject_by_default() -> None:
    answer = of_creamery()
    assert (answer.subject.machine, answer.subject.alone, answer.exit_code) == ("planer", True, 1)
    assert answer.air_m3_s / CFM == pytest.approx(554, abs=0.5)


def test_without_anything_short_it_is_the_worst_branch_alone() -> None:
    found = two_machines()
    check = ductcalc.check(found)
    assert not any(case.lacking for case in check.loaded)
    answer = improve(found)
    assert answer.subject.machine == check.worst.machine and answer.subject.alone


def test_a_machine_whose_chips_settle_is_the_subject_before_one_that_is_short() -> None:
    both = shop(
        run("main", port("lathe", "3 in", flow="150 cfm"), gate(), pipe("8 ft"), wye("drop", "6 in"), pipe("9 ft"),
            end()),
        run("drop", port("planer", "5 in", flow="1200 cfm"), gate(), pipe("6 ft")),
    )  # fmt: skip
    found = {case.name: (bool(case.settling), case.air) for case in ductcalc.check(both).loaded}
    assert found == {"lathe": (True, "ok"), "planer": (False, "short")}
    assert improve(both).subject.machine == "lathe"
    gates = both.settings.gates._replace(sets=(GateSet("turning", ("lathe", "planer"), ("planer",)),))
    sets = replace(both, settings=replace(both.settings, gates=gates))
    assert improve(sets).subject.machine == "planer"


def test_a_set_that_may_not_run_is_the_subject_before_a_machine_that_is_just_short() -> None:
    found = two_machines(gates={"sets": {"both": {"open": ["band saw", "planer"], "flow": {"planer": "1400 cfm"}}}})
    wants = ductcalc.check(found, [ductcalc.Ask.machines("planer")]).loaded[0].machine("planer").flow_m3_s / CFM
    near = changed(found, read_changes(found, [f"drop: port flow = {1.02 * wants:.0f} cfm",
                                               "trunk: wye size = 5 in", "trunk: pipe 2 size = 5 in"]))  # fmt: skip
    cases = {case.name: (case.may_run, case.air) for case in ductcalc.check(near).loaded}
    assert cases["planer"] == (True, "just short") and not cases["both"][0]
    assert improve(near).subject.choice.name == "both"


def test_the_first_advice_in_the_creamery_is_at_the_planers_own_last_feet() -> None:
    found = of_creamery().unharming
    assert found is not None and found.candidates[0].section == "planer drop 1" and found.effort == "free"


def test_two_machines_that_starve_each_other_run_one_at_a_time() -> None:
    found = improve(ductcalc.read_shop("examples/joinery-class"), set_name="sawing and milling").unharming
    assert found is not None and found.kinds == ("one at a time",) and found.cures


def test_no_advice_begins_with_a_last_resort_and_they_stand_last() -> None:
    leads = [found.leads for found in of_creamery().gains]
    assert leads == sorted(leads, reverse=True) and {True, False} == set(leads)
    assert {found.kinds[0] for found in of_creamery().gains if not found.leads} <= set(NEVER_FIRST)


def test_a_machine_and_a_set_may_be_named_in_any_letter_case() -> None:
    found = two_machines(gates={"sets": {"both": ["band saw", "planer"]}})
    assert improve(found, "Planer").subject.machine == "planer"
    assert improve(found, set_name="BOTH").subject.choice.name == "both"


@pytest.mark.parametrize(
    ("machine", "set_name", "said"),
    [
        ("jointr", None, "did you mean jointer"),
        (None, "two sows", "did you mean two saws"),
        ("resaw", "two saws", "one of them"),
    ],
)  # fmt: skip
def test_unknown_names_and_both_at_once_are_refused(machine: str | None, set_name: str | None, said: str) -> None:
    with pytest.raises(InputError, match=said):
        improve(CREAMERY, machine, set_name)


def test_a_shop_without_a_collector_is_refused() -> None:
    with pytest.raises(InputError, match="has no blower curve"):
        improve(shop(run("hose", port("saw", "4 in"), pipe("9 ft"), end()), table=()))


def test_helpers_of_a_set_are_not_its_poorest() -> None:
    both = {"open": ["band saw", "planer"], "helpers": ["planer"], "flow": {"planer": "1200 cfm"}}
    case = ductcalc.check(two_machines(gates={"sets": {"both": both}}), [ductcalc.Ask.gate_set("both")]).loaded[0]
    assert case.machine("planer").flow_m3_s / case.machine("planer").wanted_m3_s < 0.9
    assert improve(two_machines(gates={"sets": {"both": both}}), set_name="both").subject.machine == "band saw"


def test_a_served_and_moving_subject_ends_with_0() -> None:
    served = shop(run("hose", port("saw", "4 in", flow="400 cfm"), gate(), pipe("9 ft"), end()))
    assert improve(served).exit_code == 0
    settling = improve(two_machines())
    assert not settling.case.lacking and settling.exit_code == 1


def test_a_case_beyond_the_curve_has_no_answer_and_nothing_is_tried() -> None:
    short = [*points(("0 cfm", "10 inwg"), ("60 cfm", "9 inwg")), *NO_PARTS]
    answer = improve(shop(run("hose", port("saw", "4 in"), pipe("9 ft"), end()), table=short))
    assert (answer.exit_code, answer.case.status, answer.gains, answer.tried) == (3, "beyond the curve", (), 0)


def test_without_prices_nothing_costs() -> None:
    answer = of_creamery()
    assert not answer.priced and all(found.price is None and found.gain_for_money is None for found in told(answer))


@cache
def priced() -> Improve:
    return improve(CREAMERY, prices=PRICES)


def test_a_price_is_what_the_changed_shop_takes_beyond_what_hangs_now() -> None:
    answer = priced()
    hose_off = next(found for found in answer.gains if found.kinds == ("shorter hose",))
    assert hose_off.price is not None and hose_off.price.cost == 0.0 and hose_off.gain_for_money is None
    swapped = next(found for found in answer.gains if found.kinds == ("pipe for hose",))
    assert swapped.price is not None
    # nine feet of pipe from one ten-foot stick, two elbows; its pieces are joined by themselves
    bought = parts(shop_with(CREAMERY, swapped.candidates), (), PRICES)
    assert swapped.price.cost < bought.total
    assert swapped.price.cost >= 24.0 + 2 * 11.0
    assert swapped.gain_for_money == pytest.approx(swapped.gain_m3_s / swapped.price.cost)


def test_what_buys_no_part_costs_nothing_however_long_the_pipes_are() -> None:
    found = shop(
        run("main", port("saw", "4 in", flow="700 cfm", style="plain"), hose("33 ft", 2), pipe("24 ft"),
            wye("drop", "6 in"), pipe("47 ft"), elbow(), end()),
        run("drop", port("sander", "4 in"), gate(), pipe("11 ft")),
    )  # fmt: skip
    gains = improve(found, "saw", prices=PRICES).gains
    costs = {one.kinds[0]: one.price.cost for one in gains if one.price is not None}
    free = {"faster blower", "smoother hood", "shorter hose"}
    assert free <= set(costs)
    assert {kind: cost for kind, cost in costs.items() if kind in free} == dict.fromkeys(free, 0.0)
    assert costs["pipe for hose"] > 0.0


def test_ports_hoods_and_motors_have_costs_beyond_parts() -> None:
    told_of = {found.kinds[0]: found for found in priced().gains}
    for kind in ("bigger port", "faster blower", "outdoors"):
        price = told_of[kind].price
        assert price is not None and not price.whole and told_of[kind].gain_for_money is None
    whole = told_of["pipe for hose"].price
    assert whole is not None and whole.whole


def test_what_has_no_price_is_counted() -> None:
    hung = shop(run("hose", port("saw", "4 in", flow="600 cfm"), hose("9 ft", 1), pipe("9 ft"), end()))
    swapped = next(found for found in improve(hung, prices=PRICES[:1]).gains if found.kinds == ("pipe for hose",))
    assert swapped.price is not None and not swapped.price.whole and swapped.gain_for_money is None


def test_prices_of_the_settings_count_too() -> None:
    listed = [{"piece": "pipe", "price": 24.0}, {"piece": "elbow", "price": 11.0}]
    found = shop(
        run("hose", port("saw", "4 in", flow="600 cfm"), hose("9 ft", 1), pipe("9 ft"), end()), parts={"prices": listed}
    )
    assert improve(found).priced


def test_frames_hold_what_is_told() -> None:
    answer = of_creamery()
    gains, effects = answer.frame(), answer.frame("effects")
    assert list(gains["gain_m3_s"]) == [found.gain_m3_s for found in told(answer)]
    assert gains["together"].iloc[0] == 1 and gains["together"].iloc[-1] == 3
    assert len(effects) == sum(len(found.effects) for found in told(answer))
    with pytest.raises(ValueError, match="gains, effects"):
        answer.frame("other")


def test_what_was_changed_already_is_kept_and_built_on() -> None:
    thinner = changed(CREAMERY, read_changes(CREAMERY, ["planer drop: flex length = 3 ft"]))
    answer = improve(thinner)
    assert answer.changes == thinner.changes
    assert "shorter hose" not in {found.kinds[0] for found in answer.gains}


def test_a_set_of_one_machine_is_still_a_set() -> None:
    found = two_machines(gates={"sets": {"planing": ["planer"]}})
    assert found.settings.gates.sets == (GateSet("planing", ("planer",)),)
    answer = improve(found, set_name="planing")
    assert not answer.subject.alone and answer.subject.machine == "planer"


def test_a_machine_that_is_always_open_is_improved_too() -> None:
    found = shop(
        run("main", port("saw", "4 in", flow="500 cfm"), pipe("9 ft"), wye("drop", "5 in"), pipe("9 ft"), end()),
        run("drop", port("sander", "4 in"), gate(), pipe("4 ft")),
    )
    assert improve(found, "sander").subject.machine == "sander"
