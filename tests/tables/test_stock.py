"""Lists of what lies around and of prices: everyday forms are read, nonsense is told with place and repair."""

from __future__ import annotations

from pathlib import Path

import pytest

from ductcalc.errors import InputError, Problem
from ductcalc.shop.parts import PartName
from ductcalc.tables.stock import read_prices, read_stock, stock_and_remarks

INCH, FOOT = 0.0254, 0.3048
DOUBLE = tuple(size * INCH for size in (5, 5, 4, 4))
HEADER = "piece,style,size,length,angle,radius,count,note\n"


def written(folder: Path, text: str | bytes, name: str = "stock.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    return path


def problems(folder: Path, row: str, header: str = HEADER) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        read_stock(written(folder, header + row))
    return caught.value.problems


def test_pipe_has_its_length_count_and_place(tmp_path: Path) -> None:
    (part,) = read_stock(written(tmp_path, HEADER + "pipe,snap lock,5 in,3 ft 6 in,,,4,short ends\n"))
    assert part.name == PartName("pipe", "snap-lock", (5 * INCH,))
    assert (part.count, part.length_m) == (4, pytest.approx(3.5 * FOOT))
    assert part.place is not None and part.place.row == 2


@pytest.mark.parametrize(
    ("row", "name"),
    [
        ("pipe,,4 in,1 ft,,,,", PartName("pipe", "spiral", (4 * INCH,))),
        ("elbow,,4 in,,,,,", PartName("elbow", "5-gore", (4 * INCH,), (90.0,))),
        ("elbow,pleated,4 in,,45,2,,", PartName("elbow", "pleated", (4 * INCH,), (45.0,), 2.0)),
        ("reducer,,5 in x 4 in,,,,,", PartName("reducer", None, (4 * INCH, 5 * INCH), (30.0,))),
        ("reducer,,5 to 4 in,,,,,", PartName("reducer", None, (4 * INCH, 5 * INCH), (30.0,))),
        ("adapter,,4 in x 100 mm,,,,,", PartName("adapter", None, (0.1, 4 * INCH))),
        ("wye,,6 x 5 x 4 in,,,,,", PartName("wye", None, (6 * INCH, 5 * INCH, 4 * INCH), (45.0,))),
        ("wye,y,4 in,,30,,,", PartName("wye", "y", (4 * INCH,) * 3, (30.0,))),
        ("wye,,5 x 5 x 4 x 4 in,,30 + 45,,,", PartName("wye", None, DOUBLE, (30.0, 45.0))),
        ("wye,,5 x 5 x 4 x 4 in,,30,,,", PartName("wye", None, DOUBLE, (30.0, 30.0))),
        ("coupling,hose,4 in,,,,,", PartName("coupling", "hose", (4 * INCH,))),
        ("Gate,,4 in,,,,,", PartName("gate", None, (4 * INCH,))),
        ("sealant,,,,,,2,", PartName("sealant")),
    ],
)
def test_blanks_stand_for_what_they_do_in_the_duct_table(tmp_path: Path, row: str, name: PartName) -> None:
    (part,) = read_stock(written(tmp_path, HEADER + row + "\n"))
    assert part.name.kind == name.kind and part.name.style == name.style
    assert part.name.sizes_m == pytest.approx(name.sizes_m)
    assert (part.name.angles_deg, part.name.radius) == (name.angles_deg, name.radius)


@pytest.mark.parametrize(
    "text",
    [
        b"\xef\xbb\xbfpiece;size [mm];length [m];count\r\npipe;100;1,5;2\r\n",
        "piece\tlength [m]\tsize\tcount\npipe\t1.5\t100 mm\t2\n",
        "# in the loft\n\npiece,size,length,count\n,,,\npipe,100 mm,150 cm,2\n",
        'sep=;\npiece;size;length;count\n"pipe";100 mm;1.5 m;2\n',
        "piece,size,length,count\npipe,100 mm,1.5 m,2\n".encode("utf-16"),
    ],
)
def test_separators_marks_comments_and_units_are_everyday(tmp_path: Path, text: str | bytes) -> None:
    (part,) = read_stock(written(tmp_path, text))
    assert part.name == PartName("pipe", "spiral", (0.1,))
    assert (part.length_m, part.count) == (pytest.approx(1.5), 2)


def test_what_was_decided_about_the_file_is_told(tmp_path: Path) -> None:
    text = "piece;size;note\ngate;4 in;für später\n".encode("cp1252")
    _, remarks = stock_and_remarks(written(tmp_path, text))
    assert any("Windows-1252" in remark for remark in remarks)


@pytest.mark.parametrize(
    ("row", "column", "said", "hint"),
    [
        ("pip,,4 in,1 ft,,,,", "piece", '"pip"', "did you mean pipe?"),
        ("hoze,,4 in,1 ft,,,,", "piece", '"hoze"', "known are: pipe, flex"),
        ("strap,,4 in,,,,,", "piece", '"strap"', "did you mean hanger?"),
        (",,4 in,,,,,x", "piece", "names no piece", "pipe, flex"),
        ("pipe,,4 in,,,,,", "length", "needs its length", "7 ft 6 in"),
        ("pipe,,,1 ft,,,,", "size", "needs its size", "inside diameter"),
        ("pipe,,4,1 ft,,,,", "size", "no unit", "6 in"),
        ("pipe,spirall,4 in,1 ft,,,,", "style", "spirall", "did you mean spiral?"),
        ("pipe,,4 in,3 x 10 ft,,,,", "length", "several pieces", "count"),
        ("pipe,,4 in,1 ft,90,,,", "angle", "no angle", "blank"),
        ("clamp,spiral,4 in,,,,,", "style", "no style", "blank"),
        ("gate,spirall,4 in,,,,,", "style", "spirall", "did you mean spiral?"),
        ("gate,,4 in x 5 in,,,,,", "size", "2 given", "6 in"),
        ("gate,,4 in,,,,1.5,", "count", "number of pieces", "whole pieces"),
        ("gate,,4 in,,,,-1,", "count", "number of pieces", "whole pieces"),
        ("gate,,4 in,,,,many,", "count", "number of pieces", "whole pieces"),
        ("reducer,,4 in,,,,,", "size", "1 given", "both ends"),
        ("wye,,4 in x 5 in,,,,,", "size", "angles", "6 in x 6 in x 4 in"),
        ("wye,,4 x 4 x 4 in,,30 + 30,,,", "size", "angles", "30 + 30"),
        ("elbow,,4 in,,270,,,", "angle", "out of range", "up to 180"),
        ("elbow,,150 in,,,,,", "size", "is a pipe of", "150 mm"),
        ("gate,,x,,,,,", "size", "size", "6 in"),
    ],
)
def test_nonsense_is_told_with_row_column_and_repair(
    tmp_path: Path, row: str, column: str, said: str, hint: str
) -> None:
    (problem,) = problems(tmp_path, row + "\n")
    assert problem.place is not None
    assert (problem.place.file, problem.place.row, problem.place.column) == ("stock.csv", 2, column)
    assert problem.place.letter is not None
    assert said in problem.message and hint in problem.hint


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    found = problems(tmp_path, "pip,,4 in,1 ft,,,,\ngate,,4,,,,,\nelbow,,4 in,,,,x,\n")
    assert [problem.place.row for problem in found if problem.place] == [2, 3, 4]


def test_a_missing_column_is_told_once(tmp_path: Path) -> None:
    found = problems(tmp_path, "pipe,4 in\npipe,5 in\n", "piece,size\n")
    assert [problem.message for problem in found] == ["a pipe needs its length"]


def test_an_unknown_column_gets_the_nearest_one(tmp_path: Path) -> None:
    (problem,) = problems(tmp_path, "gate,4 in,3\n", "piece,size,cuont\n")
    assert "did you mean count?" in problem.hint


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"", "empty"),
        (b"PK\x03\x04rest", "spreadsheet"),
        (b"# only\n", "comments only"),
        (b"piece,size\n", "no row"),
        (b'piece,size\n"gate,4 in\n', "quotes"),
        (b"piece,size\n\x81\x8d,4 in\n", "not readable text"),
    ],
)
def test_a_file_that_is_no_list_is_told(tmp_path: Path, text: bytes, said: str) -> None:
    with pytest.raises(InputError, match="nothing was computed") as caught:
        read_stock(written(tmp_path, text))
    assert any(said in problem.message for problem in caught.value.problems)


