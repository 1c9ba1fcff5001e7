"""Matters of people and property: fumes, fire, collapse, chips that come out."""

from __future__ import annotations

import pytest

from ductcalc.answers.check import check
from ductcalc.findings.rules import RULES
from ductcalc.physics.velocity import bore_area
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, names, seen, words


def one(*rows: s.Row, table: s.Rows | None = None, **settings: object) -> Shop:
    pieces = rows or (s.gate(), s.pipe("9 ft"))
    return s.shop(
        s.run("a", s.port("saw", "5 in", "540 cfm", k=1.5), *pieces, s.end()), table=table or s.BARE, **settings
    )


def test_these_are_cautions() -> None:
    assert {rule.name for rule in RULES if rule.caution} == {
        "heater", "metal", "thin pipe", "every gate shut", "own blower", "motor load", "plastic pipe",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("room", "count"),
    [
        ({"exhaust": "outdoors", "heater": True}, 1),
        ({"exhaust": "outdoors", "heater": False}, 0),
        ({"exhaust": "indoors", "heater": True}, 0),
        ({"heater": True}, 1),
        ({"exhaust": "outdoors"}, 0),
    ],
)
def test_heater_is_told_where_the_air_leaves_the_room(room: dict[str, object], count: int) -> None:
    assert len(seen(one(room=room), "heater")) == count


def test_heater_is_told_with_the_flow_and_where_the_answer_is_written() -> None:
    (found,) = seen(one(room={"heater": True}), "heater")
    flow = check(one()).loaded[0].collector
    assert flow is not None
    assert figures(found.what) == [f"{flow.flow_m3_s / s.CFM:.0f} cfm"]
    assert 'exhaust = "indoors" under [room]' in words(found.cure)


def test_metal_is_told_with_the_time_that_a_spark_takes() -> None:
    shop = one(machines={"saw": {"metal": True}}, method={"joint_leakage": "none"})
    (found,) = seen(shop, "metal")
    flow = check(shop).loaded[0].machines[0].flow_m3_s
    seconds = 9 * 0.3048 * float(bore_area(0.127)) / flow
    assert f"{seconds:.1f} s" in words(found.what)


def test_machine_named_after_metal_work_is_told_at_its_row() -> None:
    shop = s.shop(s.run("a", s.port("Bench Grinder", "5 in"), s.pipe("9 ft"), s.end()))
    (found,) = seen(shop, "metal")
    assert found.place is not None
    assert (found.place.row, found.name) == (1, "Bench Grinder")
    assert 'metal = false under [machines."Bench Grinder"]' in words(found.cure)


@pytest.mark.parametrize(
    "machine",
    ["metalworking bench", "grinding", "Schleif", "Schleifbock", "meuleuse", "touret à meuler", "amoladora", "mola",
     "slijpmachine", "bänkslip", "vinkelsliber", "szlifierka kątowa", "knife sharpener"],
)  # fmt: skip
def test_names_in_other_words_and_languages_speak_of_metal(machine: str) -> None:
    shop = s.shop(s.run("a", s.port(machine, "5 in"), s.pipe("9 ft"), s.end()))
    assert names(shop, "metal") == [machine]


SANDERS = ("Bandschleifer", "edge sander", "szlifierka taśmowa", "ponceuse", "lijadora", "levigatrice", "bandslip")


@pytest.mark.parametrize(
    ("machine", "metal"), [("grinder", False), ("lathe", None), *((name, None) for name in SANDERS)]
)
def test_machine_that_is_said_or_named_otherwise_throws_none(machine: str, metal: bool | None) -> None:
    machines = {} if metal is None else {machine: {"metal": metal}}
    shop = s.shop(s.run("a", s.port(machine, "5 in"), s.pipe("9 ft"), s.end()), machines=machines)
    assert names(shop, "metal") == []


def test_metal_of_a_machine_that_is_off_is_told_without_a_time() -> None:
    shop = s.shop(
        s.run("a", s.port("saw", "5 in"), s.wye("b", "5 in"), s.pipe("9 ft"), s.end()),
        s.run("b", s.port("grinder", "4 in", "off"), s.gate(), s.pipe("3 ft")),
        machines={"grinder": {"metal": True}},
    )
    (found,) = seen(shop, "metal")
    assert figures(found.what) == [] and " s " not in words(found.what)


@pytest.mark.parametrize(
    ("style", "size", "count"),
    [("snap-lock", "8 in", 1), ("snap-lock", "4 in", 0), ("spiral", "8 in", 0), ("plastic", "8 in", 0)],
)
def test_thin_pipe_is_told_where_the_blower_may_fold_it(style: str, size: str, count: int) -> None:
    assert len(seen(one(s.pipe("9 ft", size, style=style)), "thin pipe")) == count


