"""Comparisons as text, JSON and CSV: the golden ones, and the same figures in all three."""

from __future__ import annotations

import csv
import json
from functools import cache
from io import StringIO
from itertools import pairwise

import pytest

from ductcalc.answers.check import check
from ductcalc.answers.compare.compare import Comparison, compare
from ductcalc.answers.gates.gates import gates
from ductcalc.answers.losses import losses
from ductcalc.report.check.text import check_blocks
from ductcalc.report.compare.data import compare_csv, compare_document
from ductcalc.report.compare.sentences import verdict
from ductcalc.report.compare.short import short_compare
from ductcalc.report.compare.text import compare_blocks, signed
from ductcalc.report.display import Display
from ductcalc.report.flow import width_of
from ductcalc.report.gates.text import gates_blocks
from ductcalc.report.json_text import json_text
from ductcalc.report.losses import losses_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.report.short import Typed
from ductcalc.shop import Shop
from ductcalc.shop.change import changed
from ductcalc.tables import read_shop
from ductcalc.tables.what_if import read_changes
from tests.answers.test_compare import hose_or_elbow, on_a_main
from tests.scenes import EXAMPLES, NO_PARTS, SHOPS, end, gate, pipe, port, run, shop, two_machines

INCH = Display("inch")


def what_if(found: Shop, *texts: str) -> Shop:
    return changed(found, read_changes(found, texts))


@cache
def comparison(name: str) -> Comparison:
    """Return a shop against itself changed; the annex also against another collector."""
    found = read_shop(SHOPS / name)
    if name == "cellar":
        return compare(found, [what_if(found, "planer drop: flex length = 3 ft", "main: pipe 2 size = 6 in")])
    other = read_shop(SHOPS / name, SHOPS / "cellar" / "collector.csv")
    return compare(found, [what_if(found, "Rohr: pipe 2 size = 150 mm"), other])


def report(name: str, width: int | None) -> str:
    display = Display(read_shop(SHOPS / name).first_units)
    return rendered(compare_blocks(comparison(name), display), Page(width))


def first_line(one: Shop, *others: Shop) -> str:
    return verdict(compare(one, others), INCH).replace("\u00a0", " ")


def test_narrow_pages_list_every_figure_that_is_kept() -> None:
    text = report("cellar", 40)
    assert max(map(width_of, text.splitlines())) <= 40


def test_the_first_line_names_the_better_one_and_what_it_gains() -> None:
    one = read_shop(SHOPS / "cellar")
    found = compare(one, [what_if(one, "planer drop: port flow = 700 cfm")])
    line = verdict(found, INCH).replace("\u00a0", " ")
    assert found.advice.best == "A" and line.startswith("A (cellar)") and "0 of 5 cases, B 1" in line


def test_the_first_line_says_that_two_are_alike() -> None:
    one = two_machines()
    line = first_line(one, what_if(one, "trunk: pipe 1 length = 20.1 ft"))
    assert "A (shop) and B (shop, changed) are alike" in line and "0.1 %" in line


def test_figures_within_the_band_cannot_be_told_apart() -> None:
    line = first_line(*hose_or_elbow("600 cfm"))
    assert "cannot be told apart" in line and "alike" not in line


def test_a_difference_in_the_band_is_marked_in_every_form() -> None:
    one, other = hose_or_elbow("567 cfm")
    found = compare(one, [other])
    assert [variant.check.loaded[0].air for variant in found.variants] == ["ok", "just short"]
    short = rendered(short_compare(found, INCH, Typed()), Page(80)).replace("\n", " ")
    assert "In band, perhaps no difference: lathe." in short
    lines = compare_document(found, INCH)["machines"]
    assert [line["inside_band"] for line in lines if line["variant"] == "B"] == [True, None]
    rows = [row for row in csv.DictReader(StringIO(compare_csv(found, INCH))) if row["variant"] == "B"]
    assert [row["inside_band"] for row in rows] == ["yes", ""]


def test_alike_shops_that_fail_say_so() -> None:
    one = read_shop(EXAMPLES / "creamery")
    line = first_line(one, what_if(one, "trunk: pipe 6 length = 10.2 ft"))
    assert "alike" in line and "chips settle in 2 of 11 cases" in line


