"""Gates: missing, taken as tight, sets that open too much, neighbours that take too much."""

from __future__ import annotations

import pytest

from ductcalc.answers.check import check
from ductcalc.shop import Shop
from ductcalc.shop.change import changed
from tests import scenes as s
from tests.findings.looking import figures, mended, names, rows, seen

DROPS = ("jointer", "planer", "shaper", "lathe")


def gated(*gates: s.Row, **settings: object) -> Shop:
    """Build a trunk with as many drops as gates beside its own."""
    drops = [name for name, _ in zip(DROPS, gates, strict=False)]
    wyes = [row for name in drops for row in (s.wye(f"{name} drop", "5 in"), s.pipe("6 ft"))]
    runs = [
        s.run(f"{name} drop", s.port(name, "5 in", "540 cfm", k=1.5), gate, s.pipe("5 ft"))
        for name, gate in zip(drops, gates, strict=True)
    ]
    trunk = s.run("trunk", s.port("saw", "5 in", "540 cfm", k=1.5), s.gate(), s.pipe("9 ft"), *wyes, s.end("5 in"))
    return s.shop(trunk, *runs, **settings)


def test_leak_of_nothing_in_the_settings_is_one_finding() -> None:
    shop = gated(s.gate(), s.gate(), gates={"leak": "0 %"})
    (found,) = seen(shop, "tight gates")
    assert (found.name, found.place and found.place.key) == ("shut gates", "gates.leak")
    assert mended(shop, found).settings.gates.leak is None


def test_single_tight_gate_is_named_and_other_leaks_stay_as_written() -> None:
    shop = gated(s.gate(leak="0 %"), s.gate(leak="2 %"), gates={"leak": "0.5 %"})
    (found,) = seen(shop, "tight gates")
    assert (found.name, figures(found.what)[-1]) == ("gate in jointer drop", "0.5 %")
    changed_shop = mended(shop, found)
    leaks = [piece.leak for run in changed_shop.runs for piece in run.pieces if piece.kind == "gate"]
    assert leaks == [None, None, pytest.approx(0.02)]
    assert changed_shop.settings.gates.leak == pytest.approx(0.005)


def test_small_leak_is_not_taken_for_tight() -> None:
    assert names(gated(s.gate(leak="0.1 %"), gates={"leak": "0.2 %"}), "tight gates") == []


def test_tight_gate_of_the_only_machine_is_not_told() -> None:
    shop = s.shop(s.run("a", s.port("saw", "5 in"), s.gate(leak="0 %"), s.pipe("9 ft"), s.end()))
    assert len(seen(shop, "tight gates")) == 1
    assert [found.rule for found in check(shop).findings.all if found.rule == "tight gates"] == []


def test_leak_above_a_twentieth_of_the_bore_is_found_and_mended_to_the_usual() -> None:
    assert names(gated(s.gate(), s.gate(), gates={"leak": "5 %"}), "leaky gates") == []
    shop = gated(s.gate(), s.gate(), gates={"leak": "5.1 %"})
    (found,) = seen(shop, "leaky gates")
    assert (found.name, found.place and found.place.key) == ("shut gates", "gates.leak")
    assert figures(found.what) == ["5.1 %", "1.0 %"]
    assert mended(shop, found).settings.gates.leak is None


def test_single_leaky_gate_is_named_and_other_leaks_stay_as_written() -> None:
    shop = gated(s.gate(leak="50 %"), s.gate(leak="2 %"), gates={"leak": "0 %"})
    (found,) = seen(shop, "leaky gates")
    assert (found.name, found.place) == ("gate in jointer drop", shop.runs[1].pieces[1].place)
    changed_shop = mended(shop, found)
    leaks = [piece.leak for run in changed_shop.runs for piece in run.pieces if piece.kind == "gate"]
    assert leaks == [None, None, pytest.approx(0.02)]