def test_a_file_that_is_not_there_is_told_with_the_nearest(tmp_path: Path) -> None:
    written(tmp_path, HEADER)
    with pytest.raises(InputError, match=r"did you mean stock\.csv\?"):
        read_stock(tmp_path / "stok.csv")


def test_a_folder_is_no_list(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_stock(tmp_path)


def test_rows_given_in_code_are_read_alike() -> None:
    (part,) = read_stock([{"piece": "gate", "size": "4 in", "count": 3}])
    assert part.count == 3
    with pytest.raises(InputError, match="stock row 1, column size"):
        read_stock([{"piece": "gate", "size": "4"}])


def test_prices_leave_open_what_is_blank(tmp_path: Path) -> None:
    text = "piece;style;size [in];length [ft];price\npipe;;4;10;18,50\nelbow;;;;7\n"
    pipe, elbow = read_prices(written(tmp_path, text, "prices.csv"))
    assert (pipe.name.style, pipe.price, pipe.length_m) == (None, 18.5, pytest.approx(10 * FOOT))
    assert (elbow.name.sizes_m, elbow.name.angles_deg) == ((), ())


@pytest.mark.parametrize(
    ("cell", "said"),
    [("12.50 EUR", "is no price"), ("-1", "is no price"), ("", "has no price"), ("nan", "is no price")],
)
def test_a_price_is_a_bare_number(tmp_path: Path, cell: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_prices(written(tmp_path, f"piece,size,price,note\ngate,4 in,{cell},x\n", "prices.csv"))
    (problem,) = caught.value.problems
    assert said in problem.message and "12.50" in problem.hint
    assert problem.place is not None and (problem.place.row, problem.place.column) == (2, "price")


def test_a_point_that_may_part_thousands_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="two ways"):
        read_prices(written(tmp_path, "piece;size;price\ngate;4 in;1.250\n"))


def test_the_style_of_a_gate_cap_or_wye_may_be_the_make_of_its_pipe() -> None:
    rows = [{"piece": kind, "style": "plastic", "size": "4 in"} for kind in ("gate", "cap", "wye")]
    assert [part.name.make for part in read_stock(rows)] == ["plastic"] * 3
    (symmetric,) = read_stock([{"piece": "wye", "style": "y", "size": "4 in"}])
    assert (symmetric.name.style, symmetric.name.make) == ("y", None)
