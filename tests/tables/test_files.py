"""Paths to files, bytes to rows: what is found, encodings, separators, comments and how rows are counted."""

from __future__ import annotations

import codecs
from dataclasses import replace
from pathlib import Path

import pytest

from ductcalc.errors import InputError, Problem
from ductcalc.tables import read_shop

TEXT = (
    "run,piece,machine,style,size,length,angle,count,joins,flow,note\n"
    "trunk,port,Säge,flanged,4 in,,,,,400 cfm,\n"
    ",flex,,,4 in,1.5 m,,1,,,\n"
    ",wye,,,6 in,,45,,drop,,\n"
    ",pipe,,spiral,6 in,6.5 ft,,,,,\n"
    ",collector,,,6 in,,,,,,\n"
    "drop,port,sander,tapered,5 in,,,,,15 m/s,\n"
    ",gate,,,5 in,,,,,,\n"
)


def refused(path: Path, collector: Path | None = None) -> Problem:
    with pytest.raises(InputError) as raised:
        read_shop(path, collector)
    (problem,) = raised.value.problems
    return problem


def test_a_path_with_a_character_of_code_zero_is_no_file(tmp_path: Path) -> None:
    found = refused(tmp_path / "a\0b")
    assert found.message == "there is no such file or folder"
    assert found.hint is not None


def test_a_name_that_no_disk_takes_is_told(tmp_path: Path) -> None:
    assert refused(tmp_path / ("a" * 5000)).hint is not None


def test_a_folder_of_shops_names_them(tmp_path: Path) -> None:
    for name in ("barn", "loft"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "duct.csv").write_text("run,piece\n")
    hint = refused(tmp_path).hint
    assert hint is not None and "barn" in hint and "loft" in hint


def test_a_folder_with_other_tables_asks_for_the_ducts_name(tmp_path: Path) -> None:
    (tmp_path / "pipes.csv").write_bytes(b"run,piece")
    hint = refused(tmp_path).hint
    assert hint is not None and "duct.csv" in hint and "pipes.csv" in hint


@pytest.fixture
def plain(shop_of):
    return replace(shop_of(TEXT), remarks=())


ENCODED = {
    "UTF-8 with a mark": codecs.BOM_UTF8 + TEXT.encode(),
    "UTF-16 LE with a mark": codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"),
    "UTF-16 BE with a mark": codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"),
    "UTF-16 LE without a mark": TEXT.encode("utf-16-le"),
    "UTF-16 BE without a mark": TEXT.encode("utf-16-be"),
    "Windows-1252": TEXT.encode("cp1252"),
    "Windows line ends": TEXT.replace("\n", "\r\n").encode(),
    "old Mac line ends": TEXT.replace("\n", "\r").encode(),
    "no last line end": TEXT.rstrip("\n").encode(),
    "semicolons": TEXT.replace(",", ";").encode(),
    "tabs": TEXT.replace(",", "\t").encode(),
    "semicolons and decimal commas": TEXT.replace(",", ";")
    .replace("1.5 m", "1,5 m")
    .replace("6.5 ft", "6,5 ft")
    .encode(),
    "decimal commas in quotes": TEXT.replace("1.5 m", '"1,5 m"').encode(),
    "capital headers with spaces": TEXT.replace("run,piece,machine", " Run , PIECE,Machine").encode(),
    "trailing separators": TEXT.replace("\n", ",,,\n").encode(),
    "short rows": TEXT.replace(",,,,,,\n", "\n").encode(),
    "stray spaces": TEXT.replace("spiral", "  Spiral\u00a0").replace("4 in", " 4\u00a0IN ").encode(),
}


@pytest.mark.parametrize("name", ENCODED)
def test_every_encoding_and_separator_gives_the_same_shop(shop_of, plain, name) -> None:
    assert replace(shop_of(ENCODED[name]), remarks=()) == plain


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("Windows-1252", "Windows-1252"),
        ("UTF-16 LE without a mark", "UTF-16"),
    ],
)
def test_decision_on_a_file_is_remarked(shop_of, name, word) -> None:
    remarks = shop_of(ENCODED[name]).remarks
    assert len(remarks) == 1
    assert "duct.csv" in remarks[0] and word in remarks[0]


@pytest.mark.parametrize("name", ["UTF-8 with a mark", "semicolons", "tabs", "semicolons and decimal commas"])
def test_what_a_spreadsheet_writes_every_day_is_no_remark(shop_of, name) -> None:
    assert shop_of(ENCODED[name]).remarks == () == shop_of(TEXT).remarks


@pytest.mark.parametrize("above", ["", "# a comment\n", "# a comment\n\n"])
def test_what_is_wrong_with_a_header_is_told_with_its_row(tmp_path: Path, above: str) -> None:
    (tmp_path / "duct.csv").write_text(above + TEXT.replace("note", "size", 1), encoding="utf-8")
    found = refused(tmp_path / "duct.csv")
    assert found.message == "column size stands twice"
    assert found.place is not None and found.place.row == 1 + above.count("\n")