def test_leaky_gate_of_the_only_machine_is_told_all_the_same() -> None:
    shop = s.shop(s.run("a", s.port("saw", "5 in"), s.gate(leak="50 %"), s.pipe("9 ft"), s.end()))
    assert "leaky gates" in [found.rule for found in check(shop).findings.all]


def ungated(*without: str, two_ports: bool = False, **settings: object) -> Shop:
    """Build three machines of which some have no gate."""

    def gate(name: str) -> list[s.Row]:
        return [] if name in without else [s.gate()]

    ports = s.run("guard", s.port("jointer", "4 in", "300 cfm"), s.hose("3 ft", 1), *gate("jointer"))
    wye = [s.wye("guard", "5 in")] if two_ports else []
    return s.shop(
        s.run("trunk", s.port("saw", "5 in", "540 cfm"), *gate("saw"), s.wye("b", "5 in"), s.wye("c", "5 in"), s.end()),
        s.run("b", s.port("jointer", "5 in", "540 cfm"), s.hose("3 ft", 1), *gate("jointer"), *wye, s.pipe("5 ft")),
        s.run("c", s.port("planer", "5 in", "540 cfm"), s.hose("3 ft", 1), *gate("planer")),
        *([ports] if two_ports else []),
        **settings,
    )


def test_gate_is_hung_behind_port_and_hose() -> None:
    shop = ungated("jointer")
    (found,) = seen(shop, "no gate")
    assert found.name == "jointer"
    assert [piece.kind for piece in mended(shop, found).runs[1].pieces] == ["port", "flex", "gate", "pipe"]


def test_machine_with_two_ports_and_no_gate_is_one_finding() -> None:
    shop = ungated("jointer", two_ports=True)
    (found,) = seen(shop, "no gate")
    after = mended(shop, found)
    assert [sum(piece.kind == "gate" for piece in run.pieces) for run in after.runs] == [1, 1, 1, 1]


def test_two_of_three_without_gates_are_two_findings() -> None:
    assert names(ungated("jointer", "planer"), "no gate") == ["jointer", "planer"]


def test_shop_without_any_gate_is_one_finding() -> None:
    shop = ungated("saw", "jointer", "planer")
    (found,) = seen(shop, "no gate")
    assert found.name == "all 3 machines"
    assert [sum(piece.kind == "gate" for piece in run.pieces) for run in mended(shop, found).runs] == [1, 1, 1]


def test_machine_with_its_own_blower_needs_no_gate() -> None:
    shop = ungated("jointer", machines={"jointer": {"own_blower": "1 inwg"}})
    assert names(shop, "no gate") == []


def test_only_machine_needs_no_gate() -> None:
    shop = s.shop(s.run("a", s.port("saw", "5 in"), s.pipe("9 ft"), s.end()))
    assert names(shop, "no gate") == []


def test_capped_port_needs_no_gate() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "5 in"), s.gate(), s.wye("b", "5 in"), s.pipe("9 ft"), s.end()),
        s.run("b", s.port("lathe", "5 in", "off"), s.pipe("5 ft")),
    )
    assert names(shop, "no gate") == []


def neighbours(wish: str, opening: str = "", **cells: object) -> Shop:
    """Build a far machine and a near one that run together."""
    gate = s.gate(opening=opening) if opening else s.gate()
    return s.shop(
        s.run("far", s.port("saw", "5 in", "700 cfm", k=2.5), s.gate(), s.pipe("30 ft"), s.wye("near", "5 in"),
              s.pipe("9 ft"), s.end()),
        s.run("near", s.port("jointer", "5 in", wish, k=2.5), gate, s.pipe("3 ft")),
        gates={"sets": {"both": ["saw", "jointer"]}},
        **cells,
    )  # fmt: skip


