"""The collector table and what the settings say of collectors."""

# ruff: noqa: E501 (one case a line)

from __future__ import annotations

import pytest

HEAD = "item,flow,pressure,power,exponent,collector,note\n"
CURVE = "blower,0 cfm,11 inwg,,,,\nblower,1400 cfm,3 inwg,,,,\n"


def test_rows_become_a_collector_in_si(shop_of, duct, collector_text) -> None:
    (collector,) = shop_of(duct(), collector_text).collectors
    assert collector.name == "collector"
    assert [point.flow_m3_s for point in collector.blower] == pytest.approx(
        [0.0, 0.2831684659, 0.6607264205], rel=1e-9
    )
    assert [point.pressure_pa for point in collector.blower] == pytest.approx([2739.9779, 2490.889, 747.2667])
    assert collector.blower[1].power_w == pytest.approx(1491.39974)
    assert collector.cyclone.pressure_pa == pytest.approx(498.1778)
    assert (collector.filter_clean.exponent, collector.filter_loaded.exponent) == (1.0, None)
    assert (collector.basis, collector.contains, collector.absent) == (None, frozenset(), frozenset())
    assert collector.cyclone.place.row == 5


def test_none_says_that_a_part_does_not_exist(shop_of, duct) -> None:
    text = HEAD + CURVE + "Cyclone,,None,,,,\nfilter_clean,,none,,,,\n"
    assert shop_of(duct(), text).collectors[0].absent == {"cyclone", "filter clean"}


def test_two_advertised_numbers_are_enough(shop_of, duct) -> None:
    collector = shop_of(duct(), HEAD + "advertised,1500 cfm,11 inwg,,,,\n").collectors[0]
    assert collector.blower == ()
    assert collector.advertised.pressure_pa == pytest.approx(2739.9779)


def test_header_units_of_the_collector_table(shop_of, duct) -> None:
    text = "item;flow [m3/h];pressure [Pa]\nblower;0;2500,5\nblower;1800;500\n"
    collector = shop_of(duct(), text).collectors[0]
    assert [(p.flow_m3_s, p.pressure_pa) for p in collector.blower] == [
        (0.0, 2500.5),
        (pytest.approx(0.5), 500.0),
    ]


def test_several_collectors_by_name_with_their_own_settings(shop_of, duct) -> None:
    text = HEAD + CURVE.replace(",,,,", ",,,Big one,") + CURVE.replace(",,,,", ",,,small,")
    toml = '[collector."big one"]\ncurve = "Fan-Total"\noutlet_size = "8 in"\n[collector.small]\ncontains = ["cyclone", "filter"]\n'
    big, small = shop_of(duct(), text, toml).collectors
    assert (big.name, big.basis, big.outlet_size_m) == ("Big one", "fan total", pytest.approx(0.2032))
    assert (small.basis, small.contains) == (None, {"cyclone", "filter clean"})


ROWS = [
    (CURVE + "blowr,900 cfm,3 inwg,,,,\n", 4, "item", '"blowr" is no item', "did you mean blower?"),
    (CURVE + "Inlet suction,1500 cfm,2 inwg,,,,\n", 4, "item", "what a curve is of", 'curve = "inlet suction" under [collector]'),
    (CURVE + ",900 cfm,3 inwg,,,,\n", 4, "item", "names no item", "advertised"),
    (CURVE + "blower,1400 cfm,2 inwg,,,,\n", 4, "flow", "does not rise", "smallest flow to the largest"),
    (CURVE + "blower,900 cfm,2 inwg,,,,\n", 4, "flow", "does not rise", "smallest flow to the largest"),
    (CURVE + "cyclone,0 cfm,2 inwg,,,,\n", 4, "flow", "given with no flow", "or none as the pressure if the part does not exist"),
    (CURVE + "blower,1500 cfm,2 inches,,,,\n", 4, "pressure", "is a length", "write 2 inwg (inches of water)"),
    (CURVE + "blower,1500 cfm,900 inwg,,,,\n", 4, "pressure", "out of range", "to 25 kPa (100 inwg)"),
    (CURVE + "blower,1500 cfm,-2 inwg,,,,\n", 4, "pressure", "out of range", "without a minus"),
    (CURVE + "blower,1500,2 inwg,,,,\n", 4, "flow", "no unit", "cfm"),
    (CURVE + "blower,1500 cfm,,,,,\n", 4, "pressure", "has no pressure", "inwg"),
    (CURVE + "blower,1500 cfm,none,,,,\n", 4, "pressure", "cannot be none", "does not exist"),
    (CURVE + "advertised,1500 cfm,12 inwg,,,,\n", 4, "item", "advertised row as well", "keep the points"),
    ("blower,0 cfm,11 inwg,,,,\n", 2, None, "one point only", "two or more rows blower"),
    ("advertised,0 cfm,11 inwg,,,,\n", 2, "flow", "no flow", "write the flow"),
    (CURVE + "cyclone,800 cfm,2 inwg,,,,\ncyclone,800 cfm,2 inwg,,,,\n", 5, "item", "stands twice", "keep one"),
    (CURVE + "cyclone,,none,,,,\ncyclone,800 cfm,2 inwg,,,,\n", 5, "item", "stands twice", "keep one"),
    (CURVE + "cyclone,0 cfm,2 inwg,,,,\n", 4, "flow", "no flow", "none"),
    (CURVE + "cyclone,800 cfm,2 inwg,2 hp,,,\n", 4, "power", "has no power", "blower"),
    (CURVE + "cyclone,800 cfm,2 inwg,,2,,\n", 4, "exponent", "has no exponent", "filter"),
    (CURVE + "filter clean,800 cfm,1 inwg,,2.5,,\n", 4, "exponent", "out of range", "to 2"),
    (CURVE + "filter clean,,none,,,,\nfilter loaded,800 cfm,2 inwg,,,,\n", 5, "pressure", "none in one row", "remove"),
    (CURVE + "filter clean,800 cfm,2 inwg,,,,\nfilter loaded,800 cfm,1 inwg,,,,\n", 5, "pressure", "less than the clean", "check"),
    (CURVE + "cyclone,800 cfm,2 inwg,,,a+b,\n", 4, "collector", 'holds "+"', "and"),
]  # fmt: skip


