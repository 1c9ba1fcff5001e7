"""Gate sets as a whole: named sets, helpers, many machines, what has no answer, what is always open."""

from __future__ import annotations

from itertools import combinations

import pytest

import ductcalc
from ductcalc.answers.gates.gates import Gates, _refuse_too_many, gates
from ductcalc.answers.gates.sorting import counts_by_size, exit_code, groups_that_may_run, sorted_singles, worth_telling
from ductcalc.errors import InputError
from ductcalc.shop import Shop
from tests.gate_shops import row_of_machines, star
from tests.scenes import CFM, NO_PARTS, end, gate, hose, pipe, points, port, run, shop, wye

ABC = ("a", "b", "c")
MODEST = {"open": ["a", "c"], "flow": {"a": "460 cfm"}}
GREEDY = {"open": ["a", "c"], "flow": {"a": "560 cfm"}}


def named(**sets: object) -> Gates:
    return gates(row_of_machines(ABC, gates={"sets": sets}))


class TestNamedSets:
    def test_a_set_is_judged_by_its_own_wanted_flows(self) -> None:
        found = named(less={"open": ["a"], "flow": {"a": "100 cfm"}}, more={"open": ["a"], "flow": {"a": "900 cfm"}})
        less, more = found.named
        assert (less.name, less.word, more.word) == ("less", "ok", "short")
        (before,) = found.singles[0].asked_machines
        for case in (less, more):
            assert case.machine("a").flow_m3_s == before.flow_m3_s
        assert more.machine("a").wanted_m3_s == pytest.approx(900 * CFM)
        assert more.machine("a").ports[0].wanted_m3_s == pytest.approx(900 * CFM)

    def test_a_helpers_own_stretch_carries_no_chips(self) -> None:
        plain = named().pair("a", "c")
        helping = named(helped={"open": ["a", "c"], "helpers": ["a"]}).named[0]
        assert plain is not None and plain.slowest is not None
        assert (plain.word, plain.slowest.section) == ("settles", "main 2")
        assert [m.helper for m in helping.asked_machines] == [True, False]
        assert (helping.running, helping.helping, helping.word) == (("c",), ("a",), "ok")
        assert [m.flow_m3_s for m in helping.machines] == [m.flow_m3_s for m in plain.machines]

    def test_a_helper_gate_for_a_named_set_is_weighed_by_the_sets_own_wanted_flows(self) -> None:
        found = named(greedy=GREEDY, modest=MODEST)
        helped = {h.before.name: h for h in found.helped}
        names = ("a, c", "modest", "greedy")
        assert [helped[name].helpers for name in names] == [("b",)] * 3
        after = [helped[name].after for name in names]
        assert [case and case.word for case in after] == ["ok", "just short", "short"]
        assert [case and case.machine("a").wanted_m3_s / CFM for case in after] == pytest.approx([330, 460, 560])

    def test_a_gate_that_leaves_somebody_short_is_no_help_but_stands_beside_the_other_cures(self) -> None:
        found = named(greedy=GREEDY)
        told = {h.before.name for h in worth_telling(found)}
        assert "a, c" in told and "greedy" not in told
        cure = next(c for c in found.uncured if c.before.name == "greedy")
        assert cure.helped is not None and cure.helped.helpers == ("b",) and not cure.helped.cured
        assert cure.helped.after is not None and cure.helped.after.word == "short"

    def test_a_gate_that_leaves_somebody_a_little_short_helps(self) -> None:
        found = named(modest=MODEST)
        helped = next(h for h in worth_telling(found) if h.before.name == "modest")
        assert helped.cured and helped.after is not None and helped.after.word == "just short"
        assert not found.uncured

    def test_company_is_only_what_lets_a_machine_run(self) -> None:
        found = gates(starving(greedy=True))
        helped = {h.before.name: h for h in found.helped}
        assert set(helped) == {"bench", "hungry bench"}
        assert [name for name, h in helped.items() if h.after and h.after.may_run] == ["bench"]
        assert found.needs_company == (("bench", ("saw",)),)
        assert [h.before.name for h in worth_telling(found)] == ["bench"]


class TestExitCode:
    def test_fine(self) -> None:
        assert exit_code(named()) == 0

    def test_a_short_named_set(self) -> None:
        assert exit_code(named(more={"open": ["a"], "flow": {"a": "900 cfm"}})) == 1

    def test_a_settling_machine(self) -> None:
        assert exit_code(gates(starving())) == 1

    def test_no_answer(self) -> None:
        found = gates(beyond())
        assert exit_code(found) == 3
        assert [a.word for a in found.unanswered] == ["no answer"] * 2
        assert [a.asked_machines for a in (*found.singles, *found.together)] == [()] * 3
        assert [a.asked for a in (*found.singles, *found.together)] == [("a",), ("b",), ("a", "b")]
        assert not found.largest


