"""What spreadsheets and editors write into a table: read as meant, or refused with its place and a repair."""

from __future__ import annotations

import pytest

from ductcalc.errors import MOST_TOLD, InputError
from ductcalc.tables import limits

HEAD = "run,piece,size,length,note\n"
END = ",collector,4 in,,\n"


def _table(size: str = "4 in", length: str = "3 ft", note: str = "") -> str:
    return f"{HEAD}main,port,4 in,,\n,pipe,{size},{length},{note}\n{END}"


def _pipe(shop):
    return shop.runs[0].pieces[1]


@pytest.mark.parametrize("cell", ['="6 in"', '"=""6 in"""', '="6 in" '])
def test_formula_that_only_keeps_a_text_is_that_text(shop_of, cell) -> None:
    assert _pipe(shop_of(_table(size=cell))).size_m == pytest.approx(0.1524)


@pytest.mark.parametrize("cell", ["=A1", "=6", "=3*4", "=SUM(A1:A2)"])
def test_formula_in_place_of_its_value_is_refused(problems_of, cell) -> None:
    (problem,) = problems_of(_table(length=cell))
    assert str(problem.place) == "duct.csv row 3, column length (D)"
    assert "is a formula" in problem.message and "value" in problem.hint
    assert problem.given == cell


@pytest.mark.parametrize(
    "cell",
    [
        "#REF!",
        "#NAME?",
        "#N/A",
        "#VALUE!",
        "#DIV/0!",
        "#NUM!",
        "#NULL!",
        "#SPILL!",
        "#WERT!",
        "#NV",
        "#####",
        "Err:502",
    ],
)
def test_error_of_the_spreadsheet_is_named_as_one(problems_of, cell) -> None:
    (problem,) = problems_of(_table(length=cell))
    assert str(problem.place) == "duct.csv row 3, column length (D)"
    assert "an error of the spreadsheet" in problem.message and "mend the cell" in problem.hint


@pytest.mark.parametrize("cell", ["#REF!", '"#NAME?"', "#N/A"])
def test_row_that_begins_with_an_error_is_not_lost_as_a_comment(problems_of, cell) -> None:
    problems = problems_of(f"{HEAD}main,port,4 in,,\n{cell},pipe,4 in,3 ft,\n{END}")
    assert (problems[0].place.row, problems[0].place.column) == (3, "run")
    assert "an error of the spreadsheet" in problems[0].message


@pytest.mark.parametrize(
    "comment", ["#REF!", "#STOP! all below is old", "# REF!,pipe", "#OLD,pipe,4 in,3 ft,", "#####,,,,"]
)
def test_comment_in_capitals_stays_a_comment(shop_of, comment) -> None:
    assert len(shop_of(f"{HEAD}main,port,4 in,,\n{comment}\n{END}").runs[0].pieces) == 2


@pytest.mark.parametrize("cell", ["5-Jun", "2026-05-01", "2026-05-01 00:00:00", "2026-05-01T00:00:00", "01/02/2026"])
def test_fraction_that_became_a_date_is_told(problems_of, cell) -> None:
    (problem,) = problems_of(_table(size=cell))
    assert "is a date" in problem.message and "format the cell as text" in problem.hint


@pytest.mark.parametrize("mark", ["\u200b", "\u200e", "\u2060", "\ufeff", "\u2009", "\u3000", "\u2007"])
def test_unseen_marks_around_a_cell_do_not_matter(shop_of, mark) -> None:
    shop = shop_of(f"{HEAD}{mark}main{mark},port,4 in,,\n,{mark}pipe{mark},{mark}4 in{mark},3 ft,\n{END}")
    assert (shop.runs[0].name, _pipe(shop).kind, _pipe(shop).size_m) == ("main", "pipe", pytest.approx(0.1016))


def test_line_ends_in_a_quoted_cell_are_part_of_it(shop_of) -> None:
    pipe = _pipe(shop_of(_table(size='"4 in\n"', length='"3\nft"', note='"first\r\nsecond"')))
    assert (pipe.size_m, pipe.length_m, pipe.note) == (pytest.approx(0.1016), pytest.approx(0.9144), "first\nsecond")


def test_header_that_comes_again_is_told_once_with_its_row(problems_of) -> None:
    problems = problems_of(
        "run,piece,size [in],length\nmain,port,4,\nRun,Piece,Size [in],Length\n,pipe,4,3 ft\n,collector,4,\n"
    )
    assert [p.place.row for p in problems] == [3]
    assert "once more" in problems[0].message
    assert "remove this row" in problems[0].hint


