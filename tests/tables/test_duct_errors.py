"""Every error path of the duct table: exact place, text as given, and a repair."""

# ruff: noqa: E501 (one case a line)

from __future__ import annotations

import pytest

SECOND = [
    # cells of row 3, column, letter, part of the message, part of the hint
    ({"piece": "elbo", "size": "4 in"}, "piece", "B", '"elbo"', "did you mean elbow?"),
    ({"piece": "flexible", "size": "4 in", "length": "3 ft"}, "piece", "B", "no piece", "did you mean flex?"),
    ({"piece": "flex", "size": "4 in", "length": "3 ft", "style": "curly"}, "style", "D", '"curly"', "straight"),
    ({"piece": "flex", "size": "4 in", "length": "3 ft", "style": "straight", "count": "2"}, "count", "H", "no bends", "write 0"),
    ({"piece": "xyzzy", "size": "4 in"}, "piece", "B", "no piece", "known are: port, pipe"),
    ({"size": "4 in"}, "piece", "B", "names no piece", "pipe"),
    ({"piece": "gate", "size": "6"}, "size", "E", "no unit", '"6 in" or "150 mm"'),
    ({"piece": "gate", "size": "150 in"}, "size", "E", "a pipe of 3.8 m", "did you mean 150 mm?"),
    ({"piece": "gate", "size": "9 m"}, "size", "E", "a pipe of 9 m", "did you mean 9 in?"),
    ({"piece": "gate", "size": "9.9 mm"}, "size", "E", "a pipe of 9.9 mm", "did you mean 9.9 in?"),
    ({"piece": "gate", "size": "0.3 in"}, "size", "E", "a pipe of 7.6 mm", "from 10 mm"),
    ({"piece": "gate", "size": "6 mm"}, "size", "E", "a pipe of 6 mm", "did you mean 6 in?"),
    ({"piece": "gate", "size": "0 in"}, "size", "E", "is not a bore", '"6 in"'),
    ({"piece": "gate", "size": "-4 in"}, "size", "E", "is not a bore", '"6 in"'),
    ({"piece": "gate", "size": "nan"}, "size", "E", "not a number", "plain number"),
    ({"piece": "gate", "size": "inf in"}, "size", "E", "not a number", "plain number"),
    ({"piece": "gate", "size": "2-Jan"}, "size", "E", "date", '"1/2 in"'),
    ({"piece": "gate", "size": "4 inn"}, "size", "E", "unknown unit", "did you mean in?"),
    ({"piece": "gate", "size": "2 x 4 in"}, "size", "E", "a gate is round", "reducer"),
    ({"piece": "pipe", "size": "4 in"}, "length", "F", "needs its length", '"10 ft"'),
    ({"piece": "flex", "size": "4 in"}, "length", "F", "needs its length", '"5 ft"'),
    ({"piece": "pipe", "size": "4 in", "length": "-2 m"}, "length", "F", "out of range", "from 0"),
    ({"piece": "pipe", "size": "4 in", "length": "10001 m"}, "length", "F", "out of range", "10 km"),
    ({"piece": "flex", "size": "4 in", "length": "1000 x 11 m"}, "length", "F", "out of range", "10 km"),
    ({"piece": "gate", "size": "4 in", "k": "1000001"}, "k", "N", "out of range", "up to 1000000"),
    ({"piece": "gate", "size": "4 in", "k": "1e300"}, "k", "N", "out of range", "up to 1000000"),
    ({"piece": "elbow", "size": "4 in", "length": "2 ft"}, "length", "F", "no length", "rows of pipe"),
    ({"piece": "elbow", "size": "4 in", "angle": "0"}, "angle", "G", "out of range", "up to 180"),
    ({"piece": "elbow", "size": "4 in", "angle": "181"}, "angle", "G", "out of range", "up to 180"),
    ({"piece": "elbow", "size": "4 in", "angle": "30 + 45"}, "angle", "G", "several angles", "one angle"),
    ({"piece": "wye", "size": "4 in", "joins": "cap", "angle": "181"}, "angle", "G", "out of range", "up to 180"),
    ({"piece": "reducer", "size": "5 in", "angle": "200"}, "angle", "G", "out of range", "taper"),
    ({"piece": "gate", "size": "4 in", "angle": "45"}, "angle", "G", "no angle", "blank"),
    ({"piece": "pipe", "size": "4 in", "length": "3 ft", "count": "3"}, "count", "H", "no count", "3 x 10 ft"),
    ({"piece": "elbow", "size": "4 in", "count": "0"}, "count", "H", "out of range", "from 1 to 100"),
    ({"piece": "elbow", "size": "4 in", "count": "1.5"}, "count", "H", "no whole number", "whole pieces"),
    ({"piece": "wye", "size": "4 in", "joins": "a, b"}, "joins", "I", "holds a comma", "a + b"),
    ({"piece": "wye", "size": "4 in", "joins": "a +"}, "joins", "I", "no name", "a + b"),
    ({"piece": "wye", "size": "4 in"}, "joins", "I", "which run", "cap"),
    ({"piece": "wye", "size": "4 in", "joins": "nowhere"}, "joins", "I", "no run is named", "cap"),
    ({"piece": "gate", "size": "4 in", "flow": "3 cfm"}, "flow", "J", "no flow", "like, port"),
    ({"piece": "elbow", "size": "4 in", "style": "5-gorre"}, "style", "D", '"5-gorre"', "5-gore"),
    ({"piece": "gate", "size": "4 in", "style": "brass"}, "style", "D", "no styles", "note"),
    ({"piece": "gate", "size": "4 in", "k": "-1"}, "k", "N", "out of range", "0 or"),
    ({"piece": "gate", "size": "4 in", "k": "nan"}, "k", "N", "not a number", "plain number"),
    ({"piece": "gate", "size": "4 in", "k": "2 in"}, "k", "N", "number", "alone"),
    ({"piece": "other", "size": "4 in"}, "k", "N", "loss coefficient", " k"),
    ({"piece": "elbow", "size": "4 in", "radius": "0.2"}, "radius", "O", "out of range", "0.3 to 10"),
    ({"piece": "flex", "size": "4 in", "length": "3 ft", "factor": "0.5"}, "factor", "P", "out of range", "1 to 20"),
    ({"piece": "pipe", "size": "4 in", "length": "3 ft", "roughness": "6 mm"}, "roughness", "Q", "out of range", "0 to 5 mm"),
    ({"piece": "gate", "size": "4 in", "opening": "0"}, "opening", "R", "a shut gate", "blank"),
    ({"piece": "gate", "size": "4 in", "opening": "50"}, "opening", "R", "out of range", '"50 %"'),
    ({"piece": "gate", "size": "4 in", "opening": "120 %"}, "opening", "R", "out of range", '"100 %"'),
    ({"piece": "gate", "size": "4 in", "leak": "0.5"}, "leak", "S", '"0.5" has no unit', 'write "0.5 %" or "50 %"'),
    ({"piece": "gate", "size": "4 in", "leak": "1"}, "leak", "S", '"1" has no unit', 'write "1 %" or "100 %"'),
    ({"piece": "gate", "size": "4 in", "leak": "2"}, "leak", "S", '"2" has no unit', 'write "2 %" of the bore'),
    ({"piece": "gate", "size": "4 in", "leak": "-1"}, "leak", "S", '"-1" has no unit', 'write "1 %" of the bore'),
    ({"piece": "gate", "size": "4 in", "leak": "-1 %"}, "leak", "S", "out of range", '"0 %"'),
    ({"piece": "pipe", "size": "4 in", "length": "3 ft", "rise": "4 ft"}, "rise", "T", "more than the length", "at most"),
    ({"piece": "pipe", "size": "4 in", "length": "3 ft", "rise": "-4 ft"}, "rise", "T", "more than the length", "at most"),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "column", "letter", "message", "hint"), SECOND)
