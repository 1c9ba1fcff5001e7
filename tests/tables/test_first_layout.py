"""A first duct table: it runs as written, follows the places, keeps the trade's rules, and overwrites nothing."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ductcalc
from ductcalc.answers.first_layout import FirstLayout, first_layout
from ductcalc.errors import InputError
from ductcalc.shop import Piece, Settings, Shop
from ductcalc.shop.hanging import hang
from ductcalc.tables.machines import read_machines, table_text, write_first_layout
from ductcalc.tables.reader import read_shop

Rows = Sequence[dict[str, str]]
FOOT, INCH, CFM = 0.3048, 0.0254, 0.3048**3 / 60.0


def machine(name: str, along: str, port: str = "4 in", flow: str = "400 cfm", **more: str) -> dict[str, str]:
    return {"machine": name, "along": along, "port": port, "flow": flow, "height": "5 ft", **more}


SHOP = (
    machine("router", "6 ft", flow="350 cfm"),
    machine("planer", "24 ft", "6 in", "785 cfm", reach="4 ft"),
    machine("band saw", "31 ft", height="4 ft"),
    machine("table saw", "15 ft", reach="3 ft"),
)


@pytest.fixture
def laid(tmp_path: Path) -> Callable[..., tuple[Shop, FirstLayout]]:
    def write(rows: Rows = SHOP, settings: str | None = None) -> tuple[Shop, FirstLayout]:
        if settings is not None:
            (tmp_path / "shop.toml").write_text(settings)
        _, layout = write_first_layout(tmp_path, rows)
        return read_shop(tmp_path), layout

    return write


def pieces(shop: Shop, run: str) -> list[Piece]:
    return [piece for one in shop.runs if one.name == run for piece in one.pieces]


def test_the_main_begins_at_the_farthest_machine_and_meets_the_others_in_order_of_place(laid) -> None:
    shop, _ = laid()
    main = pieces(shop, "main")
    assert main[0].machine == "band saw"
    assert [piece.joins for piece in main if piece.kind == "wye"] == [
        ("planer drop",), ("table saw drop",), ("router drop",),
    ]  # fmt: skip
    assert all(piece.settled_deg == (45.0,) for piece in main if piece.kind == "wye")


def test_lengths_along_the_main_are_those_between_the_places(laid) -> None:
    main = pieces(laid()[0], "main")
    level = [piece.length_m / FOOT for piece in main if piece.kind == "pipe" and piece.length_m and not piece.rise_m]
    assert level[:4] == pytest.approx([7, 9, 9, 6])


def test_a_drop_has_port_hose_gate_riser_and_bends_in_the_size_of_its_port(laid) -> None:
    drop = pieces(laid()[0], "planer drop")
    assert [piece.kind for piece in drop] == ["port", "flex", "gate", "pipe", "elbow", "pipe", "elbow"]
    assert all(piece.size_m == pytest.approx(6 * INCH) for piece in drop)
    assert drop[3].rise_m == pytest.approx(5 * FOOT) and drop[5].length_m == pytest.approx(4 * FOOT)
    assert [piece.settled_deg for piece in drop if piece.kind == "elbow"] == [(90.0,), (45.0,)]


def test_the_main_turns_down_to_the_collector_with_straight_pipe_ahead_of_it(laid) -> None:
    main = pieces(laid()[0], "main")
    assert [piece.kind for piece in main[-5:]] == ["elbow", "pipe", "elbow", "pipe", "collector"]
    assert main[-4].rise_m == pytest.approx(-5 * FOOT)
    assert main[-2].length_m == pytest.approx(5 * 6 * INCH)


def test_the_main_carries_its_largest_machine_alone_and_grows_towards_the_collector(laid) -> None:
    shop, layout = laid()
    assert [(one.size_m / INCH, one.behind) for one in layout.main] == [
        (pytest.approx(4), "band saw"), (pytest.approx(6), "planer"),
    ]  # fmt: skip
    bores = [piece.size_m for piece in pieces(shop, "main")]
    assert bores == sorted(bores)


def test_named_sets_of_a_settings_file_that_is_there_size_the_main(laid) -> None:
    _, layout = laid(SHOP, '[gates.sets]\nboth = ["planer", "table saw"]\n')
    assert layout.main[-1].use == "set both"
    assert layout.main[-1].flow_m3_s == pytest.approx(1185 * CFM)
    assert 18.0 <= layout.main[-1].speed_m_s <= 23.0


def test_a_set_with_a_machine_that_is_not_listed_is_told(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text('[gates.sets]\nboth = ["planer", "lathe"]\n')
    with pytest.raises(InputError, match="lathe"):
        write_first_layout(tmp_path, SHOP)
    assert not (tmp_path / "duct.csv").exists()


def test_ports_too_wide_for_their_air_are_told(laid) -> None:
    _, layout = laid((*SHOP, machine("lathe", "2 ft", "6 in", "400 cfm")))
    assert [one.machine for one in layout.slow] == ["lathe"]


def test_machines_too_small_for_the_main_alone_are_told(laid) -> None:
    _, layout = laid()
    assert set(layout.slow_alone) == {"router", "band saw", "table saw"}
    assert layout.least_m3_s / CFM == pytest.approx(0.889 * 3937 * math.pi / 4 * 0.25, rel=1e-3)


def test_rows_of_one_machine_are_its_ports_and_told(laid) -> None:
    shop, layout = laid((machine("saw", "9 ft"), machine("saw", "9 ft", "3 in", "200 cfm"), machine("lathe", "12 ft")))
    assert set(hang(shop).machines()) == {"lathe", "saw"}
    assert len(hang(shop).ports) == 3
    assert any("saw has 2 ports" in remark for remark in layout.remarks)


def test_a_duct_table_that_is_there_stays(tmp_path: Path) -> None:
    (tmp_path / "duct.csv").write_text("mine")
    with pytest.raises(InputError, match="there already"):
        write_first_layout(tmp_path, SHOP)
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("duct.csv", "mine")]


def test_a_collector_that_is_there_makes_it_a_whole_shop(tmp_path: Path) -> None:
    rows = ("item,flow,pressure", "blower,0 cfm,12 inwg", "blower,1000 cfm,9 inwg", "blower,1800 cfm,1 inwg")
    (tmp_path / "collector.csv").write_text("\n".join(rows))
    write_first_layout(tmp_path, SHOP)
    found = ductcalc.check(read_shop(tmp_path))
    assert [case.solved for case in found.loaded] == [True] * 4


NAMES = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=100)
FEET = st.integers(0, 400).map(lambda n: f"{n / 4} ft")


@st.composite
def lists(draw) -> Rows:
    sound = NAMES.filter(lambda name: not set(name) & set("+,") and name.strip())
    names = draw(st.lists(sound, min_size=1, max_size=6))
    ports = st.sampled_from(["3 in", "4 in", "6 in", "120 mm"])
    flows = st.sampled_from(["150 cfm", "20 m/s", "785 cfm", "off"])
    return [
        machine(name, draw(FEET), draw(ports), draw(flows), height=draw(FEET), reach=draw(FEET)) for name in names
    ]


@settings(deadline=None)
@given(rows=lists())
def test_any_list_that_is_read_gives_a_table_that_runs(tmp_path_factory, rows) -> None:
    folder = tmp_path_factory.mktemp("shop")
    try:
        listed = read_machines(rows)
    except InputError:
        return
    write_first_layout(folder, rows)
    shop = read_shop(folder)
    hanging = hang(shop)
    assert len(hanging.ports) == len(rows)
    assert len(hanging.machines()) == len({one.machine.casefold() for one in listed.machines})
    along = sum(p.length_m or 0.0 for p in pieces(shop, "main") if p.kind == "pipe" and not p.rise_m)
    assert along >= max(one.along_m for one in listed.machines) - 1e-3
    bores = [piece.size_m or 0.0 for piece in pieces(shop, "main")]
    assert all(a <= b + 1e-9 for a, b in pairwise(bores))


def test_metric_lists_are_written_in_metres_and_sold_sizes() -> None:
    rows = [machine("a", "8 m", "120 mm", "20 m/s"), machine("b", "3.25 m", "160 mm", "1450 m3/h")]
    layout = first_layout(read_machines(rows), Settings())
    assert "4.75 m" in table_text(layout) and " ft" not in table_text(layout)
    assert math.isclose(layout.main[-1].size_m, 0.16)