def starving(greedy: bool = False) -> Shop:
    """Build one small port on a wide main and a large one beside it; greedy: a set in which it wants far more air."""
    greed = {"hungry bench": {"open": ["bench"], "flow": {"bench": "400 cfm"}}} if greedy else {}
    return shop(
        run(
            "main",
            port("bench", "3 in", flow="200 cfm", k=1),
            gate(),
            pipe("6 ft"),
            wye("drop", "6 in"),
            pipe("20 ft"),
            end(),
        ),
        run("drop", port("saw", "6 in", flow="600 cfm", k=1), gate(), pipe("6 ft")),
        gates={"sets": greed},
    )


def beyond() -> Shop:
    """Build two wide machines on a curve that ends too early."""
    short = [*points(("0 cfm", "10 inwg"), ("200 cfm", "9.5 inwg")), *NO_PARTS]
    return row_of_machines(ABC[:2], table=short)


class TestCompany:
    def test_a_machine_that_needs_company_names_its_helper(self) -> None:
        found = gates(starving())
        assert found.needs_company == (("bench", ("saw",)),)
        sorted_ = sorted_singles(found)
        assert [a.name for a in sorted_.may_run] == ["saw"]
        assert [h.before.name for h in sorted_.company] == ["bench"]

    def test_a_helper_downstream_of_the_slow_section_cures_nothing(self) -> None:
        slow_drop = shop(
            run("main", port("bench", "5 in", flow="200 cfm", k=30), gate(), pipe("6 ft"), wye("drop", "5 in"), end()),
            run("drop", port("saw", "5 in", flow="500 cfm", k=1), gate(), pipe("6 ft")),
        )
        found = gates(slow_drop)
        bench = found.singles[0]
        assert bench.slowest is not None and bench.slowest.section == "main 1"
        assert not found.needs_company
        assert [cure.before.name for cure in found.uncured] == ["bench"]

    def test_a_machine_never_served(self) -> None:
        found = gates(row_of_machines(ABC, gates={}))
        assert found.never_served == ()
        greedy = shop(
            run("main", port("hog", "4 in", flow="900 cfm", k=9), gate(), pipe("6 ft"), wye("drop", "6 in"), end()),
            run("drop", port("saw", "6 in", flow="300 cfm", k=1), gate(), pipe("6 ft")),
        )
        assert gates(greedy).never_served == ("hog",)

    @pytest.mark.parametrize(("flow", "words", "never"), [("800 cfm", "just short", False), ("900 cfm", "short", True)])
    def test_a_machine_at_best_a_little_short_is_not_called_never_served(
        self, flow: str, words: str, never: bool
    ) -> None:
        found = gates(row_of_machines(ABC[:2], flow))
        assert {case.air for case in found.singles} == {words}
        assert found.never_served == (ABC[:2] if never else ())


class TestManyMachines:
    NAMES = tuple(f"machine {n}" for n in range(17))

    def test_past_sixteen_only_small_sets_are_solved_and_it_is_said(self) -> None:
        found = gates(row_of_machines(self.NAMES))
        assert not found.exact
        assert found.solved_sets == 17 + 17 * 16 // 2
        assert found.possible_sets == 2**17 - 1
        assert found.largest == () == found.forbidden

    def test_together_three_solves_triples_too(self) -> None:
        found = gates(row_of_machines(self.NAMES), 3)
        triples = list(combinations(range(17), 3))
        assert found.solved_sets == 17 + 136 + len(triples)
        (count,) = counts_by_size(found)
        assert (count.machines, count.sets) == (3, len(triples))
        cases = [case for case in found.together if len(case.asked) == 3]
        assert count.may_run == sum(case.may_run for case in cases)
        assert count.short == sum(case.air == "short" for case in cases)
        assert count.settles == sum(case.chips == "settles" for case in cases)
        assert count.no_answer == 0
        assert len({count.may_run, count.short, count.settles, len(triples)}) == 4
        fine, first = groups_that_may_run(found, 4)
        assert fine == count.may_run
        assert len(first) == min(fine, 4) and all(case.may_run and len(case.asked) == 3 for case in first)

    def test_sets_a_little_short_of_air_are_counted_among_those_that_may_run(self) -> None:
        triples, fours, fives = counts_by_size(gates(star(5, 3.0, "430 cfm"), 5))
        assert (triples.sets, triples.may_run, triples.short) == (10, 10, 0)
        assert (fours.may_run, fours.short, fives.short) == (0, 5, 1)

    def test_sixteen_are_solved_whole(self) -> None:
        found = gates(row_of_machines(self.NAMES[:10]))
        assert found.exact and found.solved_sets == found.possible_sets == 2**10 - 1

    def test_progress_is_told_up_to_the_total(self) -> None:
        seen: list[tuple[int, int]] = []
        gates(row_of_machines(self.NAMES[:12]), progress=lambda done, total: seen.append((done, total)))
        assert seen[:2] == [(2048, 4095), (4095, 4095)]

    def test_more_together_than_machines_is_all_of_them(self) -> None:
        found = gates(row_of_machines(ABC), 9)
        assert found.most_together == 3
        assert len(found.together) == 4

    def test_one_together_shows_no_pairs(self) -> None:
        found = gates(row_of_machines(ABC), 1)
        assert found.together == () and found.solved_sets == 7
        assert found.pair("a", "b") is None


