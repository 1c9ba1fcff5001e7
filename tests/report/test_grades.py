"""Grades on the gate report and the wall card: every edge from both sides, weak ones in words, what must not run."""

from __future__ import annotations

import csv
import io
import math
from functools import cache
from typing import Any

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.gates.card import Card, card
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.sorting import exit_code
from ductcalc.report.card import card_blocks, card_csv, card_document
from ductcalc.report.case_table import case_table
from ductcalc.report.display import Display
from ductcalc.report.gates.data import gates_csv, gates_document
from ductcalc.report.gates.tables import pair_matrix
from ductcalc.report.gates.text import gates_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.shop import Shop
from tests.answers.gates.test_told import two_ports
from tests.gate_shops import BARE, WEAK, random_shop, row_of_machines, star
from tests.scenes import CFM, NO_PARTS, end, gate, hose, pipe, points, port, run, shop, tight, wye

INCH = Display("inch")
AREA_M2 = math.pi / 4.0 * 0.1016**2
NEEDED_M_S = 20.0
BELOW, ABOVE = 1.0 - 1e-6, 1.0 + 1e-6
JUST_SHORT, LEVEL, RISER = 0.9, 0.889, 0.9398
MAY, MUST_NOT = "MAY RUN ALONE", "MUST NOT RUN until"


def at_speed(k: float, flow: str, rises: bool) -> Shop:
    """One machine on a hair of pipe, held back by its port alone, on a blower of even pressure."""
    row = pipe("0.001 mm", rise="0.001 mm" if rises else None)
    table = [*points(("0 cfm", "2000 Pa"), ("2000 cfm", "2000 Pa")), *NO_PARTS]
    air: dict[str, Any] = {"air": {"density": "1.2 kg/m3"}, "collector": {"density": "1.2 kg/m3"}}
    return tight(run("main", port("saw", "4 in", flow=flow, k=k), gate(k=0), row, end()), table=table, **air)


@cache
def lone(air: float, speed: float, rises: bool = False) -> Gates:
    """Solve one machine that gets this share of the air it wants, at this share of the speed that its chips need."""
    target = speed * NEEDED_M_S
    k = 2000.0 / (0.6 * target**2)
    for _ in range(3):
        (case,) = gates(at_speed(k, "2 cfm", rises)).singles
        k *= (case.section_flow_m3_s[0] / AREA_M2 / target) ** 2
    found = gates(at_speed(k, f"{target * AREA_M2 / air!r} m3/s", rises))
    assert found.singles[0].section_flow_m3_s[0] / AREA_M2 == pytest.approx(target, rel=1e-8)
    return found


def report(found: Gates) -> str:
    return rendered(gates_blocks(found, INCH), Page(None))


def on_card(found: Card, width: int | None = None) -> str:
    return rendered(card_blocks(found, INCH), Page(width)).replace("\u00a0", " ")


def under(text: str, heading: str) -> list[str]:
    """Return the lines below a heading that starts so; none where it does not stand."""
    lines = text.splitlines()
    start = next((number for number, line in enumerate(lines) if line.startswith(heading)), len(lines))
    below = lines[start + 1 :]
    return [line.strip() for line in below[: below.index("") if "" in below else None]]


EDGES = [
    (JUST_SHORT * BELOW, 1.2, False, "short"),
    (JUST_SHORT * ABOVE, 1.2, False, "just short"),
    (BELOW, 1.2, False, "just short"),
    (ABOVE, 1.2, False, "ok"),
    (1.2, LEVEL * BELOW, False, "settles"),
    (1.2, LEVEL * ABOVE, False, "slow"),
    (1.2, BELOW, False, "slow"),
    (1.2, ABOVE, False, "ok"),
    (1.2, RISER * BELOW, True, "settles"),
    (1.2, RISER * ABOVE, True, "slow"),
    (1.2, BELOW, True, "slow"),
    (1.2, ABOVE, True, "ok"),
    (JUST_SHORT * ABOVE, LEVEL * ABOVE, False, "just short, slow"),
    (JUST_SHORT * BELOW, LEVEL * BELOW, False, "short, settles"),
    (JUST_SHORT * BELOW, LEVEL * ABOVE, False, "short, slow"),
    (JUST_SHORT * ABOVE, RISER * BELOW, True, "just short, settles"),
]
"""Shares of the wanted air and of the needed speed, whether the pipe rises, the grades."""
VERDICTS = {
    "ok": "ok",
    "slow": "ok, chips slow",
    "settles": "CHIPS SETTLE",
    "just short": "just short",
    "just short, slow": "just short, chips slow",
    "just short, settles": "just short, CHIPS SETTLE",
    "short": "SHORT",
    "short, slow": "SHORT, chips slow",
    "short, settles": "SHORT, CHIPS SETTLE",
}
ON_CARD = {
    "ok": (MAY, "saw"),
    "slow": (MAY, "saw (chips move slowly)"),
    "just short": (MAY, "saw (a little short of air)"),
    "just short, slow": (MAY, "saw (a little short of air, chips move slowly)"),
    "settles": (MUST_NOT, "saw: chips settle in the pipe"),
    "just short, settles": (MUST_NOT, "saw: chips settle in the pipe"),
    "short": (MUST_NOT, "saw: too little air"),
    "short, slow": (MUST_NOT, "saw: too little air"),
    "short, settles": (MUST_NOT, "saw: too little air, and chips settle in the pipe"),
}


