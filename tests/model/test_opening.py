"""What is open when machines are named: gates on their paths, ports that nothing shuts, shared hoses, off."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

import ductcalc
from ductcalc.cases.case import Case
from ductcalc.cases.choices import choose_open, ports_named
from ductcalc.model.model import Model, build_model
from ductcalc.model.opening import OpenState
from ductcalc.shop import Shop
from tests.scenes import TIGHT, end, gate, hose, pipe, port, run, shop, two_machines, wye


def opened(made: Shop, *machines: str) -> tuple[Model, OpenState]:
    model = build_model(made)
    return model, model.opening.state(ports_named(model, [choose_open(model, machines)]))


def shut_runs(made: Shop, *machines: str) -> set[str]:
    model, state = opened(made, *machines)
    return {model.sections[n].name for n in np.flatnonzero(state.shut[:, 0])}


def taking(made: Shop, *machines: str) -> set[str]:
    model, state = opened(made, *machines)
    return {model.ports[n].machine for n in np.flatnonzero(state.taking[:, 0])}


def case(made: Shop, *machines: str) -> Case:
    return ductcalc.check(made, [ductcalc.Ask.machines(*machines)]).loaded[0]


def test_naming_a_machine_opens_its_gate_and_shuts_the_others() -> None:
    assert shut_runs(two_machines(), "planer") == {"trunk 1"}
    assert taking(two_machines(), "planer") == {"planer"}


def test_naming_both_machines_opens_both_gates() -> None:
    assert shut_runs(two_machines(), "planer", "band saw") == set()
    assert taking(two_machines(), "planer", "band saw") == {"planer", "band saw"}


def wing() -> Shop:
    """Build a wing of two machines behind a gate on its main, and a saw of its own."""
    return shop(
        run("trunk", port("saw", "4 in", k=1), gate(), pipe("6 ft"), wye("wing", "6 in"), pipe("6 ft"), end()),
        run(
            "wing",
            port("lathe", "4 in", k=1),
            gate(),
            wye("bench drop", "5 in"),
            pipe("9 ft"),
            gate(machine="wing gate"),
        ),
        run("bench drop", port("bench", "4 in", k=1), gate()),
    )


def test_a_gate_on_a_main_is_open_when_something_open_lies_upstream() -> None:
    assert shut_runs(wing(), "bench") == {"trunk 1", "wing 1"}


def test_a_gate_on_a_main_is_shut_when_nothing_upstream_is_open() -> None:
    assert shut_runs(wing(), "saw") == {"wing 1", "wing 2", "bench drop 1"}


def test_a_shut_gate_on_the_main_cuts_the_leak_of_the_gates_behind_it() -> None:
    behind_two = case(wing(), "saw").machine("bench").flow_m3_s
    behind_one = case(wing(), "lathe").machine("bench").flow_m3_s
    assert 0.0 < behind_two < 0.8 * behind_one


def ungated() -> Shop:
    return shop(
        run("trunk", port("saw", "4 in", k=1), gate(), pipe("6 ft"), wye("floor", "6 in"), pipe("6 ft"), end()),
        run("floor", port("floor sweep", "4 in", k=1), pipe("3 ft")),
    )


def test_a_port_without_a_gate_on_its_way_is_always_open() -> None:
    assert taking(ungated(), "saw") == {"saw", "floor sweep"}


def test_an_always_open_port_is_said_and_is_not_asked_for() -> None:
    found = ductcalc.check(ungated(), [ductcalc.Ask.machines("saw")])
    sweep = found.loaded[0].machine("floor sweep")
    assert found.always_open == ("floor sweep",)
    assert (sweep.word, sweep.asked, sweep.runs, sweep.open) == ("open", False, False, True)
    assert sweep.flow_m3_s > 0.1


def test_the_air_of_a_port_that_makes_no_chips_is_not_called_idle() -> None:
    words = {s.section: s.word for s in case(ungated(), "saw").sections}
    assert words["floor 1"] == "no chips"


def test_nothing_is_always_open_where_every_port_has_a_gate_on_its_way() -> None:
    assert ductcalc.check(wing()).always_open == ()


def behind_a_shared_gate(**cells: object) -> Shop:
    """Build two ports whose only common gate stands on the main, the first one with a gate of its own as well."""
    return shop(
        run("trunk", port("saw", "4 in", k=1), pipe("6 ft"), wye("rear", "6 in"), gate(machine="main gate"), end()),
        run("rear", port("lathe", "4 in", **{"k": 1, **cells}), gate(), pipe("3 ft")),
    )


def test_a_port_with_only_a_shared_gate_downstream_is_opened_by_the_other_machine() -> None:
    assert taking(behind_a_shared_gate(), "lathe") == {"saw", "lathe"}
    saw = case(behind_a_shared_gate(), "lathe").machine("saw")
    assert (saw.word, saw.asked) == ("open", False)
    assert saw.flow_m3_s > 0.1


def test_its_section_carries_air_without_chips() -> None:
    words = {s.section: s.word for s in case(behind_a_shared_gate(), "lathe").sections}
    assert words["trunk 1"] == "no chips"


def test_it_is_not_called_always_open() -> None:
    assert ductcalc.check(behind_a_shared_gate()).always_open == ()


class TestOff:
    def gated(self, **settings: object) -> Shop:
        return shop(
            run("trunk", port("saw", "4 in", k=1), gate(), pipe("6 ft"), wye("old", "6 in"), end()),
            run("old", port("old lathe", "4 in", flow="off", k=1), gate(), pipe("3 ft")),
            **settings,
        )

    def without_gate(self) -> Shop:
        return shop(
            run("trunk", port("saw", "4 in", k=1), gate(), pipe("6 ft"), wye("old", "6 in"), end()),
            run("old", port("old lathe", "4 in", flow="off", k=1), pipe("3 ft")),
        )

    def test_with_a_gate_it_is_shut_and_leaks(self) -> None:
        lathe = case(self.gated(), "saw").machine("old lathe")
        assert (lathe.word, lathe.open) == ("off", False)
        assert 0.0 < lathe.flow_m3_s < 0.01

    def test_without_a_gate_it_is_capped_and_takes_nothing(self) -> None:
        found = ductcalc.check(self.without_gate())
        assert found.loaded[0].machine("old lathe").flow_m3_s == 0.0
        capped = [w.assumption for w in found.assumptions if w.assumption.key == "ports capped"]
        assert [a.where for a in capped] == [("old lathe",)]
        assert found.always_open == ()

    def test_it_is_no_case_of_its_own(self) -> None:
        assert [c.name for c in ductcalc.check(self.gated()).loaded] == ["saw"]

    def test_its_wanted_air_is_not_called_assumed(self) -> None:
        keys = [w.assumption.key for w in ductcalc.check(self.gated()).assumptions]
        assert "air wanted" not in keys

    def test_asking_for_it_is_an_error_with_a_repair(self) -> None:
        with pytest.raises(ductcalc.InputError) as caught:
            case(self.gated(), "old lathe")
        assert '"old lathe" is switched off' in caught.value.problems[0].message
        assert "under flow" in caught.value.problems[0].hint

    def test_a_shop_of_which_everything_is_off_is_an_error(self) -> None:
        with pytest.raises(ductcalc.InputError, match="every machine is switched off"):
            ductcalc.check(shop(run("trunk", port("saw", "4 in", flow="off"), end())))


class TestSharedHose:
    def made(self, first_flow: str = "300 cfm", **settings: object) -> Shop:
        return shop(
            run("trunk", port("saw", "4 in", k=1), gate(), pipe("6 ft"), wye("hose", "6 in"), pipe("6 ft"), end()),
            run(
                "hose",
                port("spindle", "4 in", flow=first_flow, k=1),
                port("carving", "3 in", flow="200 cfm", k=4),
                hose("6 ft", size="4 in"),
                gate(),
            ),
            **settings,
        )

    def test_either_machine_alone_stands_on_it(self) -> None:
        assert taking(self.made(), "spindle") == {"spindle"}
        assert taking(self.made(), "carving") == {"carving"}

    def test_the_other_one_gets_nothing_meanwhile(self) -> None:
        found = case(self.made(), "carving")
        assert found.machine("spindle").flow_m3_s == 0.0
        assert found.machine("spindle").word == "shut"
        assert found.machine("carving").flow_m3_s > 0.05

    def test_each_is_charged_its_own_resistance(self) -> None:
        with_k_of_its_own = shop(
            run("trunk", port("saw", "4 in", k=1), gate(), pipe("6 ft"), wye("hose", "6 in"), pipe("6 ft"), end()),
            run("hose", port("carving", "3 in", flow="200 cfm", k=4), hose("6 ft", size="4 in"), gate()),
            **TIGHT,
        )
        alone = case(with_k_of_its_own, "carving").machine("carving").flow_m3_s
        shared = case(self.made(**TIGHT), "carving").machine("carving").flow_m3_s
        assert shared == pytest.approx(alone, rel=1e-9)

    def test_both_together_are_an_error_with_a_repair(self) -> None:
        with pytest.raises(ductcalc.InputError) as caught:
            case(self.made(), "spindle", "carving")
        problem = caught.value.problems[0]
        assert "spindle and carving" in problem.message and "one hose" in problem.message
        assert "one of them" in problem.hint

    def test_everything_open_leaves_the_second_one_shut_and_says_so(self) -> None:
        found = ductcalc.check(self.made(), [ductcalc.Ask.everything()]).loaded[0]
        assert found.asked == ("saw", "spindle")
        assert found.note is not None and "carving left shut" in found.note

    def test_the_first_usable_machine_stands_on_an_ungated_hose_that_nobody_asked_for(self) -> None:
        made = shop(
            run("trunk", port("saw", "4 in", k=1), gate(), wye("hose", "6 in"), end()),
            run("hose", port("spindle", "4 in", k=1), port("carving", "4 in", k=4), hose("6 ft")),
        )
        assert taking(made, "saw") == {"saw", "spindle"}
        assert taking(made, "carving") == {"carving"}
        assert ductcalc.check(made).always_open == ("spindle",)

    def test_a_machine_that_is_off_never_stands_on_the_hose(self) -> None:
        made = shop(
            run(
                "trunk",
                port("spindle", "4 in", flow="off"),
                port("carving", "4 in", k=4),
                wye("a", "6 in"),
                gate(),
                end(),
            ),
            run("a", port("lathe", "4 in", k=1), gate()),
        )
        found = case(made, "lathe")
        assert found.machine("spindle").flow_m3_s == 0.0
        assert found.machine("carving").flow_m3_s > 0.1
        assert found.machine("carving").word == "open"

    def test_the_leak_of_the_shut_hose_belongs_to_the_usable_machine(self) -> None:
        found = case(self.made(first_flow="off"), "saw")
        assert found.machine("spindle").flow_m3_s == 0.0
        assert found.machine("carving").flow_m3_s > 0.0


def test_a_tight_shut_gate_lets_nothing_through() -> None:
    found = case(two_machines(gates={"leak": "0 %"}), "planer")
    assert found.machine("band saw").flow_m3_s == 0.0
    assert found.gate_leak_m3_s == 0.0


def test_a_larger_leak_lets_more_through() -> None:
    flows = [case(two_machines(gates={"leak": share}), "planer").gate_leak_m3_s for share in ("0.5 %", "1 %", "3 %")]
    assert all(a is not None and b is not None and 0.0 < a < b for a, b in pairwise(flows))
