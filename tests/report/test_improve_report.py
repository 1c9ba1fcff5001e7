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
from ductcalc.cases.case import CaseAnswer
from ductcalc.report.carry import width_of
from ductcalc.report.display import Display
from ductcalc.report.improve_json import KEYS, improve_csv, improve_document
from ductcalc.report.improve_sentences import verdict
from ductcalc.report.improve_text import improve_blocks
from ductcalc.report.json_text import json_text
from ductcalc.report.parts.words import money
from ductcalc.report.render import Page, rendered
from ductcalc.shop.parts import PartName, Price
from tests.report.golden_cases import file_of
from tests.report.improve_cases import NAMES, report
from tests.report.improve_cases import answer as golden_answer
from tests.scenes import CFM, NO_PARTS, end, pipe, points, port, run, shop, two_machines

INCH, METRIC = Display("inch"), Display("metric")
KINDS = ("pipe", "flex", "elbow", "reducer", "wye", "gate", "coupling", "clamp", "hanger", "sealant", "adapter")


@cache
def creamery() -> Improve:
    return improve(ductcalc.read_shop("examples/creamery"))


def text(answer: Improve, display: Display = INCH, width: int | None = None) -> str:
    return rendered(improve_blocks(answer, display), Page(width, "utf-8", False)).replace("\u00a0", " ")


@pytest.mark.parametrize(("name", "width"), NAMES)
def test_report_is_the_golden_one(name: str, width: int | None) -> None:
    assert report(name, width) == file_of(name, "improve", width).read_text(encoding="utf-8")


@pytest.mark.parametrize(("name", "width"), [name for name in NAMES if name[1]])
def test_no_line_is_wider_than_the_page(name: str, width: int) -> None:
    assert max(map(width_of, report(name, width).splitlines())) <= width