@pytest.mark.parametrize(("air", "speed", "rises", "word"), EDGES)
class TestEdges:
    def test_gate_report(self, air: float, speed: float, rises: bool, word: str) -> None:
        found, may_run = lone(air, speed, rises), "settles" not in word and not word.startswith("short")
        (case,) = found.singles
        assert (case.word, case.may_run) == (word, may_run)
        lines = report(found).splitlines()
        first = lines[0].casefold()
        (row,) = [line for line in lines if line.startswith("1 saw")]
        assert row.endswith("  " + VERDICTS[word])
        assert ("may run" in first) == may_run
        if may_run:
            assert ("a little short of air" in first) == ("just short" in word)
            assert ("chips move slowly" in first) == ("slow" in word)
        assert exit_code(found) == (0 if word in ("ok", "slow") else 1)

    def test_every_format_has_the_same_grades(self, air: float, speed: float, rises: bool, word: str) -> None:
        found, may_run = lone(air, speed, rises), ON_CARD[word][0] == MAY
        (document,) = gates_document(found, INCH)["sets"]
        (row,) = csv.DictReader(io.StringIO(gates_csv(found, INCH)))
        (framed,) = found.frame().to_dict("records")
        assert document["word"] == row["word"] == framed["word"] == word
        assert document["may_run"] == framed["may run"] == may_run
        assert row["may_run"] == ("yes" if may_run else "no")

    def test_card(self, air: float, speed: float, rises: bool, word: str) -> None:
        found, (heading, said) = card(lone(air, speed, rises).asked.store.model.shop), ON_CARD[word]
        assert under(on_card(found), heading) == [said]
        assert under(on_card(found), MUST_NOT if heading == MAY else MAY) == []
        (row,) = csv.DictReader(io.StringIO(card_csv(found, Display("metric"))))
        assert (row["kind"], row["word"]) == ("alone" if heading == MAY else "not alone", word)


@cache
def hung(seed: int) -> tuple[Gates, Card]:
    made = random_shop(np.random.default_rng(seed), 4, WEAK if seed % 2 else BARE)
    return gates(made), card(made)


SEEDS = range(12)


@pytest.mark.parametrize("seed", SEEDS)
def test_only_short_machines_and_settling_chips_must_not_run(seed: int) -> None:
    learned, found = hung(seed)
    text = on_card(found)
    refused = {line.partition(":")[0]: line.partition(": ")[2] for line in under(text, MUST_NOT)}
    refused |= {line.partition(":")[0]: line.partition(": ")[2] for line in under(text, "MUST NOT RUN ALONE")}
    helped = {one.before.name for one in found.with_helper}
    expected = {}
    for case in learned.singles:
        why = ["too little air"] * (case.air == "short") + ["chips settle in the pipe"] * (case.chips == "settles")
        if why and case.name not in helped:
            expected[case.name] = ", and ".join(why)
    assert refused == expected
    allowed = {name for name in learned.machines for line in under(text, MAY) if name in line}
    assert allowed == {case.name for case in learned.singles if case.may_run}
    assert not allowed & (set(refused) | helped)