def test_wrong_row_is_told_with_place_text_and_repair(
    problems_of, duct, cells, column, letter, message, hint
) -> None:
    problems = problems_of(duct(second=cells))
    assert len(problems) == 1
    place = problems[0].place
    assert (place.file, place.row, place.column, place.letter) == ("duct.csv", 3, column, letter)
    assert message in problems[0].message
    assert hint in problems[0].hint
    assert problems[0].given == cells.get(column) or (problems[0].given is None and column not in cells)


PORT = [
    ({"flow": "1,200 cfm"}, "flow", "two ways", "1200 or 1.2"),
    ({"flow": "0 cfm"}, "flow", "wants no air", "off"),
    ({"flow": "-4 cfm"}, "flow", "out of range", "400 cfm"),
    ({"flow": "400"}, "flow", "no unit", "400 cfm"),
    ({"flow": "400 Pa"}, "flow", "pressure", "cfm"),
    ({"flow": "400 m/s"}, "flow", "out of range", "20 m/s"),
    ({"flow": "9 m3/s"}, "flow", "m/s", "unit"),
    ({"drop": "900 Pa"}, "drop", "at which", "900 Pa at 20 m/s"),
    ({"drop": "11 inches at 20 m/s"}, "drop", "pressure is wanted", "write 11 inwg (inches of water)"),
    ({"drop": "30 kPa at 20 m/s"}, "drop", "out of range", "up to 20 kPa (80 inwg)"),
    ({"drop": "200 Pa at 20 m/s"}, "drop", "240 Pa", "total"),
    ({"drop": "0.5 inwg at 400 cfm"}, "drop", "velocity pressure", "total"),
    ({"drop": "900 at 20 m/s"}, "drop", "no unit", "in wg"),
    ({"inlet": "0 in2"}, "inlet", "out of range", "12 in2"),
    ({"inlet": "12 in"}, "inlet", "area", "in2"),
    ({"material": "dry chip"}, "material", "no material", "dry chips"),
    ({"style": "flangd"}, "style", "style", "flanged"),
    ({"machine": "saw, big"}, "machine", 'holds ","', "space"),
    ({"machine": "saw + sander"}, "machine", 'holds "+"', "and"),
    ({"machine": "s\x1b[31maw"}, "machine", "unseen", "anew"),
    ({"machine": "saw\u202ewas"}, "machine", "unseen", "anew"),
    ({"machine": "two\nlines"}, "machine", "unseen", "one line"),
    ({"machine": "s" * 300}, "machine", "100 characters", "shorter"),
    ({"run": "cap"}, "run", "cap", "another"),
    ({"run": "a+b"}, "run", 'holds "+"', "and"),
    ({"length": "3 ft"}, "length", "no length", "blank"),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "column", "message", "hint"), PORT)
