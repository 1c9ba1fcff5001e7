"""Exit codes, and what goes to standard output and to standard error."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run


def test_starter_shop_runs_as_it_stands(run: Run, tmp_path: Path) -> None:
    started = run("start", "mine")
    assert started.returncode == 0
    assert "next: ductcalc check mine" in started.stdout
    assert run("check", "mine").returncode in (0, 1)


def test_start_never_overwrites(run: Run, tmp_path: Path) -> None:
    run("start", "mine")
    before = (tmp_path / "mine" / "duct.csv").read_bytes()
    again = run("start", "mine")
    assert again.returncode == 2
    assert "duct.csv" in again.stderr and again.stdout == ""
    assert (tmp_path / "mine" / "duct.csv").read_bytes() == before


def test_zero_when_all_is_served_and_nothing_settles(run: Run, shop: Path) -> None:
    (shop / "duct.csv").write_text(
        "run,piece,machine,size,flow,length\na,port,lathe,4 in,250 cfm,\n,gate,,,,\n,pipe,,,,6 ft\n,collector,,,,\n",
        encoding="utf-8",
    )
    (shop / "shop.toml").unlink()
    answer = run("check", shop)
    assert (answer.returncode, answer.stderr) == (0, "")


def test_one_when_something_is_short_or_settles(run: Run, shop: Path) -> None:
    assert run("check", shop).returncode == 1


@pytest.mark.parametrize("command", ["tree", "check", "losses"])
def test_two_and_every_problem_on_standard_error_for_bad_tables(run: Run, shop: Path, command: str) -> None:
    table = (shop / "duct.csv").read_text(encoding="utf-8")
    broken = table.replace("planer,,5 in", "planer,,5").replace("gate,planer gate", "gait,planer gate")
    (shop / "duct.csv").write_text(broken, encoding="utf-8")
    answer = run(command, shop)
    assert (answer.returncode, answer.stdout) == (2, "")
    assert '"5" has no unit' in answer.stderr and "did you mean gate?" in answer.stderr
    assert "duct.csv row 13" in answer.stderr and "2 problems" in answer.stderr.splitlines()[-1]


@pytest.mark.parametrize("command", ["check", "expect"])
def test_three_when_a_case_has_no_answer(run: Run, shop: Path, command: str) -> None:
    _end_the_curve_early(shop)
    answer = run(command, shop)
    assert answer.returncode == 3
    assert "no answer" in answer.stdout.splitlines()[0].casefold()


def test_losses_without_an_answer_says_so_and_shows_nothing(run: Run, shop: Path) -> None:
    _end_the_curve_early(shop)
    answer = run("losses", shop, "--machine", "planer")
    assert (answer.returncode, answer.stdout) == (3, "")
    assert "no answer" in answer.stderr and "100 cfm" in answer.stderr


def _end_the_curve_early(shop: Path) -> None:
    lines = (shop / "collector.csv").read_text(encoding="utf-8").splitlines()
    kept = [lines[0], lines[1], "blower,100 cfm,10.4 inwg,cyclone blower", *lines[6:]]
    (shop / "collector.csv").write_text("\n".join(kept) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("check", "nothere"), "nothere"),
        (("check",), "'SHOP'"),
        (("check", "cellar", "--open", "planr"), "did you mean planer?"),
        (("check", "cellar", "--open", " , "), "--open"),
        (("check", "cellar", "--all-but", ""), "--all-but"),
        (("check", "cellar", "--set", "riping"), "did you mean ripping?"),
        (("check", "cellar", "--open", "planer", "--all-open"), "--open, --all-open"),
        (("check", "cellar", "--open", "planer", "--set", "ripping"), "--open, --all-open"),
        (("losses", "cellar", "--machine", "band"), "did you mean band saw?"),
        (("losses", "cellar", "--machine", "band saw", "--open", "planer"), "not open"),
        (("losses", "cellar", "--open", "planer", "--open", "band saw"), "one case"),
        (("check", "cellar", "--units", "yards"), "'yards'"),
        (("check", "cellar/duct.csv"), "no blower curve"),
        (("chek", "cellar"), "did you mean check?"),
        (("tables", "elbw"), "did you mean elbow?"),
        (("tables", "../duct"), "../duct"),
    ],
)
def test_two_for_wrong_words(run: Run, shop: Path, arguments: tuple[str, ...], said: str) -> None:
    answer = run(*arguments)
    assert (answer.returncode, answer.stdout) == (2, "")
    assert said in answer.stderr
    assert "Traceback" not in answer.stderr


def test_remarks_of_the_reader_go_to_standard_error(run: Run, annex: Path) -> None:
    table = annex / "duct.csv"
    head, *rows = table.read_text(encoding="utf-8").splitlines()
    table.write_text("\n".join([f"{head};colour", *rows]), encoding="utf-8")
    answer = run("tree", annex)
    assert answer.stderr.startswith("remark: duct.csv:") and "colour" in answer.stderr
    assert "remark:" not in answer.stdout


def test_bare_duct_table_with_a_collector_table(run: Run, shop: Path) -> None:
    answer = run("check", shop / "duct.csv", "--collector", shop / "collector.csv", "--open", "band saw")
    assert answer.returncode in (0, 1)
    assert "band saw alone" in answer.stdout.splitlines()[0]


def test_several_open_choices_are_a_case_each(run: Run, shop: Path) -> None:
    said = run("check", shop, "--open", "planer", "--open", "band saw, table saw", "--format", "json").stdout
    opened = {tuple(case["open"]) for case in json.loads(said)["cases"]}
    assert opened == {("planer",), ("band saw", "table saw")}