def test_a_mixed_result_says_both_halves() -> None:
    line = first_line(on_a_main("5 in", "500 cfm"), on_a_main("6 in", "500 cfm"))
    assert line.startswith("Neither A") and "better one" in line
    assert "A: chips settle in 1 of 4 cases, B 3" in line and "B: too little air in 0 of 4 cases, A 1" in line


@pytest.mark.parametrize(
    "texts",
    [
        ("trunk: wye 4 size = 6 in", "trunk: pipe 6 size = 6 in"),
        ("planer drop: flex length = 4 ft",),
        ("trunk: pipe 2 size = 6 in", "sander drop: port flow = 600 cfm", "planer drop: port size = 6 in"),
    ],
)
def test_the_short_report_keeps_within_thirty_lines_at_80_columns(texts: tuple[str, ...]) -> None:
    one = read_shop(EXAMPLES / "creamery")
    text = rendered(short_compare(compare(one, [what_if(one, *texts)]), INCH, Typed()), Page(80))
    assert len(text.splitlines()) <= 30


def test_another_collector_shows_what_is_assumed_of_both() -> None:
    one = read_shop(EXAMPLES / "creamery")
    found = compare(one, [read_shop(EXAMPLES / "creamery", EXAMPLES / "one-machine" / "collector.csv")])
    text = rendered(short_compare(found, INCH, Typed()), Page(100))
    assert "collector of A: nothing" in text and "two advertised maxima" in text
    assert len(text.splitlines()) <= 30


def test_json_says_what_differs_from_the_first() -> None:
    one = read_shop(EXAMPLES / "creamery")
    found = compare(one, [what_if(one, "trunk: wye 4 size = 6 in", "trunk: pipe 6 size = 6 in")])
    (against,) = json.loads(json_text(compare_document(found, INCH)))["against_first"]
    assert {turn["case"] for turn in against["turned"]} == {"resaw", "jointer", "planer", "table saw"}
    assert against["largest_change"]["after_m_s"] < against["largest_change"]["before_m_s"]
    assert {"trunk wye 4", "trunk pipe 6"} <= {piece["piece"] for piece in against["pieces"]}
    assert [part["count"] for part in against["parts_beyond_first"] if part["part"] == "reducer"] == [2]
    assert [found["rule"] for found in against["warnings_new"]] == ["wide main"]


def test_the_first_line_says_when_nothing_differs() -> None:
    line = first_line(two_machines(), two_machines())
    assert "alike" in line and "same" in line and "%" not in line.partition(";")[0]


def test_the_first_line_of_three_names_those_alike_with_the_first() -> None:
    one = two_machines()
    line = first_line(one, what_if(one, "trunk: pipe 1 length = 20.1 ft"), what_if(one, "trunk: pipe 1 size = 5 in"))
    assert line.startswith("C (shop, changed)") and "A and B are alike" in line


def test_shops_without_an_answer_are_not_called_alike() -> None:
    curve = [{"item": "blower", "flow": q, "pressure": p} for q, p in (("0 cfm", "9 inwg"), ("100 cfm", "8.9 inwg"))]
    one = shop(run("a", port("saw", "4 in", k=1), gate(), pipe("6 ft"), end()), table=[*curve, *NO_PARTS])
    line = first_line(one, what_if(one, "a: pipe 1 length = 3 ft"))
    assert "no answer" in line and "alike" not in line and "100 cfm" in line


def test_a_comparison_without_common_names_says_so() -> None:
    line = first_line(two_machines(), read_shop(SHOPS / "annex"))
    assert line.startswith("Nothing to compare")


def test_shown_differences_are_those_of_the_full_figures() -> None:
    answer = comparison("cellar")
    text = report("cellar", None)
    for line in answer.machines:
        if line.variant == "B" and line.filter == "loaded" and line.flow_difference_m3_s is not None:
            exact = line.flow_difference_m3_s / (0.3048**3 / 60)
            shown = signed(line.flow_difference_m3_s, INCH.flow_number)
            assert abs(float(shown) - exact) <= 0.5
            assert shown in text


@pytest.mark.parametrize(("difference", "shown"), [(None, ""), (0.0, "0"), (1e-9, "0"), (-1e-9, "0"), (0.01, "+21")])
def test_signs(difference: float | None, shown: str) -> None:
    assert signed(difference, INCH.flow_number) == shown


