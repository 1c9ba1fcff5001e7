"""What to change first as text, JSON and CSV: the golden ones, and the same figures in all three."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from functools import cache
from io import StringIO
from typing import get_args

import pytest

import ductcalc
from ductcalc.answers.improve.candidate import Measured
from ductcalc.answers.improve.improve import Improve, improve
from ductcalc.cases.chances import LEAST_BAND, Apart
from ductcalc.report.display import Display
from ductcalc.report.improve.data import KEYS, improve_csv, improve_document
from ductcalc.report.improve.sentences import told, verdict
from ductcalc.report.improve.text import improve_blocks, short_improve
from ductcalc.report.json_text import json_text
from ductcalc.report.parts.words import money
from ductcalc.report.render import Page, rendered
from ductcalc.report.short import Typed
from ductcalc.shop.parts import PartName, Price
from tests.scenes import CFM, NO_PARTS, SHOPS, cap, end, gate, hose, pipe, points, port, run, shop, two_machines, wye

INCH, METRIC = Display("inch"), Display("metric")
KINDS = ("pipe", "flex", "elbow", "reducer", "wye", "gate", "coupling", "clamp", "hanger", "sealant", "adapter")


@cache
def creamery() -> Improve:
    return improve(ductcalc.read_shop("examples/creamery"))


@cache
def priced() -> Improve:
    prices = tuple(Price(PartName(kind), 10.0) for kind in KINDS)  # type: ignore[arg-type]
    return improve(ductcalc.read_shop("examples/creamery"), prices=prices)


def text(answer: Improve, display: Display = INCH, width: int | None = None) -> str:
    return rendered(improve_blocks(answer, display), Page(width, "utf-8", False)).replace("\u00a0", " ")


def test_the_first_line_names_the_air_and_the_best_change_that_harms_nothing() -> None:
    answer = creamery()
    assert answer.unharming is not None
    best = answer.unharming
    said = verdict(answer, INCH).replace("\u00a0", " ")
    told = ("planer", "554 of 785 cfm", f"{best.flow_m3_s / CFM:.0f} cfm", f"+{100 * best.gain_share:.1f} %")
    assert [part for part in told if part not in said] == []


def test_a_subject_that_has_its_air_is_told_so_and_whether_chips_settle() -> None:
    made = shop(run("hose", port("saw", "4 in", flow="400 cfm"), gate(), pipe("9 ft"), end()))
    served = verdict(improve(made), INCH).replace("\u00a0", " ")
    assert "of 400 cfm" in served and "settle" not in served
    settling = verdict(improve(two_machines()), INCH).replace("\u00a0", " ")
    assert "chips settle" in settling and "3360 fpm" in settling


def test_the_short_report_tells_the_best_group_without_harm_also_where_it_is_the_best_of_all() -> None:
    answer = creamery()
    harmless = answer.threes.harmless
    assert harmless is not None and not harmless.harms
    best_of_all = replace(answer, threes=replace(answer.threes, best=harmless, unharming=None))
    nothing = {"best": None, "unharming": None}
    none = replace(answer, pairs=replace(answer.pairs, **nothing), threes=replace(answer.threes, **nothing))
    said, same, without = (
        rendered(short_improve(one, INCH, Typed()), Page(80, "utf-8", False)) for one in (answer, best_of_all, none)
    )
    assert said == same and "Together" in said
    assert "Together " not in without and "No two or three of them" in without


@pytest.mark.parametrize(
    ("machine", "set_name"), [(None, None), ("fret bench", None), ("resaw", None), (None, "two saws")]
)
def test_the_short_report_keeps_to_thirty_lines_and_shows_the_subjects_grades(
    machine: str | None, set_name: str | None
) -> None:
    answer = improve(ductcalc.read_shop("examples/creamery"), machine, set_name)
    said = rendered(short_improve(answer, INCH, Typed()), Page(80, "utf-8", False))
    assert len(said.splitlines()) <= 30
    best = answer.unharming
    assert best is not None
    word = {"ok": "ok", "just short": "just short", "short": "SHORT"}[best.machine.grade]
    row = next(line for line in said.splitlines() if f" {best.flow_m3_s / CFM:.0f} " in line and "cfm" not in line)
    assert word in row


def test_where_nothing_is_worth_telling_the_band_is_told() -> None:
    assert "1.0 %" in verdict(replace(creamery(), gains=()), INCH).replace("\u00a0", " ")


def test_a_gain_inside_the_band_is_marked_once_and_not_sold_as_a_cure() -> None:
    unsure = tuple(replace(one, apart=Apart(0.98, 1.0 + 2.0 * one.gain_share)) for one in creamery().gains)
    answer = replace(creamery(), gains=unsure)
    assert answer.first is None and answer.unharming is None
    first = verdict(answer, INCH)
    assert "sure to help" in first and "may as well bring nothing" in first and "Best change" not in first
    blocks = short_improve(answer, INCH, Typed("improve", "creamery", ()))
    short = rendered(blocks, Page(80, "utf-8", False)).replace("\u00a0", " ").replace("\n", " ")
    assert short.count("In band: it may as well bring nothing") == 1
    assert [one["inside_band"] for one in improve_document(answer, INCH)["gains"]] == [True] * len(unsure)
    assert {row["inside_band"] for row in csv.DictReader(StringIO(improve_csv(answer, INCH)))} >= {"yes"}


def test_a_case_without_an_answer_is_said() -> None:
    short = [*points(("0 cfm", "10 inwg"), ("60 cfm", "9 inwg")), *NO_PARTS]
    answer = improve(shop(run("hose", port("saw", "4 in"), pipe("9 ft"), end()), table=short))
    first = text(answer).splitlines()[0]
    assert "no answer" in first.casefold() and "60 cfm" in first
    assert improve_document(answer, INCH)["status"] == "beyond the curve"


def test_the_table_shows_the_rounded_differences_of_the_full_figures() -> None:
    lines = [line.split() for line in text(creamery()).splitlines()]
    assert creamery().gains
    for number, found in enumerate(creamery().gains, 1):
        shown = {f"{number}", f"{found.flow_m3_s / CFM:.0f}", f"+{found.gain_m3_s / CFM:.0f}"}
        assert any(words[:1] == [str(number)] and shown <= set(words) for words in lines)


def test_units_change_the_figures_and_nothing_else() -> None:
    metric = text(creamery(), METRIC)
    assert "152.4 mm" in metric and "127 mm" in metric
    assert f"{creamery().gains[0].flow_m3_s * 3600.0:.0f}" in metric
    numbers = [
        re.findall(r"[+]\d+(?:\.\d+)? %", said) for said in (verdict(creamery(), INCH), verdict(creamery(), METRIC))
    ]
    assert numbers[0] == numbers[1]


def test_a_caution_stands_where_outdoors_is_listed() -> None:
    assert "fuel-burning heater" in text(creamery())
    heated = replace(creamery(), room=replace(creamery().room, heater=True))
    assert text(heated) != text(creamery())
    kept = tuple(found for found in creamery().gains if "outdoors" not in found.kinds)
    nothing = replace(creamery().pairs, best=None, unharming=None)
    without = text(replace(creamery(), gains=kept, pairs=nothing, threes=nothing))
    assert text(creamery()).count("outdoors") > without.count("outdoors")


def test_notes_speak_only_of_what_is_listed() -> None:
    said = text(creamery())
    assert "cleaned filter" in said and "smoother hood" not in said


def test_power_is_told_when_the_points_tell_it() -> None:
    table = [
        {**row, "power": f"{2 + n} hp"} for n, row in enumerate(points(("0 cfm", "14 inwg"), ("1500 cfm", "2 inwg")))
    ]
    answer = improve(shop(run("hose", port("saw", "4 in"), pipe("9 ft"), end()), table=[*table, *NO_PARTS]))
    assert re.search(r"1\.33 times .*\d\.\d hp .*\d\.\d hp", text(answer))


def test_prices_are_shown_with_the_gain_for_money() -> None:
    answer = priced()
    swapped = next(found for found in answer.gains if found.kinds == ("pipe for hose",))
    assert swapped.price is not None and swapped.price.whole
    shown = {money(swapped.price.cost), f"{swapped.gain_m3_s / swapped.price.cost / CFM:.2g}"}
    assert any(shown <= set(line.split()) for line in text(answer).splitlines())


def test_json_holds_the_answer_in_full_precision() -> None:
    answer = creamery()
    found = json.loads(json_text(improve_document(answer, INCH)))
    assert [one["gain_m3_s"] for one in found["gains"]] == [one.gain_m3_s for one in answer.gains]
    assert found["pairs"]["best"]["gain_m3_s"] == answer.pairs.best.gain_m3_s  # type: ignore[union-attr]
    assert found["subject"] == {"machine": "planer", "case": "planer", "alone": True, "port": "planer drop"}
    first = found["gains"][0]["changes"][0]
    assert (first["kind"], first["run"], first["rows"]) == ("straighter hose", "planer drop", [31])
    assert {"case", "word", "worse"} <= set(next(one["effects"][0] for one in found["gains"] if one["effects"]))
    assert found["exit_code"] == 1 and found["band"] == LEAST_BAND


def test_json_says_the_unit_of_what_is_changed_in_the_key() -> None:
    found = improve_document(creamery(), INCH)
    changes = {one["kind"]: one for gain in found["gains"] for one in gain["changes"]}
    assert not any({"before", "after"} & set(one) for one in changes.values())
    assert changes["bigger port"]["before_m"] == pytest.approx(0.127)
    assert changes["bigger port"]["after_m"] == pytest.approx(0.1524)
    assert changes["shorter hose"]["after_m"] == pytest.approx(0.9144)
    assert changes["second port"]["after_count"] == 2.0
    assert changes["clean filter"]["after_state"] == "clean"
    assert set(KEYS) == set(get_args(Measured))


def test_what_is_bad_already_and_gets_worse_is_said() -> None:
    said = " ".join(text(creamery()).split())
    assert re.search(r"slower still: .*fret bench.*2500 fpm", said)


def test_a_run_written_as_like_another_needs_its_own_rows() -> None:
    made = shop(
        run("main", cap("5 in"), wye("one + two", "5 in", angle="30 + 30"), pipe("9 ft"), end()),
        run("one", port("saw", "4 in"), hose("12 ft"), gate()),
        [{"run": "two", "piece": "like", "joins": "one", "machine": "planer"}],
    )
    assert re.search(r"two .*own rows.* one,.* row given", " ".join(text(improve(made, "planer")).split()))


def test_the_gain_for_money_is_treated_alike_and_explained() -> None:
    answer = priced()
    for width, times in ((None, 2), (60, 0)):
        lines = text(answer, INCH, width).splitlines()
        assert sum("cfm" in line and "%" in line and line.split()[-2:] == ["for", "1"] for line in lines) == times
    assert "money" in text(answer)


def test_a_machine_short_at_one_of_several_ports_names_it_and_another_does_not() -> None:
    for answer in (improve(ductcalc.read_shop(SHOPS / "cellar"), set_name="ripping"), creamery()):
        lacking = [one.machine for one in told(answer) if len(one.machine.ports) > 1 and not one.machine.served]
        ports = "|".join({one.poorest.run for one in lacking})
        assert len(re.findall(f"short at (?:{ports})", text(answer), re.IGNORECASE)) == len(lacking) > 0
        assert len(re.findall("(?:short|SHORT) at (?!one)", text(answer))) == len(lacking)


def test_csv_has_a_line_for_everything_told() -> None:
    answer = creamery()
    rows = list(csv.DictReader(StringIO(improve_csv(answer, INCH))))
    told = [*answer.gains, *answer.pairs.told, *answer.threes.told]
    assert [float(row["more_cfm"]) for row in rows] == pytest.approx([one.gain_m3_s / CFM for one in told], rel=1e-5)
    assert any("planer" in row["worse"] for row in rows)
    assert [row["effort"] for row in rows] == [one.effort for one in told]
    assert rows[-1]["changes"].count("(") >= 1 and [row["served"] for row in rows] == [
        "yes" if one.served else "no" for one in told
    ]


def test_the_poorest_port_is_named_when_it_is_another_one() -> None:
    answer = improve(ductcalc.read_shop("examples/joinery-class"), set_name="sawing and milling")
    assert any(found.poorest == "Formatsäge" for found in answer.gains)
    assert "poorest then: Formatsäge" in " ".join(text(answer, METRIC).split())


def test_where_no_change_comes_near_to_moving_the_chips_none_is_listed() -> None:
    """300 cfm in 10 in are a fifth of the speed that chips need; a slightly better hose is no advice."""
    table = [*points(("0 cfm", "3 inwg"), ("300 cfm", "2 inwg"), ("500 cfm", "0 inwg")), *NO_PARTS]
    rows = run("main", cap("10 in"), pipe("2 ft", "10 in"), wye("drop", "10 in"), pipe("30 ft", "10 in"), end("10 in"))
    drop = run("drop", port("saw", "4 in", flow="300 cfm", k=1.0), hose("9 ft", 1, "4 in"), gate("4 in"))
    far = improve(shop(rows, drop, table=table))
    assert far.settles
    assert [one for one in far.gains if not far.comes_near(one)]
    said = rendered(short_improve(far, INCH, Typed()), Page(80, "utf-8", False)).replace("\u00a0", " ")
    assert "or comes near" in " ".join(said.split())
    assert "changes tried" not in said


def test_changes_together_may_come_nearest_and_a_shop_of_one_machine_needs_no_collector_of_its_own() -> None:
    table = [*points(("0 cfm", "4 inwg"), ("300 cfm", "2 inwg"), ("500 cfm", "0.3 inwg")), *NO_PARTS]
    rows = run("line", port("saw", "4 in", flow="400 cfm"), hose("12 ft", 3, "4 in"), end("4 in"))
    answer = improve(shop(rows, table=table))
    together = answer.together
    assert together is not None and together.case.settling and answer.comes_near(together)
    assert not any(map(answer.comes_near, answer.gains))
    said = " ".join(rendered(short_improve(answer, INCH, Typed()), Page(80, "utf-8", False)).split())
    assert "Nearest comes" in said and "Together" in said and "of its own" not in said


def test_a_cure_always_comes_near() -> None:
    answer = improve(ductcalc.read_shop("examples/joinery-class"))
    assert answer.settles
    cures = [one for one in answer.gains if not one.case.settling]
    assert cures
    assert all(map(answer.comes_near, cures))
