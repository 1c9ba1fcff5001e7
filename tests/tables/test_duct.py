"""What the duct table's cells become in the shop."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ductcalc.errors import InputError
from ductcalc.shop import Drop, Wanted
from ductcalc.tables import shop_from_rows

DESIGN = """run,piece,machine,style,size,length,angle,count,joins,flow,note
trunk,port,band saw,flanged,4 in,,,,,400 cfm,farthest machine
,flex,,,4 in,5 ft,,1,,,
,gate,,,4 in,,,,,,
,pipe,,spiral,4 in,9 ft,,,,,
,reducer,,,5 in,,,,,,
,wye,,,6 in,,45,,sander drop,,
,pipe,,spiral,6 in,22 ft,,,,,
,elbow,,5-gore,6 in,,90,2,,,
,collector,,,6 in,,,,,,
sander drop,port,thickness sander,tapered,5 in,,,,,550 cfm,
,gate,,,5 in,,,,,,
,pipe,,spiral,5 in,7 ft 6 in,,,,,
"""


def test_rows_become_runs_in_order_with_places(shop_of) -> None:
    shop = shop_of(DESIGN)
    assert [(run.name, len(run.pieces), run.place.row) for run in shop.runs] == [
        ("trunk", 9, 2),
        ("sander drop", 3, 11),
    ]
    assert [piece.place.row for run in shop.runs for piece in run.pieces] == list(range(2, 14))
    port, flex, *_ = shop.runs[0].pieces
    assert (port.machine, port.style, port.note) == ("band saw", "flanged", "farthest machine")
    assert port.wanted.flow_m3_s == pytest.approx(400 * 0.3048**3 / 60, rel=1e-12)
    assert (flex.length_m, flex.count) == (pytest.approx(1.524), 1)
    assert shop.first_units == "inch"
    assert shop.runs[0].pieces[5].joins == ("sander drop",)
    assert shop.runs[1].pieces[2].length_m == pytest.approx(2.286)


def test_run_name_may_be_repeated_in_every_row_in_any_letter_case(shop_of) -> None:
    text = "run,piece,size\nMain,port,4 in\nmain,gate,4 in\n MAIN ,collector,4 in\n"
    assert [(run.name, len(run.pieces)) for run in shop_of(text).runs] == [("Main", 3)]


def piece_of(shop_of, duct, **cells):
    return shop_of(duct(second={"size": "4 in"} | cells)).runs[0].pieces[1]


@pytest.mark.parametrize(
    ("cells", "field", "value"),
    [
        ({"piece": "pipe", "length": "3 x 10 ft"}, "length_m", 9.144),
        ({"piece": "pipe", "length": "3 ft", "roughness": "0.1 mm"}, "roughness_m", 0.0001),
        ({"piece": "pipe", "length": "3 ft", "rise": "-3 ft"}, "rise_m", -0.9144),
        ({"piece": "elbow", "radius": "1.5"}, "radius", 1.5),
        ({"piece": "elbow", "k": "0"}, "k", 0.0),
        ({"piece": "flex", "length": "3 ft", "factor": "2,4"}, "factor", 2.4),
        ({"piece": "gate", "opening": "50 %"}, "opening", 0.5),
        ({"piece": "gate", "opening": "1"}, "opening", 1.0),
        ({"piece": "gate", "leak": "1 %"}, "leak", 0.01),
        ({"piece": "gate", "leak": "0"}, "leak", 0.0),
    ],
)
def test_number_cell_in_si(shop_of, duct, cells, field, value) -> None:
    assert getattr(piece_of(shop_of, duct, **cells), field) == pytest.approx(value, rel=1e-12)


def test_header_gives_a_leak_its_unit_and_a_cell_of_its_own_wins(shop_of) -> None:
    text = "run,piece,size,leak [%]\nmain,port,4 in,\n,gate,,0.5\n,gate,,2 %\n,gate,,0\n,collector,4 in,\n"
    leaks = [piece.leak for piece in shop_of(text).runs[0].pieces if piece.kind == "gate"]
    assert leaks == [pytest.approx(0.005), pytest.approx(0.02), 0.0]


def test_hose_may_have_no_bends(shop_of, duct) -> None:
    assert piece_of(shop_of, duct, piece="flex", length="3 ft", count="0").count == 0


def test_double_wye_has_two_angles_and_two_runs(shop_of, duct, row) -> None:
    second = {"piece": "wye", "size": "6 in", "angle": "30 + 45", "joins": "A + cap"}
    extra = row(run="a", piece="port", machine="x", size="4 in") + "\n"
    wye = shop_of(duct(second=second, extra=extra)).runs[0].pieces[1]
    assert (wye.angles_deg, wye.joins) == ((30.0, 45.0), ("A", "cap"))


@pytest.mark.parametrize(
    ("cells", "wanted"),
    [
        ({"flow": "20 m/s"}, Wanted(speed_m_s=20.0)),
        ({"flow": "Off"}, Wanted(off=True)),
        ({"flow": "200 l/s"}, Wanted(flow_m3_s=0.2)),
    ],
)
def test_wanted_air_is_a_flow_a_speed_or_off(shop_of, duct, cells, wanted) -> None:
    found = shop_of(duct(port=cells)).runs[0].pieces[0].wanted
    assert (found.off, found.speed_m_s) == (wanted.off, wanted.speed_m_s)
    assert found.flow_m3_s == pytest.approx(wanted.flow_m3_s)


@pytest.mark.parametrize(
    ("text", "drop"),
    [
        ("900 Pa at 20 m/s", Drop(900.0, speed_m_s=20.0)),
        ("900 Pa @ 20 m/s", Drop(900.0, speed_m_s=20.0)),
        ("900 Pa static at 20 m/s", Drop(900.0, speed_m_s=20.0)),
        ("total loss 900 Pa at 20 m/s", Drop(900.0, speed_m_s=20.0, total=True)),
        ("4 inwg at 0.1 m3/s", Drop(4 * 249.0889, flow_m3_s=0.1)),
        ('4" wg at 0.1 m3/s', Drop(4 * 249.0889, flow_m3_s=0.1)),
    ],
)
def test_stated_suction(shop_of, duct, text, drop) -> None:
    found = shop_of(duct(port={"drop": text})).runs[0].pieces[0].drop
    assert found.pressure_pa == pytest.approx(drop.pressure_pa)
    assert (found.speed_m_s, found.flow_m3_s, found.total) == (drop.speed_m_s, drop.flow_m3_s, drop.total)


def test_style_and_material_are_the_catalogs_words(shop_of, duct) -> None:
    port = shop_of(duct(port={"style": "Flange", "material": "Shavings"})).runs[0].pieces[0]
    assert (port.style, port.material) == ("flanged", "dry chips")


def test_run_that_is_like_another_has_its_own_machine_and_flow(shop_of) -> None:
    text = (
        "run,piece,machine,size,joins,flow\nmain,port,a,4 in,,\n,wye,,5 in,one,\n,wye,,6 in,two,\n"
        ",collector,,6 in,,\n"
        "one,port,bench 1,4 in,,\ntwo,like,bench 2,,one,300 cfm\n"
    )
    like = shop_of(text).runs[2].pieces[0]
    assert (like.kind, like.machine, like.joins) == ("like", "bench 2", ("one",))
    assert like.wanted.flow_m3_s == pytest.approx(300 * 0.3048**3 / 60)


ROWS = [
    {"run": "main", "piece": "port", "machine": "saw", "size": "4 in"},
    {"piece": "pipe", "size": "4 in", "length": "10 ft"},
    {"piece": "collector", "size": "4 in"},
]


def test_rows_in_code_give_the_same_shop_as_a_file(shop_of) -> None:
    columns = ["run", "piece", "machine", "size", "length"]
    text = "\n".join([",".join(columns), *(",".join(row.get(c, "") for c in columns) for row in ROWS)])
    from dataclasses import replace

    def bare(runs):
        return [replace(piece, place=None) for run in runs for piece in run.pieces]

    assert bare(shop_from_rows(ROWS).runs) == bare(shop_of(text).runs)


def test_rows_in_code_go_through_the_same_checks_and_count_from_one() -> None:
    rows = [*ROWS[:1], {"piece": "pipe", "size": "4", "length": "10 ft"}, ROWS[2]]
    with pytest.raises(InputError) as caught:
        shop_from_rows(
            rows, [{"item": "blower", "flow": "3 cfm", "pressure": "1 Pa"}], {"air": {"altitud": "3 m"}}
        )
    assert [str(problem.place) for problem in caught.value.problems] == [
        "duct row 2, column size",
        "collector row 1",
        "settings, air.altitud",
    ]


def test_no_rows_in_code_is_an_error() -> None:
    with pytest.raises(InputError, match="no row is given"):
        shop_from_rows([])


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=60, deadline=None)
@given(
    st.lists(
        st.dictionaries(
            st.sampled_from(["run", "piece", "size", "length", "flow", "joins", "k"]), st.text(max_size=12)
        ),
        max_size=5,
    )
)
def test_any_rows_are_read_or_refused_with_problems(rows: list[dict[str, str]]) -> None:
    try:
        shop = shop_from_rows(rows)
    except InputError as error:
        assert error.problems and all(p.message and p.hint for p in error.problems)
        assert all(p.place is not None for p in error.problems)
    else:
        assert shop.runs