def test_first_row_that_is_no_header_is_told_once(problems_of) -> None:
    problems = problems_of("main,xyz,4 in\n,q,4 in\n")
    assert "no header" in problems[0].message
    assert problems[0].hint.startswith("write a header row: run,piece,")
    assert len(problems) == 1


@pytest.mark.parametrize("blank", [",,,,,,,\n", ";;\n", "\n", " \t\r\n"])
def test_a_million_blank_rows_below_do_not_matter(shop_of, blank) -> None:
    assert len(shop_of(_table() + blank * 1_000_000).runs[0].pieces) == 3


def test_blank_columns_to_the_right_do_not_matter(shop_of) -> None:
    text = "\n".join(line + "," * 16_384 for line in _table().split("\n"))
    assert len(shop_of(text).runs[0].pieces) == 3


def test_table_with_far_too_many_rows_is_refused(problems_of) -> None:
    (problem,) = problems_of(_table() + ",pipe,4 in,3 ft,\n" * limits.MOST_ROWS + "x")
    assert f"more than {limits.MOST_ROWS} rows" in problem.message and "right file" in problem.hint


def test_table_with_far_too_many_columns_is_refused(problems_of) -> None:
    (problem,) = problems_of("run,piece,size," + ",".join(f"c{n}" for n in range(300)) + "\nmain,port,4 in\n")
    assert "has 303 columns" in problem.message


def test_first_row_of_endless_length_is_refused(problems_of) -> None:
    (problem,) = problems_of("run,piece,size," + "ab " * 1_000_000 + "\nmain,port,4 in\n")
    assert "characters: it is no header" in problem.message


def test_cell_of_a_million_characters_is_told_shortly(problems_of) -> None:
    (problem,) = problems_of(_table(note="x" * 1_000_000))
    assert str(problem.place) == "duct.csv row 3, column note (E)"
    assert len(str(problem)) < 300 and "1000000 characters" in problem.message


def test_of_a_file_with_thousands_of_problems_the_first_are_told_and_the_rest_counted(shop_of) -> None:
    with pytest.raises(InputError) as caught:
        shop_of(f"{HEAD}main,port,4 in,,\n" + ",pipe,4,3 ft,\n" * 5000 + END, "item,flow,pressure\nfan,1 cfm,1 Pa\n")
    lines = str(caught.value).split("\n")
    assert len(caught.value.problems) == 5001
    assert len(lines) == 2 * MOST_TOLD + 2 + 2
    assert lines[-2] == "duct.csv: 4900 more"
    assert lines[-1] == "5001 problems in duct.csv, collector.csv; nothing was computed"
    assert any(line.startswith("collector.csv row 2") for line in lines)


@pytest.mark.parametrize(("count", "name", "end"), [(5, "m\x1b[31m", "m\\u001b[31m4"), (200, "m", "and 172 more")])
def test_names_in_a_hint_are_harmless_and_few(problems_of, count, name, end) -> None:
    rows = "".join(f",xyzzy,{name}{n},4 in\n" for n in range(count))
    problems = problems_of(
        f"run,piece,machine,size\nmain,port,saw,4 in\n{rows},collector,,4 in\n",
        settings='[gates.sets]\nx = ["qqqqqqqq"]\n',
    )
    hint = next(p.hint for p in problems if p.place.key)
    assert end in hint
    assert "\x1b" not in hint and len(hint) < 1000


@pytest.mark.parametrize(("size", "metres"), [("10 mm", 0.01), ("0.4 in", 0.01016), ("3 m", 3.0), ("118 in", 2.9972)])
def test_sizes_that_are_seldom_are_read(shop_of, size, metres) -> None:
    assert _pipe(shop_of(_table(size=size))).size_m == pytest.approx(metres)


@pytest.mark.parametrize("length", ["10000 m", "32808 ft", "1000 x 10 m"])
def test_lengths_to_ten_kilometres_are_read(shop_of, length) -> None:
    assert _pipe(shop_of(_table(length=length))).length_m == pytest.approx(10_000.0, rel=1e-4)


def test_pipe_of_no_length_is_read(shop_of) -> None:
    assert _pipe(shop_of(_table(length="-0 ft"))).length_m == 0.0
    assert str(_pipe(shop_of(_table(length="0 m"))).length_m) == "0.0"


@pytest.mark.parametrize("k", ["0", "1e6", "1000000"])
def test_coefficient_from_none_to_a_million_is_read(shop_of, duct, k) -> None:
    assert shop_of(duct(second={"piece": "gate", "size": "4 in", "k": k})).runs[0].pieces[1].k == float(k)