def test_provisional_shops_and_those_of_another_method_are_marked() -> None:
    text = report("annex", None)
    a, c = (next(line for line in text.splitlines() if line.startswith(f"{letter}: ")) for letter in "AC")
    assert "PROVISIONAL" in a and "PROVISIONAL" not in c


def test_unlike_wye_methods_are_told() -> None:
    other = two_machines(method={"junction": "handbook"})
    text = rendered(compare_blocks(compare(two_machines(), [other]), INCH), Page())
    (told,) = [line for line in text.splitlines() if "B by handbook" in line]
    assert "A by momentum" in told


def test_json_has_every_line_in_full_precision() -> None:
    answer = comparison("annex")
    document = json.loads(json_text(compare_document(answer, INCH)))
    assert [variant["letter"] for variant in document["variants"]] == ["A", "B", "C"]
    assert document["variants"][1]["changes"] == ["Rohr: pipe 2 size = 150 mm"]
    by_line = [line.flow_difference_m3_s for line in answer.machines]
    assert [line["flow_difference_m3_s"] for line in document["machines"]] == by_line
    assert document["exit_code"] == answer.exit_code and document["best"] == answer.advice.best
    assert json_text(compare_document(comparison("annex"), INCH)) == json_text(compare_document(answer, INCH))


def test_json_difference_is_second_less_first() -> None:
    document = compare_document(comparison("cellar"), INCH)
    pairs = [(a, b) for a, b in pairwise(document["machines"]) if b["variant"] == "B"]
    assert pairs
    for first, second in pairs:
        difference = second["answer"]["flow_m3_s"] - first["answer"]["flow_m3_s"]
        assert second["flow_difference_m3_s"] == difference


@pytest.mark.parametrize(("system", "column"), [("inch", "flow_difference_cfm"), ("metric", "flow_difference_m3_h")])
def test_csv_has_a_line_for_each_case_filter_machine_and_variant(system: str, column: str) -> None:
    answer = comparison("cellar")
    rows = list(csv.DictReader(StringIO(compare_csv(answer, Display(system))), strict=True))  # type: ignore[arg-type]
    assert len(rows) == len(answer.machines)
    assert {row["variant"]: row[column] == "" for row in rows} == {"A": True, "B": False}


@pytest.mark.parametrize("command", ["check", "losses", "gates"])
def test_reports_of_a_changed_shop_say_so_behind_their_first_line(command: str) -> None:
    found = what_if(read_shop(SHOPS / "cellar"), "main: pipe 2 size = 6 in", "planer drop: gate leak = 0")
    blocks = {
        "check": lambda: check_blocks(check(found), INCH),
        "losses": lambda: losses_blocks(losses(found), INCH),
        "gates": lambda: gates_blocks(gates(found), INCH),
    }[command]()
    lines = rendered(blocks, Page()).splitlines()
    assert lines[1:3] == ["Changed: main: pipe 2 size = 6 in", "Changed: planer drop: gate leak = 0"]


def test_a_winner_whose_chips_settle_as_often_says_so() -> None:
    one = read_shop(EXAMPLES / "creamery")
    line = first_line(one, what_if(one, "planer drop: flex length = 4 ft"))
    assert "better one" in line and "In both chips settle in 2 of 11 cases" in line


def test_a_caution_of_one_shop_names_it() -> None:
    one, other = two_machines(), two_machines(room={"exhaust": "outdoors", "heater": True})
    text = rendered(short_compare(compare(one, [other]), INCH, Typed()), Page())
    assert "CAUTION in B: shop.toml, room.heater" in text
    both = rendered(short_compare(compare(other, [other]), INCH, Typed()), Page())
    assert both.count("CAUTION: ") == 1


def test_the_csv_has_each_point_and_each_difference_once() -> None:
    rows = csv.reader(StringIO(compare_csv(comparison("cellar"), INCH)))
    columns = next(rows)
    assert len(columns) == len(set(columns))
    assert columns[columns.index("collector_flow_cfm") :] == [
        *("collector_flow_cfm", "collector_flow_difference_cfm"),
        *("static_suction_inwg", "static_suction_difference_inwg"),
        *("blower_inwg", "blower_difference_inwg", "power_hp", "power_difference_hp"),
    ]