def test_a_header_with_nothing_below_it_is_told_with_its_row(tmp_path: Path) -> None:
    (tmp_path / "duct.csv").write_text("# a comment\n" + TEXT.splitlines()[0] + "\n", encoding="utf-8")
    found = refused(tmp_path / "duct.csv")
    assert "no row below it" in found.message
    assert found.place is not None and found.place.row == 2


def test_a_problem_of_no_place_is_told_by_its_message_alone() -> None:
    assert str(Problem("nothing is open", "open a gate")) == "nothing is open\n  hint: open a gate"


def test_announced_separator_is_swallowed_like_in_a_spreadsheet(shop_of, plain) -> None:
    shop = shop_of("sep=;\n" + TEXT.replace(",", ";"))
    assert replace(shop, remarks=()) == plain


def test_header_units_serve_bare_numbers_and_a_cells_own_unit_wins(shop_of) -> None:
    text = (
        "run,piece,size [in],length (m),flow [m/s],angle [deg]\nmain,port,4,,20,\n"
        ",pipe,100 mm,3.5,,\n,elbow,4,,,90\n,collector,,,,\n"
    )
    port, pipe, elbow, _ = shop_of(text).runs[0].pieces
    assert (port.size_m, port.wanted.speed_m_s) == (pytest.approx(0.1016), 20.0)
    assert (pipe.size_m, pipe.length_m) == (pytest.approx(0.1), 3.5)
    assert elbow.angles_deg == (90.0,)


@pytest.mark.parametrize(("size", "units"), [("size [mm]", "metric"), ("size [in]", "inch")])
def test_first_units_are_those_of_the_first_size(shop_of, size, units) -> None:
    assert (
        shop_of(
            f"run,piece,{size}\nmain,port,100\n,collector,100\n".replace(
                "100", "100" if units == "metric" else "4"
            )
        ).first_units
        == units
    )


def test_rows_are_counted_as_the_spreadsheet_shows_them(problems_of) -> None:
    text = (
        '# comment, with 6" in it\n'  # 1
        "\n"  # 2
        "run,piece,size,length,note\n"  # 3
        'main,port,4 in,,"a note\non two lines"\n'  # 4
        '"# a ""quoted"" comment",,,,\n'  # 5
        ",,,,\n"  # 6
        '# old,pipe,"six inch,3 ft\n'  # 7
        '"# comment\non two lines",,,,\n'  # 8
        ",pipe,4,3 ft,\n"  # 9
        ",collector,4 in,,\n"
    )
    problems = problems_of(text)
    assert [(p.place.row, p.given) for p in problems] == [(9, "4")]


def test_inch_marks_in_cells_are_read_with_and_without_quotes(shop_of) -> None:
    text = 'run,piece,size,length\nmain,port,4",\n,pipe,"4""","12\' 6"""\n,collector,4”,\n'
    pieces = shop_of(text).runs[0].pieces
    assert [piece.size_m for piece in pieces] == [pytest.approx(0.1016)] * 3
    assert pieces[1].length_m == pytest.approx(3.81)


def test_quotes_that_do_not_close_are_told_with_their_row(problems_of) -> None:
    problems = problems_of('run,piece,size,length\nmain,port,4 in,\n,pipe,"4 in,3 ft\n,collector,4 in,\n')
    assert problems[0].place.row == 3
    assert "quotes" in problems[0].message and "double" in problems[0].hint


def test_point_of_thousands_in_a_semicolon_file_is_never_guessed(problems_of) -> None:
    problems = problems_of("run;piece;size;flow\nmain;port;200 mm;1.200 m3/h\n;collector;200 mm;\n")
    assert [(p.place.row, p.place.column) for p in problems] == [(2, "flow")]
    assert "1200 or 1,2" in problems[0].hint


@pytest.mark.parametrize(
    ("data", "message", "hint"),
    [
        (b"", "empty", "ductcalc start"),
        (b"\xef\xbb\xbf \r\n", "empty", "ductcalc start"),
        (b"PK\x03\x04rest", "spreadsheet's own file", "CSV UTF-8"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest", "spreadsheet's own file", "CSV UTF-8"),
        (b"\xff\xfea", "not readable text", "CSV UTF-8"),
        (b"run,piece\x81\xff", "not readable text", "CSV UTF-8"),
        (b"\xff\xfe\x00\x00r\x00\x00\x00", "UTF-32", "CSV UTF-8"),
        (b"run,piece,size\n", "no row below", "one row for each piece"),
        (b"# only a comment\n", "comments only", "run,piece,machine"),
    ],
)
def test_file_that_is_no_table_is_told(problems_of, data, message, hint) -> None:
    problems = problems_of(data)
    assert len(problems) == 1
    assert problems[0].place.file == "duct.csv"
    assert message in problems[0].message
    assert hint in problems[0].hint


def test_letters_go_on_after_z() -> None:
    from ductcalc.tables.sheet import letter_of

    assert [letter_of(index) for index in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]
