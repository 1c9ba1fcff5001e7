"""Sizes before there is a blower's curve: by speed at the wanted flows, with the least fan duty that speed allows."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

import ductcalc
from ductcalc.answers.size.by_speed import SpeedSizing, size_by_speed
from ductcalc.shop import Shop
from tests.scenes import CFM, end, gate, pipe, port, run, tight, wye
from tests.typed import typed

INCH, NEEDED = 0.0254, 20.0
SIZES = {"size": {"sizes": ["4 in", "5 in", "6 in", "7 in", "8 in"]}, "air": {"density": "1.2 kg/m3"}}


def made(main: str = "8 in", **settings: object) -> Shop:
    return tight(
        run("trunk", port("saw", "4 in", k=1), gate(), pipe("9 ft"), wye("drop", main), pipe("9 ft"), end()),
        run("drop", port("planer", "5 in", flow="600 cfm", k=1), gate(), pipe("9 ft")),
        table=(),
        **{**SIZES, "gates": {"leak": "0 %", "sets": {"both": ["saw", "planer"]}}, **settings},
    )  # fmt: skip


def speed(flow_cfm: float, bore_m: float) -> float:
    return flow_cfm * CFM / (math.pi / 4 * bore_m**2)


def chosen(found: SpeedSizing, stretch: str) -> float:
    return max(next(one.chosen_m for one in found.stretches if one.stretch == stretch))


def test_a_stretch_gets_the_largest_size_that_keeps_its_largest_set_moving() -> None:
    found = size_by_speed(made())
    bore = chosen(found, "trunk 2")
    assert speed(1000, bore) >= NEEDED > speed(1000, bore + INCH)


def test_sets_that_bring_less_air_are_told_to_settle() -> None:
    found = size_by_speed(made())
    assert [case.case.name for case in found.then if case.case.chips == "settles"] == ["saw", "planer"]
    assert found.exit_code == 1


def test_only_named_sets_count_where_that_is_asked() -> None:
    found = size_by_speed(made(), sets_only=True)
    assert [case.case.name for case in found.then] == ["both"] and found.exit_code == 0


def test_the_duty_told_is_that_of_need_for_the_sized_shop() -> None:
    found = size_by_speed(made("5 in"))
    need = ductcalc.need(found.sized)
    assert [case.fan_static_pa for case in found.then] == pytest.approx([case.fan_static_pa for case in need.cases])
    now = max(case.fan_static_pa or 0.0 for case in found.now)
    assert max(case.fan_static_pa or 0.0 for case in found.then) < now


def test_a_run_to_keep_stays_as_written() -> None:
    found = size_by_speed(made("5 in"), keep=["trunk"])
    assert found.stretches
    assert all(not one.changes for one in found.stretches if one.run == "trunk")


def test_nothing_is_narrower_than_what_flows_into_it() -> None:
    shop = tight(
        run("trunk", port("drum", "8 in", flow="200 cfm", k=1), gate(), wye("drop", "8 in"), pipe("9 ft"), end()),
        run("drop", port("saw", "4 in", flow="400 cfm", k=1), gate(), pipe("3 ft")),
        table=(),
        **SIZES,
    )
    assert chosen(size_by_speed(shop), "trunk 2") >= 8 * INCH - 1e-9


DUCT = """run,piece,machine,size,length,joins,flow
trunk,port,saw,4 in,,,400 cfm
,gate,,4 in,,,
,pipe,,4 in,9 ft,,
,wye,,5 in,,drop,
,pipe,,5 in,9 ft,,
,collector,,5 in,,,
drop,port,planer,5 in,,,600 cfm
,gate,,5 in,,,
,pipe,,5 in,9 ft,,
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "duct.csv").write_text(DUCT, "utf-8")
    (tmp_path / "shop" / "shop.toml").write_text('[gates.sets]\nboth = ["saw", "planer"]\n', "utf-8")
    return tmp_path


def test_the_command_says_that_the_verdict_waits_and_writes_the_sizes(folder: Path) -> None:
    said = typed("size", "shop", "--write", "sized", folder=folder)
    assert said.returncode == 1 and "waits for one" in said.stdout
    document = json.loads(typed("size", "shop", "--format", "json", folder=folder).stdout)
    assert document["waits_for_a_curve"] is True
    again = json.loads(typed("size", "sized", "--format", "json", folder=folder).stdout)
    assert [one["chosen_m"] for one in again["stretches"]] == [one["chosen_m"] for one in document["stretches"]]
    assert again["now"] == document["then"]


def test_every_gate_pair_is_told_by_speed(folder: Path) -> None:
    document = json.loads(typed("gates", "shop", "--format", "json", folder=folder).stdout)
    need = json.loads(typed("need", "shop", "--format", "json", folder=folder).stdout)
    assert [one["case"] for one in document["sets"]] == ["saw", "planer", "both", "saw, planer"]
    for mine, theirs in zip(document["sets"], need["cases"], strict=False):
        assert (mine["fan_static_pa"], mine["chips"]) == (theirs["fan_static_pa"], theirs["chips"])
    said = typed("gates", "shop", folder=folder)
    assert said.returncode == 1 and "waits for a blower's curve" in " ".join(said.stdout.split())


def test_machines_on_one_hose_are_no_pair(folder: Path) -> None:
    planer = "drop,port,planer,5 in,,,600 cfm\n"
    shared = DUCT.replace(planer, f"{planer},port,lathe,5 in,,,500 cfm\n")
    (folder / "shop" / "duct.csv").write_text(shared, "utf-8")
    document = json.loads(typed("gates", "shop", "--format", "json", folder=folder).stdout)
    assert document["sharing"] == [["planer", "lathe"]]
    assert "planer, lathe" not in [one["case"] for one in document["sets"]]
    assert "hose" in typed("gates", "shop", folder=folder).stdout


def test_one_drop_alone_waits_for_a_curve(folder: Path) -> None:
    said = typed("size", "shop", "--drop", "drop", folder=folder)
    assert said.returncode == 2 and "ductcalc need SHOP" in said.stderr
