"""Gate reports and cards of few and many machines, with long names: whole, narrow enough, and in plain words."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

import ductcalc
from ductcalc.answers.gates.card import Card, card
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.report.card import card_blocks
from ductcalc.report.check.short import short_check
from ductcalc.report.display import Display
from ductcalc.report.gates.sentences import MOST_NAMES, few
from ductcalc.report.gates.short import help_blocks, short_gates
from ductcalc.report.gates.tables import leaks_matter
from ductcalc.report.gates.text import gates_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.report.short import Typed
from tests.answers.gates.test_sets import beyond, starving
from tests.answers.gates.test_told import two_ports
from tests.gate_shops import row_of_machines
from tests.scenes import NO_PARTS, cap, end, gate, hose, pipe, points, port, run, shop, wye

COUNTS = (1, 2, 10, 40)
INCH = Display("inch")


def long_name(number: int) -> str:
    """Return a name of forty characters."""
    return f"machine {number:02} that stands by the far wall"[:40].ljust(40, "l")


@cache
def made(count: int) -> tuple[Gates, Card]:
    of = row_of_machines([long_name(n) for n in range(count)])
    return gates(of), card(of)


def text(found: Gates, width: int | None = None) -> str:
    return rendered(gates_blocks(found, INCH), Page(width))


def card_text(found: Card, width: int | None = None) -> str:
    return rendered(card_blocks(found, INCH), Page(width))


def words(report: str) -> str:
    return " ".join(report.split())


@pytest.mark.parametrize("width", [60, 80, 120])
@pytest.mark.parametrize("count", COUNTS)
def test_no_line_is_wider_than_the_page(count: int, width: int) -> None:
    found, on_wall = made(count)
    assert max(map(len, text(found, width).splitlines())) <= width
    assert max(map(len, card_text(on_wall, width).splitlines())) <= width


def in_short(found: Gates) -> str:
    return words(rendered(help_blocks(found, INCH), Page(None, "utf-8", False)))


def test_everybody_whom_no_gate_helps_is_in_one_sentence() -> None:
    made = shop(
        *(run(f"drop {n}", port(f"saw {n}", "4 in"), gate(), pipe("6 ft")) for n in range(1, 6)),
        run("main", cap("9 in"), wye(" + ".join(f"drop {n}" for n in range(1, 3)), angle="30 + 30"), pipe("6 ft"),
            wye("drop 3", "9 in"), wye("drop 4", "9 in"), wye("drop 5", "9 in"), pipe("9 ft"), end()),
    )  # fmt: skip
    said = in_short(gates(made))
    assert said == ("Chips settle, and no other gate opened fully helps: saw 1, saw 2, saw 3, saw 4 and"
                    " saw 5.")  # fmt: skip


def test_a_set_whose_machines_may_run_alone_is_run_one_by_one() -> None:
    drop = [gate(), pipe("9 ft")]
    weak = [*points(("0 cfm", "6 inwg"), ("400 cfm", "5 inwg"), ("700 cfm", "1 inwg")), *NO_PARTS]
    made = shop(
        run("main", port("saw", "4 in", "350 cfm"), *drop, wye("side", "4 in"), pipe("9 ft"), end()),
        run("side", port("lathe", "4 in", "350 cfm"), *drop),
        table=weak, gates={"sets": {"both": ["saw", "lathe"]}},
    )  # fmt: skip
    said = in_short(gates(made))
    assert said == 'Run the machines of "both" one after the other.'


@pytest.mark.parametrize("count", COUNTS)
def test_every_name_is_whole_when_piped(count: int) -> None:
    found, on_wall = made(count)
    assert all(name in text(found) and name in card_text(on_wall) for name in found.machines)
    assert "…" not in text(found, 60)


@pytest.mark.parametrize("width", [60, 80])
def test_every_pair_stands_once_in_the_grid(width: int) -> None:
    found, _ = made(40)
    grid = text(found, width).partition("running together")[2].partition("ok = may run")[0]
    cells = [word for word in grid.split() if word in ("ok", "~", "S", "c", "Sc", "x")]
    assert len(cells) == 40 * 39 // 2


def test_text_is_no_list_of_thousands() -> None:
    found = gates(row_of_machines([f"machine {n}" for n in range(12)]))
    assert len(found.largest) > 12 and len(found.forbidden) > 12
    report = text(found, 80)
    assert len(report.splitlines()) < 220
    settling = sum(not case.may_run for case in found.largest)
    assert settling > 12 and f"{settling - 12} more" in report


def test_card_of_a_usual_shop_fits_a_page() -> None:
    on_wall = card(row_of_machines([f"machine {n}" for n in range(9)]))
    assert len(card_text(on_wall, 80).splitlines()) <= 60


def test_first_line_names_who_needs_company_and_which_gate() -> None:
    first = text(gates(starving())).splitlines()[0]
    assert first.startswith("1 of 2 machines may run alone.")
    assert all(word in first for word in ("bench", "saw's gate", "together"))


def test_first_line_of_a_fine_shop_says_what_may_run() -> None:
    found = gates(row_of_machines(("a", "b")))
    first = text(found).splitlines()[0]
    assert first.startswith("Both machines may run alone.") and "may run together" in first
    slow = [case.name for case in found.singles if case.chips == "slow"]
    assert slow and f"slowly with the {slow[0]}" in first


def test_first_line_has_the_figure_of_who_is_short() -> None:
    main = [port("hog", "4 in", flow="900 cfm", k=9), gate(), pipe("6 ft"), wye("drop", "4 in"), end()]
    saw = run("drop", port("saw", "4 in", flow="300 cfm", k=1), gate(), pipe("6 ft"))
    found = gates(shop(run("main", *main), saw))
    got = INCH.flow_number(found.singles[0].machine("hog").flow_m3_s)
    assert f"hog may not: {got} of 900 cfm" in words(text(found).splitlines()[0])


def test_no_answer_is_said() -> None:
    found = text(gates(beyond()))
    assert "no answer" in found.splitlines()[0].casefold() and "NO ANSWER" in found


def test_exactness_is_stated_either_way() -> None:
    assert "all 1,023" in text(made(10)[0])
    assert "820 of 1,099,511,627,775" in text(made(40)[0])


def test_a_starved_port_is_seen_with_figures() -> None:
    found = words(text(gates(two_ports("2 in", "150 cfm"))))
    seen = found.partition("UNEVEN PORTS")[2].partition(".")[0]
    assert "guard" in seen and "150 cfm" in seen and "300 cfm" in seen


def test_a_throttled_cabinet_is_seen_with_its_areas() -> None:
    found = gates(shop(run("main", port("saw", "4 in", flow="600 cfm", inlet="8 in2"), gate(), end())))
    assert "SMALL OPENING" in words(text(found)) and "8 in2" in text(found).replace("\u00a0", " ")


def test_an_own_blower_is_a_caution() -> None:
    found = gates(
        shop(run("main", port("edger", "4 in", k=2), gate(), end()), machines={"edger": {"own_blower": "300 Pa"}})
    )
    assert "CAUTION (own blower)" in words(text(found)) and "1.2 in of water" in words(text(found))


def test_an_always_open_port_is_said_at_once_and_shown() -> None:
    found = gates(
        shop(
            run("main", port("saw", "4 in", k=1), hose("4 ft"), wye("drop", "5 in"), end()),
            run("drop", port("sander", "4 in", k=1), gate(), pipe("6 ft")),
        )
    )
    lines = text(found).splitlines()
    assert "saw" in lines[2] and "open" in lines[2]
    assert any("also open: saw" in line and line.endswith("open") for line in lines)


def test_groups_of_three_are_counted_and_the_fine_ones_named() -> None:
    found = rendered(gates_blocks(gates(row_of_machines([f"m{n}" for n in range(5)]), 3), INCH), Page(80))
    part = found.partition("Three machines and more")[2].partition("\n\n")[0]
    assert any(line.split()[:2] == ["3", "10"] for line in part.splitlines())


def test_metric_shows_the_same_in_other_units() -> None:
    shown = rendered(gates_blocks(gates(starving()), Display("metric")), Page(80))
    assert "m3/h" in shown and "cfm" not in shown and "fpm" not in shown


class TestCard:
    def test_says_what_may_not_run_and_why(self) -> None:
        found = card(
            shop(
                run("main", port("hog", "4 in", flow="900 cfm", k=9), gate(), pipe("6 ft"), wye("drop", "4 in"), end()),
                run("drop", port("saw", "4 in", flow="300 cfm", k=1), gate(), pipe("6 ft")),
            )
        )
        told = card_text(found).partition("MUST NOT RUN")[2].splitlines()[1]
        assert "hog" in told and "air" in told

    def test_names_the_helpers_gate(self) -> None:
        said = words(card_text(card(starving())))
        assert re.search(r"bench: .*saw's gate", said)

    def test_has_no_jargon(self) -> None:
        said = card_text(made(10)[1]).casefold().split()
        assert not {"vp", "static", "inwg", "cfm", "fpm", "loaded", "coefficient"} & set(said)

    def test_has_safety_lines(self) -> None:
        said = words(card_text(made(2)[1]))
        assert all(word in said for word in ("explode", "mask", "safety"))


@pytest.mark.parametrize(("lost", "told"), [(0.02, True), (0.0005, False)])
def test_what_shut_gates_leak_is_a_table_only_where_it_changes_some_air(lost: float, told: bool) -> None:
    found = made(3)[0]
    shares = ((0.0, 0.2), (0.01, 0.2 * (1.0 - lost)))
    leaks = tuple(replace(one, by_share=shares) for one in found.leaks)
    assert leaks
    assert leaks_matter(replace(found, leaks=leaks)) is told


@pytest.mark.parametrize("count", [MOST_NAMES + 1, MOST_NAMES + 3])
def test_of_many_names_those_left_out_are_counted(count: int) -> None:
    said = few([f"machine {n}" for n in range(count)])
    assert said.endswith(f"and {count - said.count('machine')} more")


def test_where_nothing_may_run_alone_gates_and_check_lead_to_the_same_machine() -> None:
    weak = points(("0 cfm", "5 inwg"), ("300 cfm", "4 inwg"), ("500 cfm", "1 inwg"))
    found = shop(
        run("main", port("saw", "4 in"), gate(), wye("drop", "5 in"), pipe("9 ft"), end()),
        run("drop", port("planer", "5 in", flow="700 cfm"), gate()),
        table=[*weak, *NO_PARTS],
    )
    firsts = [
        next(said for block in blocks if (said := rendered([block], Page())).startswith("Do first"))
        for blocks in (short_gates(gates(found), INCH, Typed()), short_check(ductcalc.check(found), INCH, Typed()))
    ]
    assert firsts[0] == firsts[1] and firsts[0].strip().endswith("--for planer")


def test_of_one_machine_no_other_gate_is_spoken_of() -> None:
    wide = gates(shop(run("main", port("saw", "4 in"), gate(), pipe("9 ft"), pipe("9 ft", "8 in"), end())))
    assert wide.singles[0].chips == "settles"
    assert not list(help_blocks(wide, INCH))