def test_wrong_port_is_told_with_place_text_and_repair(
    problems_of, duct, cells, column, message, hint
) -> None:
    problems = problems_of(duct(port=cells))
    assert len(problems) == 1
    assert (problems[0].place.row, problems[0].place.column) == (2, column)
    assert message in problems[0].message
    assert hint in problems[0].hint
    assert problems[0].given == cells[column]
    assert "\x1b" not in str(problems[0])


def test_stated_total_loss_may_be_below_the_velocity_pressure(shop_of, duct) -> None:
    port = shop_of(duct(port={"drop": "200 Pa total at 20 m/s"})).runs[0].pieces[0]
    assert (port.drop.pressure_pa, port.drop.speed_m_s, port.drop.total) == (200.0, 20.0, True)


@pytest.mark.parametrize(
    "name", ["[red]saw[/red]", 'the "big" saw', "🪚 saw", "👩‍🔧 bench", "Säge Öl", "saw's", "s" * 100]
)
def test_unusual_names_are_fine(shop_of, duct, name) -> None:
    assert shop_of(duct(port={"machine": name})).runs[0].pieces[0].machine == name


def test_unknown_column_is_told_with_the_nearest_and_read_on_as_it(problems_of, duct) -> None:
    problems = problems_of(duct().replace("length", "lenght", 1))
    assert len(problems) == 1
    assert str(problems[0].place) == "duct.csv row 1, column lenght (F)"
    assert "did you mean length?" in problems[0].hint


def test_a_hose_is_a_flex_and_a_straight_one_has_no_bends(shop_of, duct) -> None:
    hose = {"piece": "Hose", "size": "4 in", "length": "5 ft"}
    plain, straight = (shop_of(duct(second=hose | more)).runs[0].pieces[1] for more in ({}, {"style": "straight"}))
    assert (plain.kind, plain.count, straight.kind, straight.count) == ("flex", None, "flex", 0)