def test_ascii_page_holds_ascii_alone_and_colour_adds_nothing() -> None:
    assert report("annex", 80, "ascii").isascii()
    coloured = report("annex", 80, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == report("annex", 80)


def test_the_first_line_names_what_is_got_what_would_help_and_what_that_harms() -> None:
    said = verdict(creamery(), INCH).replace("\u00a0", " ")
    assert said.startswith(
        "The planer alone gets 554 of 785 cfm wanted (loaded filter); a second port beside the first"
    )
    assert "would give it 660 cfm (+19 %), but chips would settle with the planer alone" in said
    assert said.endswith("What brings most and makes no case worse: a blower turned 10 % faster, 613 cfm (+11 %).")


def test_a_served_subject_is_said_to_be_served() -> None:
    served = verdict(improve(ductcalc.read_shop("examples/creamery"), "router table"), INCH).replace("\u00a0", " ")
    assert "wanted (loaded filter), and is served as it is; " in served
    settling = verdict(improve(two_machines()), INCH).replace("\u00a0", " ")
    assert ", and is served as it is, but chips settle: trunk 2 moves at 3360 fpm" in settling


def test_nothing_worth_telling_is_said() -> None:
    answer = replace(creamery(), gains=())
    assert verdict(answer, INCH).replace("\u00a0", " ").endswith("; no single change brings 1.8 % or more.")


def test_a_case_without_an_answer_is_said() -> None:
    short = [*points(("0 cfm", "10 inwg"), ("60 cfm", "9 inwg")), *NO_PARTS]
    answer = improve(shop(run("hose", port("saw", "4 in"), pipe("9 ft"), end()), table=short))
    lines = text(answer)
    assert lines.startswith("No answer for the saw alone: the blower's points end at 60 cfm")
    assert "One change at a time" not in lines
    assert improve_document(answer, INCH)["status"] == "beyond the curve"


def test_the_table_shows_the_rounded_differences_of_the_full_figures() -> None:
    lines = text(creamery()).splitlines()
    first = lines.index("One change at a time: the planer alone") + 3
    for number, found in enumerate(creamery().gains, 1):
        words = lines[first + number - 1].split()
        assert words[0] == str(number)
        assert f"{found.flow_m3_s / CFM:.0f}" in words
        assert f"+{found.gain_m3_s / CFM:.0f}" in words


def test_units_change_the_figures_and_nothing_else() -> None:
    metric = text(creamery(), METRIC)
    assert "a port of 152.4 mm in place of 127 mm (planer drop)" in metric
    assert f"{creamery().gains[0].flow_m3_s * 3600.0:.0f}" in metric
    numbers = [
        re.findall(r"[+]\d+(?:\.\d+)? %", said) for said in (verdict(creamery(), INCH), verdict(creamery(), METRIC))
    ]
    assert numbers[0] == numbers[1]


def test_a_caution_stands_where_outdoors_is_listed() -> None:
    assert "must come back in, never down the flue of a fuel-burning heater." in text(creamery())
    heated = replace(creamery(), room=replace(creamery().room, heater=True))
    assert "A flued heater burns in this room." in text(heated)
    kept = tuple(found for found in creamery().gains if "outdoors" not in found.kinds)
    nothing = replace(creamery().pairs, best=None, unharming=None)
    without = text(replace(creamery(), gains=kept, pairs=nothing, threes=nothing))
    assert "would leave the room" not in without


def test_notes_speak_only_of_what_is_listed() -> None:
    said = text(creamery())
    assert "A cleaned filter gains that until it is loaded again." in said
    assert "A smoother hood is for bare ends of pipe" not in said


def test_power_is_told_when_the_points_tell_it() -> None:
    table = [
        {**row, "power": f"{2 + n} hp"} for n, row in enumerate(points(("0 cfm", "14 inwg"), ("1500 cfm", "2 inwg")))
    ]
    answer = improve(shop(run("hose", port("saw", "4 in"), pipe("9 ft"), end()), table=[*table, *NO_PARTS]))
    assert re.search(r"1\.33 times the power; here \d\.\d hp in place of \d\.\d hp", text(answer))


def test_prices_are_shown_with_the_gain_for_money() -> None:
    prices = tuple(Price(PartName(kind), 10.0) for kind in KINDS)  # type: ignore[arg-type]
    answer = improve(ductcalc.read_shop("examples/creamery"), prices=prices)
    swapped = next(found for found in answer.gains if found.kinds == ("pipe for hose",))
    assert swapped.price is not None and swapped.price.whole
    row = next(line for line in text(answer).splitlines() if "of pipe and 2 elbows" in line)
    assert money(swapped.price.cost) in row.split()
    assert f"{swapped.gain_m3_s / swapped.price.cost / CFM:.2g}" in row.split()
    assert "Money: parts that the changed shop takes beyond what hangs now" in text(answer)


def test_json_holds_the_answer_in_full_precision() -> None:
    answer = creamery()
    found = json.loads(json_text(improve_document(answer, INCH)))
    assert [one["gain_m3_s"] for one in found["gains"]] == [one.gain_m3_s for one in answer.gains]
    assert found["pairs"]["best"]["gain_m3_s"] == answer.pairs.best.gain_m3_s  # type: ignore[union-attr]
    assert found["subject"] == {"machine": "planer", "case": "planer", "alone": True, "port": "planer drop"}
    first = found["gains"][0]["changes"][0]
    assert (first["kind"], first["run"], first["rows"]) == ("second port", "planer drop", [30])
    assert {"case", "word", "worse"} <= set(found["gains"][0]["effects"][0])
    assert found["exit_code"] == 1 and found["band"] == answer.band.share


def test_json_says_the_unit_of_what_is_changed_in_the_key() -> None:
    found = improve_document(creamery(), INCH)
    changes = {one["kind"]: one for gain in found["gains"] for one in gain["changes"]}
    assert not any({"before", "after"} & set(one) for one in changes.values())
    assert changes["bigger port"]["before_m"] == pytest.approx(0.127)
    assert changes["bigger port"]["after_m"] == pytest.approx(0.1524)
    assert changes["shorter hose"]["after_m"] == pytest.approx(0.9144)
    assert changes["second port"]["after_count"] == 2.0
    assert changes["tighter gates"]["before_share"] == 0.01
    assert changes["clean filter"]["after_state"] == "clean"
    assert set(KEYS) == set(get_args(Measured))


def test_what_is_bad_already_and_gets_worse_is_said() -> None:
    said = " ".join(text(creamery()).split())
    assert "slower still: 2 cases" in said
    assert re.search(r"slower still: the fret bench alone \(trunk 4 \d+ fpm in place of 2500 fpm, needs 3000", said)


def test_a_run_written_as_like_another_needs_its_own_rows() -> None:
    said = " ".join(text(improve(ductcalc.read_shop("examples/joinery-class"), "Bank 5"), METRIC).split())
    assert "Bank 5 needs its own rows: it is written as like Bank 2" in said


def test_the_gain_for_money_is_treated_alike_and_explained() -> None:
    prices = tuple(Price(PartName(kind), 10.0) for kind in KINDS)  # type: ignore[arg-type]
    answer = improve(ductcalc.read_shop("examples/creamery"), prices=prices)
    for width, times in ((None, 2), (80, 0)):
        lines = text(answer, INCH, width).splitlines()
        assert sum("cfm" in line and "%" in line and line.split()[-2:] == ["for", "1"] for line in lines) == times
    assert "cfm for 1: air gained for each unit of money" in " ".join(text(answer).split())


def test_short_at_a_port_is_a_word_of_its_own() -> None:
    answer = creamery()
    first = replace(answer.gains[0], case=short_at_a_port(answer.gains[0].case))
    said = text(replace(answer, gains=(first, *answer.gains[1:])))
    assert first.short_at_a_port and "SHORT AT A PORT  30" in said
    assert "SHORT AT A PORT: a machine's air would do" in said
    assert "SHORT AT A PORT" not in text(answer)


def short_at_a_port(case: CaseAnswer) -> CaseAnswer:
    """Return a case with as much air at all ports together as is wanted, however short one of them is."""
    enough = (replace(m, flow_m3_s=max(m.flow_m3_s, m.wanted_m3_s)) for m in case.machines)
    return replace(case, machines=tuple(enough))


def test_csv_has_a_line_for_everything_told() -> None:
    answer = creamery()
    rows = list(csv.DictReader(StringIO(improve_csv(answer, INCH))))
    told = [*answer.gains, *answer.pairs.told, *answer.threes.told]
    assert [float(row["more_cfm"]) for row in rows] == pytest.approx([one.gain_m3_s / CFM for one in told], rel=1e-5)
    assert rows[0]["worse"].startswith("SETTLES: the planer alone")
    assert rows[-1]["changes"].count("(") >= 1 and {row["served"] for row in rows} == {"yes", "no"}


def test_the_poorest_port_is_named_when_it_is_another_one() -> None:
    moved = [found for found in golden_answer("cellar").gains if found.poorest] or [
        found for found in improve(ductcalc.read_shop("examples/joinery-class")).gains if found.poorest
    ]
    assert moved
    answer = improve(ductcalc.read_shop("examples/joinery-class"))
    assert "poorest then: Fräse unten" in text(answer, METRIC)