def test_the_random_shops_have_some_of_each() -> None:
    found = [card for _, card in map(hung, SEEDS)]
    assert sum(bool(one.not_allowed) for one in found) >= 4
    assert sum(any(case.word != "ok" for case in one.alone) for one in found) >= 3
    assert any(len(one.before.asked) == 1 for card in found for one in card.with_helper)
    assert {case.word for one in found for case in one.together} >= {"ok", "just short", "slow"}
    pairs = {case.word for learned, _ in map(hung, SEEDS) for case in learned.together}
    assert pairs >= {"short", "settles", "short, settles", "just short, settles"}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_weak_thing_that_may_run_is_marked_on_the_card(seed: int) -> None:
    learned, found = hung(seed)
    text = on_card(found)
    weak = {"just short": "a little short of air", "slow": "chips move slowly"}
    alone = under(text, MAY)[0] if found.alone else ""
    for case in found.alone:
        behind = alone.partition(case.name)[2].split(", machine")[0]
        assert [said for said in weak.values() if said in behind] == [weak[part] for part in word_parts(case.word)]
    for one in found.with_helper:
        assert one.after is not None
        titles = [line for line in under(text, "MAY RUN ONLY WITH") if all(name in line for name in one.before.asked)]
        marks = [[said for said in weak.values() if said in line] for line in titles]
        assert [weak[part] for part in word_parts(one.after.word)] in marks
    together = under(text, "MAY RUN TOGETHER")
    for case in (one for one in learned.together if len(one.asked) == 2 and one.may_run):
        title = ", ".join(weak[part] for part in word_parts(case.word))
        plain = [line for line in together if not line.startswith(tuple(weak.values()))]
        lines = [line for line in together if line.partition(": ")[0] == title] if title else plain
        assert any(all(name in line for name in case.asked) for line in lines)


@pytest.mark.parametrize("seed", SEEDS)
def test_pairs_have_letters_by_their_grades(seed: int) -> None:
    learned, _ = hung(seed)
    cells = pair_matrix(learned).cells
    for row, one in enumerate(learned.machines):
        for column, other in enumerate(learned.machines[:row]):
            case = learned.pair(one, other)
            letters = "x"
            if case is not None:
                refused = "S" * (case.air == "short") + "c" * (case.chips == "settles")
                letters = refused or ("ok" if (case.air, case.chips) == ("ok", "moves") else "~")
            assert cells[row][column].text == letters


def word_parts(word: str) -> list[str]:
    return [] if word == "ok" else word.split(", ")