@pytest.mark.parametrize(
    ("written", "meant"),
    [("inlet size", "size"), ("Diameter", "size"), ("dia [in]", "size"), ("bends", "count"), ("len", "length"),
     ("anlge", "angle"), ("peice", "piece"), ("comments", "note")],
)  # fmt: skip
def test_column_under_another_name_is_told_with_its_own(problems_of, duct, written: str, meant: str) -> None:
    header, rows = duct().split("\n", 1)
    columns = [written if column == meant else column for column in header.split(",")]
    problems = problems_of(f"{','.join(columns)}\n{rows}")
    assert problems[0].place.row == 1
    assert written in problems[0].message and f"did you mean {meant}?" in problems[0].hint
    assert all(problem.place.row == 1 for problem in problems)


@pytest.mark.parametrize("strange", ["price", "supplier", "colour", "cost", "floor", "Artikel-Nr."])
def test_column_near_no_known_one_is_a_remark(shop_of, duct, strange: str) -> None:
    header, rows = duct().split("\n", 1)
    shop = shop_of("\n".join([f"{header},{strange}", *(f"{row},12.50 each" if row else "" for row in rows.split("\n"))]))
    assert [remark for remark in shop.remarks if f"column {strange} (V)" in remark and "not read" in remark]
    assert [piece.cells for piece in shop.runs[0].pieces] == [p.cells for p in shop_of(duct()).runs[0].pieces]


def test_strange_column_hides_no_problem_of_the_others(problems_of, duct) -> None:
    (problem,) = problems_of(duct(second={"piece": "elbo", "size": "4 in"}).replace("note\n", "note,price\n", 1))
    assert "did you mean elbow?" in problem.hint


COMMAS = "run,piece,size,length,angle,note\nmain,port,4 in,,,\n"


@pytest.mark.parametrize(
    ("row", "column", "given", "hint"),
    [
        (",pipe,4 in,3,5 m,,", "length", "3,5 m", "write 3.5 m with a point"),
        (",pipe,4 in,3,5 m,", "length", "3,5 m", "write 3.5 m with a point"),
        (",pipe,4,5 in,10 ft,,", "size", "4,5 in", "write 4.5 in with a point"),
        (",pipe,4 in,1,200 mm,,", "length", "1,200 mm", "write 1200 mm or 1.200 mm"),
    ],
)
def test_decimal_comma_in_a_comma_file_is_told_once(problems_of, row: str, column: str, given: str, hint: str) -> None:
    (problem,) = problems_of(f"{COMMAS}{row}\n,collector,,,,\n")
    assert (problem.place.row, problem.place.column, problem.given) == (3, column, given)
    assert "a comma parts the columns" in problem.message and hint in problem.hint


def test_two_decimal_commas_of_a_row_are_both_told(problems_of) -> None:
    problems = problems_of("run,piece,size,length,rise,note\nmain,port,4 in,,,\n,pipe,4,5 in,3,5 m,,\n,collector,,,,\n")
    assert [(problem.place.row, problem.given) for problem in problems] == [(3, "4,5 in"), (3, "3,5 m")]


def test_missing_unit_beside_a_sound_cell_is_no_decimal_comma(problems_of) -> None:
    (problem,) = problems_of(f"{COMMAS},pipe,4,10 ft,,\n,collector,,,,\n")
    assert (problem.place.column, problem.given) == ("size", "4") and "no unit" in problem.message


BACKWARDS = {
    "drop": "main,port,4 in,\n,wye,6 in,drop\n,collector,,\ndrop,gate,4 in,\n,flex,4 in,\n,port,4 in,\n",
    "main": "main,collector,6 in,\n,wye,6 in,drop\n,port,4 in,\ndrop,port,4 in,\n",
}


@pytest.mark.parametrize(("run", "row"), [("drop", 5), ("main", 2)])
def test_run_typed_backwards_is_told_as_that(problems_of, run: str, row: int) -> None:
    table = BACKWARDS[run].replace("flex", "elbow")
    (problem,) = problems_of(f"run,piece,size,joins\n{table}")
    assert (problem.place.row, problem.place.column) == (row, "piece")
    assert f'run "{run}" is written backwards' in problem.message and "other way round" in problem.hint