@pytest.mark.parametrize(("rows", "number", "column", "message", "hint"), ROWS)
def test_wrong_collector_row_is_told(problems_of, duct, rows, number, column, message, hint) -> None:
    problems = [p for p in problems_of(duct(), HEAD + rows) if message in p.message]
    assert len(problems) == 1
    assert (problems[0].place.file, problems[0].place.row, problems[0].place.column) == (
        "collector.csv",
        number,
        column,
    )
    assert hint in problems[0].hint


@pytest.mark.parametrize("swap", ["header", "cells"])
def test_swapped_flow_and_pressure_are_told_once(problems_of, duct, swap: str) -> None:
    head = HEAD.replace("flow,pressure", "pressure,flow") if swap == "header" else HEAD
    rows = CURVE if swap == "header" else "blower,11 inwg,0 cfm,,,,\nblower,3 inwg,1400 cfm,,,,\nblower,2 inwg,1500 cfm,,,,\n"
    (problem,) = problems_of(duct(), head + rows)
    assert (problem.place.row, problem.place.column) == (2, "flow")
    assert "swapped" in problem.message and "swap the two words in the header" in problem.hint


def test_bare_numbers_under_the_wrong_head_are_asked_for(problems_of, duct) -> None:
    text = "item,flow [cfm],pressure [inwg]\nblower,3,1400\nblower,11,0\n"
    assert any("flow and pressure swapped?" in problem.hint for problem in problems_of(duct(), text))


def test_blank_collector_beside_named_ones_is_told(problems_of, duct) -> None:
    problems = problems_of(duct(), HEAD + CURVE.replace(",,,,", ",,,big,") + "cyclone,800 cfm,2 inwg,,,,\n")
    assert [str(p.place) for p in problems] == ["collector.csv row 4, column collector (F)"]


def test_unknown_collector_in_the_duct_table_is_told(problems_of, duct) -> None:
    text = HEAD + CURVE.replace(",,,,", ",,,big one,")
    problems = problems_of(
        duct()
        .replace(",collector,,", ",collector,big onne,")
        .replace('"collector",,', '"collector",big onne,'),
        text,
    )
    assert [(p.place.row, p.place.column, p.hint) for p in problems] == [
        (5, "machine", "did you mean big one?")
    ]


SETTINGS = [
    (
        'curve = "fan total"',
        "collector.curve",
        "outlet",
        'outlet_size = "8 in"',
    ),
    ('curve = "inlet suction"', "collector.curve", "pipe", 'test_pipe = "8 in"'),
    ('curve = "fan statik"', "collector.curve", "is no curve", "did you mean fan static?"),
    ('contains = ["cyclon"]', "collector.contains", "is no part", "did you mean cyclone?"),
    ('contains = ["filter loaded"]', "collector.contains", "clean", "filter clean"),
    ('outlet_size = "8"', "collector.outlet_size", "no unit", '"6 in"'),
    ('density = "12 kg/m3"', "collector.density", "out of range", "1.2 kg/m3"),
    ('curv = "fan static"', "collector.curv", "no key", "did you mean curve?"),
]


@pytest.mark.parametrize(("line", "key", "message", "hint"), SETTINGS)
def test_wrong_collector_setting_is_told(problems_of, duct, line, key, message, hint) -> None:
    problems = problems_of(duct(), HEAD + CURVE, f"[collector]\n{line}\n")
    assert [p.place.key for p in problems] == [key]
    assert problems[0].place.file == "shop.toml"
    assert message in problems[0].message
    assert hint in problems[0].hint


def test_loaded_row_beside_a_contained_unknown_clean_filter_is_refused(problems_of, duct) -> None:
    text = HEAD + CURVE + "filter loaded,800 cfm,2 inwg,,,,\n"
    problems = problems_of(duct(), text, '[collector]\ncontains = ["filter clean"]\n')
    assert [p.place.key for p in problems] == ["collector.contains"]


def test_plain_section_beside_several_collectors_is_told(problems_of, duct) -> None:
    text = HEAD + CURVE.replace(",,,,", ",,,a,") + CURVE.replace(",,,,", ",,,b,")
    problems = problems_of(duct(), text, '[collector]\ncurve = "fan static"\n')
    assert "does not say which" in problems[0].message and '[collector."a"]' in problems[0].hint


def test_without_a_collector_table_there_is_no_collector_and_settings_of_one_are_remarked(
    shop_of, duct
) -> None:
    shop = shop_of(duct(), None, '[collector]\ncurve = "fan static"\n')
    assert shop.collectors == ()
    assert any("no collector table" in remark for remark in shop.remarks)


def test_blower_without_pressure_at_any_flow_is_told(problems_of, duct) -> None:
    (problem,) = problems_of(duct(), "item,flow,pressure\nblower,0 cfm,0 Pa\nblower,400 cfm,0 Pa\n")
    assert str(problem.place) == "collector.csv row 2, column pressure (C)"
    assert "no pressure at any flow" in problem.message and "8 inwg" in problem.hint