class TestWeakSets:
    def test_named_set_with_a_further_gate(self) -> None:
        sets = {"modest": {"open": ["a", "c"], "flow": {"a": "460 cfm"}}}
        found = card(row_of_machines(("a", "b", "c"), gates={"sets": sets}))
        (said,) = under(on_card(found), "NAMED SETS")
        assert said.endswith("ALLOWED with the b's gate open too (a little short of air)")
        assert card_document(found)["named"][0]["more_helpers"] == ("b",)

    def test_named_set_that_may_run(self) -> None:
        sets = {"hungry": {"open": ["a"], "flow": {"a": "800 cfm"}}}
        learned = gates(row_of_machines(("a", "b"), gates={"sets": sets}))
        (said,) = under(on_card(card(learned.asked.store.model.shop)), "NAMED SETS")
        assert learned.named[0].word == "just short" and said.endswith("ALLOWED (a little short of air)")
        assert "the named set may run (a little short of air)" in report(learned).splitlines()[0].casefold()

    def test_three_or_more(self) -> None:
        found = card(star(3, 3.0, "450 cfm"))
        assert found.three_or_more is not None
        ((case, _),) = found.three_or_more
        assert case.word == "just short"
        (said,) = under(on_card(found), "THREE OR MORE")
        assert said.startswith("machine 0, machine 1, machine 2 (a little short of air)")

    def test_pairs_of_a_large_shop_are_told_in_groups(self) -> None:
        learned = gates(star(17, 12.0, "200 cfm"))
        assert {case.word for case in learned.together} == {"slow"}
        (line,) = under(on_card(card(star(17, 12.0, "200 cfm"))), "MAY RUN TOGETHER")
        assert line.startswith("chips move slowly: any two of: machine 0")

    @pytest.mark.parametrize("most", [0, 8])
    def test_many_pairs_that_need_a_third_gate_are_counted(self, most: int, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ductcalc.report.card.MOST_HELPED", most)
        found = card(row_of_machines(("a", "b", "c"), gates={"sets": {"both ends": ["a", "c"]}}))
        pairs = [one.before.asked for one in found.with_helper if len(one.before.asked) == 2]
        lines = under(on_card(found), "MAY RUN ONLY WITH ANOTHER")
        assert pairs and (f"{len(pairs)} pair" in lines[-1] and "gates.sets" in lines[-1]) is (most == 0)

    def test_helpers_words(self) -> None:
        sets = {"modest": {"open": ["a", "c"], "flow": {"a": "460 cfm"}}}
        found = gates(row_of_machines(("a", "b", "c"), gates={"sets": sets}))
        (said,) = [line for line in report(found).splitlines() if line.startswith('- "modest"')]
        assert "gate too (a little short of air)" in said and "too little" not in said


def behind_one_gate(flow: str = "400 cfm", free: bool = False) -> Shop:
    """A saw and a sander behind one gate, and a lathe with its own; free: a drill that no gate shuts as well."""
    drill = [wye("last", "6 in"), pipe("1 ft")] if free else []
    main = [port("saw", "4 in", flow=flow, k=1), wye("drop", "5 in"), gate(), pipe("6 ft"), wye("far", "6 in")]
    rows = run("main", *main, pipe("3 ft"), *drill, end())
    rows += run("drop", port("sander", "4 in", k=1), hose("4 ft"))
    rows += run("far", port("lathe", "5 in", k=1), gate(), pipe("4 ft"))
    return shop(rows, *([run("last", port("drill", "3 in", flow="150 cfm", k=1), hose("3 ft"))] if free else []))


class TestGateOfSeveralMachines:
    def test_card_says_what_else_a_gate_opens(self) -> None:
        (said,) = under(on_card(card(behind_one_gate())), MAY)
        assert said == "saw (opens sander too), sander (opens saw too), lathe"

    def test_also_where_the_machine_must_not_run(self) -> None:
        text = on_card(card(behind_one_gate("900 cfm")))
        assert under(text, "MUST NOT RUN")[0] == "saw (opens sander too): too little air"

    def test_what_is_always_open_is_said_once(self) -> None:
        text = on_card(card(behind_one_gate(free=True)))
        assert text.count("drill too") == 0 and "Always open, no gate: drill." in text
        assert "saw (opens sander too" in text

    def test_gate_report_shows_it_below_the_machine(self) -> None:
        lines = report(gates(behind_one_gate())).splitlines()
        place = next(number for number, line in enumerate(lines) if line.startswith("1 saw"))
        assert lines[place + 1].startswith("- also open: sander") and lines[place + 3].startswith("- also open: saw")


def test_a_machine_that_may_only_help_must_not_run_until_something_is_changed() -> None:
    main = [port("bench", "3 in", flow="200 cfm", k=1), gate(), pipe("6 ft"), wye("drop", "6 in"), pipe("20 ft"), end()]
    hog = run("drop", port("hog", "6 in", flow="2000 cfm", k=1), gate(), pipe("6 ft"))
    sets = {"with help": {"open": ["bench", "hog"], "helpers": ["hog"]}}
    found = card(shop(run("main", *main), hog, gates={"sets": sets}))
    assert [one.case.may_run for one in found.named] == [True]
    assert found.never_allowed == ("hog",)
    assert under(on_card(found), MUST_NOT) == ["hog: too little air"]


def test_a_machine_of_several_ports_shows_all_its_air_and_names_the_port_that_is_short() -> None:
    made = two_ports("2 in", "180 cfm")
    (case,) = ductcalc.check(made).loaded
    saw, poor = case.machine("saw"), case.machine("saw").poorest
    figures = [[f"{flow / CFM:.0f}" for flow in (one.wanted_m3_s, one.flow_m3_s)] for one in (saw, poor)]
    lines = rendered(case_table([case], INCH), Page(None, "utf-8", False)).splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("saw"))
    assert lines[at].split()[:3] == ["saw", *figures[0]]
    assert lines[at + 1].split() == ["a", "port", *figures[1], poor.run, "SHORT"]


def test_short_at_a_port_is_as_weak_as_the_port() -> None:
    lines = {wanted: report(gates(two_ports("2 in", f"{wanted} cfm"))).splitlines() for wanted in (150, 180)}
    rows = {wanted: next(line for line in some if line.startswith("1 saw")) for wanted, some in lines.items()}
    assert rows[150].endswith("just short at guard") and rows[180].endswith("SHORT at guard")