def test_port_under_a_blank_run_is_told_to_name_its_run(problems_of, duct) -> None:
    (problem,) = problems_of(duct(second={"piece": "gate"}).replace("collector", "port", 1) + ",collector" + 19 * "," + "\n")
    assert "has a port in the middle" in problem.message
    assert "under run (a blank repeats the run above)" in problem.hint


def test_unknown_header_unit_is_told_once(problems_of, duct) -> None:
    problems = problems_of(duct().replace("size", "size [inn]", 1))
    assert [problem.place.row for problem in problems] == [1]
    assert "did you mean in?" in problems[0].hint


def test_missing_columns_are_told_once(problems_of) -> None:
    problems = problems_of("run,piece\nmain,port\n,pipe\n,pipe\n,collector\n")
    assert [problem.message for problem in problems] == ["there is no column size", "a pipe needs its length"]


def test_column_that_stands_twice_is_told(problems_of, duct) -> None:
    problems = problems_of(duct().replace("machine", "size", 1))
    assert any(
        "column size stands twice" in problem.message and problem.place.letter == "E" for problem in problems
    )


def test_cell_past_the_last_column_is_told(problems_of) -> None:
    text = "run,piece,size,length\nmain,port,4 in\n,pipe,4 in,3 ft,,oops\n,collector,4 in,,,\n"
    problems = problems_of(text)
    assert len(problems) == 1
    assert (problems[0].place.row, problems[0].place.letter, problems[0].given) == (3, "F", "oops")


def test_first_row_without_a_run_is_told(problems_of) -> None:
    problems = problems_of("run,piece,size\n,port,4 in\n,collector,4 in\n")
    assert [str(problem.place) for problem in problems] == ["duct.csv row 2, column run (A)"]


@pytest.mark.parametrize(
    "comment", ["#drop,port,sander,,4 in", "# drop,port,sander,,4 in", '"#drop",port,sander,,4 in']
)
def test_commented_first_row_of_a_run_is_an_error_with_a_repair(problems_of, comment) -> None:
    text = f"run,piece,machine,joins,size\nmain,port,saw,,4 in\n,wye,,drop,5 in\n,collector,,,5 in\n{comment}\n,gate,,,4 in\n"
    problem = next(p for p in problems_of(text) if p.place.row == 5)
    assert problem.place.column == "run"
    assert "first row of run" in problem.message and '"drop"' in problem.message
    assert "off" in problem.hint and "cap" in problem.hint


def test_commented_run_as_a_whole_is_fine(shop_of) -> None:
    text = "run,piece,machine,joins,size\nmain,port,saw,,4 in\n,wye,,cap,5 in\n,collector,,,5 in\n#drop,port,x,,4 in\n#,gate,,,4 in\n"
    assert [run.name for run in shop_of(text).runs] == ["main"]


def test_commented_row_inside_its_run_is_fine(shop_of) -> None:
    text = "run,piece,size\nmain,port,4 in\n#main,gate,4 in\n,collector,4 in\n"
    assert [piece.kind for piece in shop_of(text).runs[0].pieces] == ["port", "collector"]


def test_wrong_hanging_is_told_with_the_columns_letter(problems_of, duct, row) -> None:
    lonely = row(run="lonely", piece="port", machine="x", size="4 in") + "\n"
    problems = problems_of(duct(extra=lonely))
    assert [(p.place.row, p.place.column, p.place.letter) for p in problems] == [(6, "run", "A")]
    assert "joins nothing" in problems[0].message


def test_mistyped_piece_does_not_hide_a_wrong_hanging(problems_of, duct, row) -> None:
    lonely = row(run="lonely", piece="port", machine="x", size="4 in") + "\n"
    problems = problems_of(duct(second={"piece": "gat", "size": "4 in"}, extra=lonely))
    assert [p.place.row for p in problems] == [3, 6]


def test_blank_column_between_named_ones_is_fine_while_it_is_empty(shop_of, problems_of) -> None:
    assert (
        shop_of("run,piece,,size\nmain,port,,4 in\n,collector,,4 in\n").runs[0].pieces[1].kind == "collector"
    )
    problems = problems_of("run,piece,,size\nmain,port,oops,4 in\n,collector,,4 in\n")
    assert [(p.place.row, p.place.letter, p.given) for p in problems] == [(2, "C", "oops")]