class TestOpening:
    def test_a_port_that_no_gate_shuts_is_shown_in_every_set(self) -> None:
        free = shop(
            run(
                "main", port("saw", "4 in", flow="350 cfm", k=1), hose("4 ft"), wye("drop", "5 in"), pipe("6 ft"), end()
            ),
            run("drop", port("sander", "4 in", flow="350 cfm", k=1), gate(), pipe("6 ft")),
        )
        found = gates(free)
        saw, sander = found.singles
        assert found.told.always_open == ("saw",)
        assert saw.also_open == ()
        assert [port.machine for port in sander.also_open] == ["saw"]
        case = ductcalc.check(free, [ductcalc.Ask.machines("sander")]).loaded[0]
        assert sander.also_open[0].flow_m3_s == pytest.approx(case.machine("saw").flow_m3_s, rel=1e-9)

    def test_two_machines_behind_one_gate_take_air_together(self) -> None:
        both = shop(
            run("main", port("saw", "4 in", k=1), wye("drop", "5 in"), gate(), pipe("6 ft"), end()),
            run("drop", port("sander", "4 in", k=1), hose("4 ft")),
        )
        found = gates(both)
        assert [[port.machine for port in a.also_open] for a in found.singles] == [["sander"], ["saw"]]

    def test_machines_on_one_hose_are_never_together(self) -> None:
        shared = shop(
            run(
                "main", port("saw", "4 in", k=1), port("sander", k=2), hose("4 ft"), gate(), wye("drop", "5 in"), end()
            ),
            run("drop", port("planer", "4 in", k=1), gate(), pipe("6 ft")),
        )
        found = gates(shared)
        assert found.sharing == (("saw", "sander"),)
        assert found.pair("saw", "sander") is None
        assert found.solved_sets == 5

    def test_every_machine_switched_off_is_an_input_error(self) -> None:
        off = shop(run("main", port("saw", "4 in", flow="off"), gate(), end()))
        with pytest.raises(InputError, match="every machine is switched off"):
            gates(off)

    def test_a_machine_switched_off_is_left_out(self) -> None:
        found = gates(
            shop(
                run("main", port("saw", "4 in", k=1), gate(), wye("drop", "5 in"), end()),
                run("drop", port("planer", "4 in", flow="off", k=1), gate(), pipe("6 ft")),
            )
        )
        assert found.machines == ("saw",)


def test_a_shared_section_must_carry_the_hardest_of_what_runs() -> None:
    mixed = shop(
        run(
            "main",
            port("sander", "4 in", flow="300 cfm", k=1, material="fine dust"),
            gate(),
            wye("drop", "6 in"),
            pipe("9 ft"),
            end(),
        ),
        run("drop", port("planer", "4 in", flow="300 cfm", k=1, material="damp chips"), gate(), pipe("6 ft")),
    )
    found = gates(mixed)
    sander, planer = found.singles
    pair = found.pair("sander", "planer")
    assert sander.slowest is not None and planer.slowest is not None and pair is not None and pair.slowest is not None
    assert (sander.slowest.material, planer.slowest.material) == ("fine dust", "damp chips")
    assert pair.slowest.material == "damp chips"
    assert pair.slowest.needed_velocity_m_s == planer.slowest.needed_velocity_m_s > sander.slowest.needed_velocity_m_s


def test_too_many_sets_are_refused_with_their_number_and_the_most_that_would_do() -> None:
    """Of 20 machines sets of up to 9 are 431,909, of up to 7 they are 137,979 and of up to 8 already 263,949."""
    with pytest.raises(InputError, match=r"sets of up to 9 of 20 machines are 431,909; at most 250,000") as caught:
        _refuse_too_many(20, 9)
    assert "--together 7 (137,979 sets)" in caught.value.problems[0].hint