def test_greedy_neighbour_keeps_what_it_wants_when_its_gate_is_shut_as_far_as_told() -> None:
    shop = neighbours("380 cfm")
    (found,) = seen(shop, "greedy neighbour")
    after = check(changed(shop, [found.change] if found.change else []))
    both = next(case for case in after.loaded if case.name == "both")
    assert both.machine("jointer").served
    assert both.machine("saw").flow_m3_s > check(shop).loaded[-1].machine("saw").flow_m3_s


def test_greedier_neighbour_is_shut_further() -> None:
    openings = []
    for wish in ("430 cfm", "280 cfm"):
        (found,) = seen(neighbours(wish), "greedy neighbour")
        openings.append(float(figures(found.cure)[0].split(" %")[0]))
    assert openings[0] > openings[1]


def test_neighbour_that_takes_no_more_than_its_share_is_left_alone() -> None:
    assert names(neighbours("540 cfm"), "greedy neighbour") == []


def test_gate_that_is_shut_that_far_already_is_no_finding() -> None:
    assert names(neighbours("380 cfm", "0.375"), "greedy neighbour") == []


def crowd(*opened: str, count: int = 3) -> Shop:
    return gated(*[s.gate()] * count, gates={"sets": {"rush": list(opened)}})


def test_set_of_every_machine_is_seen_from_four_machines_on() -> None:
    assert names(crowd("saw", *DROPS[:3]), "all at once") == ['set "rush"']
    assert names(crowd("saw", *DROPS[:2], count=2), "all at once") == []


def test_set_of_every_machine_is_held_against_what_the_largest_alone_wants() -> None:
    flows = (300, 500, 350, 400)
    runs = [s.run(f"d{n}", s.port(f"m{n}", "4 in", flow=f"{flow} cfm"), s.gate()) for n, flow in enumerate(flows)]
    wyes = [s.wye(f"d{n}", "8 in") for n in range(1, 4)]
    runs[0] = s.run("d0", s.port("m0", "4 in", flow="300 cfm"), s.gate(), *wyes, s.end())
    (found,) = seen(s.shop(*runs, gates={"sets": {"rush": ["m0", "m1", "m2", "m3"]}}), "all at once")
    assert found.share == pytest.approx(1.0 - 500 / 1550)


def test_set_that_leaves_one_machine_out_is_no_finding() -> None:
    assert names(crowd("saw", *DROPS[:2]), "all at once") == []


def test_machine_that_is_off_does_not_count_among_all() -> None:
    shop = crowd("saw", *DROPS[:3], count=4)
    assert names(shop, "all at once") == []
    assert rows(shop, "all at once") == []


def test_copied_run_without_a_gate_is_told_once_where_it_is_written() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "5 in"), s.gate(), s.wye("b", "5 in"), s.wye("c", "5 in"), s.end()),
        s.run("b", s.port("lathe", "4 in"), s.pipe("5 ft")),
        s.run("c", s.piece("like", machine="jointer", joins="b")),
    )
    assert names(shop, "no gate") == ["lathe"]


def one_gate(*own: s.Row, second: str = "lathe") -> Shop:
    return s.shop(
        s.run("trunk", s.port("saw", "4 in"), *own, s.pipe("9 ft"), s.wye("b", "5 in"), s.gate(), s.pipe("9 ft"),
              s.end()),
        s.run("b", s.port(second, "4 in"), *own, s.pipe("9 ft")),
    )  # fmt: skip


def test_gate_behind_a_wye_that_opens_two_machines_is_told_and_mended_by_a_gate_in_each_branch() -> None:
    (found,) = seen(one_gate(), "shared gate")
    assert (found.place and found.place.row, found.name) == (4, "gate in trunk")
    right = mended(one_gate(), found)
    assert names(right, "shared gate") == []
    assert [case.opened_with for case in check(right).loaded] == [(), ()]


def test_gate_behind_a_wye_is_all_right_where_each_machine_has_its_own_or_both_ports_are_one_machine() -> None:
    assert names(one_gate(s.gate()), "shared gate") == []
    assert names(one_gate(second="saw"), "shared gate") == []