def test_thin_pipe_is_given_a_third_of_what_a_whole_round_tube_stands() -> None:
    """Sheet of 0.4 mm, steel of 200 GPa that contracts by 0.3, and a margin of 3, all of them custom."""
    table = [s.rated("advertised", "1400 cfm", "7.3 inwg"), *s.NO_PARTS]
    shop = one(s.pipe("9 ft", "8 in", style="snap-lock"), table=table, air={"density": "1.2014 kg/m3"})
    (found,) = seen(shop, "thin pipe")
    folds = 2 * 200e9 / (1 - 0.3**2) * (0.4 / 203.2) ** 3
    assert found.share == pytest.approx(7.3 * s.INCH_WATER / (folds / 3) - 1, rel=1e-6)


def test_widest_thin_pipe_is_the_one_that_folds_first() -> None:
    thin = {"style": "snap-lock"}
    shop = one(s.pipe("3 ft", "7 in", **thin), s.pipe("3 ft", "8 in", **thin), s.pipe("3 ft", "7 in", **thin))
    (found,) = seen(shop, "thin pipe")
    assert "8 in" in figures(found.what) and "7 in" not in figures(found.what)


def test_advertised_pressure_counts_in_full_against_thin_pipe() -> None:
    table = [s.rated("advertised", "1400 cfm", "7.3 inwg"), *s.NO_PARTS]
    shop = one(s.pipe("9 ft", "8 in", style="snap-lock"), table=table)
    (found,) = seen(shop, "thin pipe")
    assert "7.3 in of water" in figures(found.what)


@pytest.mark.parametrize(
    ("rows", "machines", "count"),
    [
        ([s.gate(), s.pipe("9 ft")], {"saw": {"own_blower": "1 inwg"}}, 1),
        ([s.pipe("9 ft")], {"saw": {"own_blower": "1 inwg"}}, 0),
        ([s.gate(), s.pipe("9 ft")], {}, 0),
    ],
)
def test_own_blower_is_told_behind_a_gate(rows: list[s.Row], machines: dict[str, object], count: int) -> None:
    assert len(seen(one(*rows, machines=machines), "own blower")) == count


def test_own_blower_behind_the_gate_of_the_branch_is_told() -> None:
    shop = s.shop(
        s.run("a", s.port("saw", "5 in"), s.gate(), s.wye("b", "5 in"), s.pipe("9 ft"), s.end()),
        s.run("b", s.port("planer", "4 in"), s.pipe("3 ft"), s.wye("c", "5 in"), s.gate()),
        s.run("c", s.port("lathe", "4 in"), s.pipe("3 ft")),
        machines={"planer": {"own_blower": "1 inwg"}},
    )
    assert names(shop, "own blower") == ["planer"]


@pytest.mark.parametrize(("sets", "count"), [({"idle": []}, 1), ({"idle": [], "pause": []}, 2), ({"saw": ["saw"]}, 0)])
def test_set_that_opens_nothing_is_told(sets: dict[str, list[str]], count: int) -> None:
    found = seen(one(gates={"sets": sets}), "every gate shut")
    assert len(found) == count
    assert all("14.0 in of water" in figures(each.what) for each in found)


def test_set_that_opens_nothing_is_harmless_where_a_machine_is_always_open() -> None:
    assert names(one(s.pipe("9 ft"), gates={"sets": {"idle": []}}), "every gate shut") == []


@pytest.mark.parametrize(
    ("style", "count"),
    [("snap-lock 26 gauge", 0), ("snap-lock 30 ga", 1), ("snap-lock, 0.3 mm", 1), ("longitudinal seam 30 gauge", 1),
     ("longitudinal seam", 0), ("spiral 30 gauge", 0)],
)  # fmt: skip
def test_pipe_of_a_known_gauge_is_held_against_it(style: str, count: int) -> None:
    assert len(seen(one(s.pipe("9 ft", "7 in", style=style)), "thin pipe")) == count


def test_gauge_of_the_whole_shop_counts_where_a_row_says_none_and_is_asked_for_where_nothing_is_said() -> None:
    row = s.pipe("9 ft", "7 in", style="snap-lock")
    (found,) = seen(one(row), "thin pipe")
    assert "gauge = 26" in words(found.cure)
    (told,) = seen(one(row, pipe={"gauge": 30}), "thin pipe")
    assert "gauge" not in words(told.cure)
    for known in ({"gauge": 26}, {"wall": "0.55 mm"}):
        assert seen(one(row, pipe=known), "thin pipe") == []


def test_plastic_pipe_is_one_caution_with_all_its_length() -> None:
    shop = one(s.pipe("9 ft", "7 in", style="pvc"), s.pipe("4 ft", style="plastic"), s.pipe("8 ft", style="spiral"))
    (found,) = seen(shop, "plastic pipe")
    assert figures(found.what) == ["13 ft"]
