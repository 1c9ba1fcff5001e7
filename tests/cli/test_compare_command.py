"""`compare`, and `--with` on the other commands, as a person types them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.cli.conftest import ROOT, Run

THINNER = "main: pipe 2 size = 4 in"


@pytest.fixture
def twin(shop: Path) -> Path:
    """Return another copy of the cellar shop, with a shorter hose."""
    other = shop.with_name("twin")
    shutil.copytree(shop, other)
    table = (other / "duct.csv").read_text(encoding="utf-8")
    (other / "duct.csv").write_text(table.replace("5 in,7 ft", "5 in,2 ft"), encoding="utf-8")
    return other


def variant(said: str, letter: str) -> str:
    """Return the line that says what a letter stands for."""
    (line,) = (line for line in said.splitlines() if line.startswith(f"{letter}: "))
    return line


def test_two_shops(run: Run, shop: Path, twin: Path) -> None:
    answer = run("compare", shop, twin)
    assert (answer.returncode, answer.stderr) == (1, "")
    variants = json.loads(run("compare", shop, twin, "--format", "json").stdout)["variants"]
    assert [(one["letter"], one["shop"]) for one in variants] == [("A", "cellar"), ("B", "twin")]
    assert "A: cellar" in answer.stdout and "B: twin" in answer.stdout


def test_differences_are_those_of_two_checks(run: Run, shop: Path, twin: Path) -> None:
    found = json.loads(run("compare", shop, twin, "--format", "json").stdout)
    checks = [json.loads(run("check", one, "--format", "json").stdout) for one in (shop, twin)]
    flows = [
        {(c["name"], c["filter"], m["machine"]): m["flow_m3_s"] for c in one["cases"] for m in c["machines"]}
        for one in checks
    ]
    lines = [line for line in found["machines"] if line["variant"] == "B"]
    assert len(lines) == 14
    for line in lines:
        key = line["case"], line["filter"], line["machine"]
        assert line["flow_difference_m3_s"] == flows[1][key] - flows[0][key]


def test_a_shop_with_itself_changed(run: Run, shop: Path) -> None:
    said = run("compare", shop, "--with", THINNER, "--open", "planer").stdout
    assert THINNER in variant(said, "B") and THINNER not in variant(said, "A")


def test_all_changes_together_are_one_shop(run: Run, shop: Path) -> None:
    changes = ("--with", THINNER, "--with", "planer drop: flex length = 2 ft")
    found = json.loads(run("compare", shop, *changes, "--format", "json").stdout)
    assert [len(variant["changes"]) for variant in found["variants"]] == [0, 2]


def test_several_collectors_on_one_shop(run: Run, shop: Path) -> None:
    bag = ROOT / "tests" / "report" / "shops" / "annex" / "collector.csv"
    own = shop / "collector.csv"
    small = shop / "small.csv"
    small.write_text(own.read_text(encoding="utf-8").replace(",10.2 inwg", ",9.2 inwg"), encoding="utf-8")
    answer = run("compare", shop / "duct.csv", "--collector", small, "--collector", own, "--open", "planer")
    assert "small.csv" in variant(answer.stdout, "A") and "collector.csv" in variant(answer.stdout, "B")
    one = run("compare", shop, "--collector", bag, "--open", "planer").stdout
    assert "own collector" in variant(one, "A") and "PROVISIONAL" in variant(one, "B")


def test_shops_of_one_name_are_told_by_their_paths(run: Run, shop: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    shutil.copytree(shop, tmp_path / "other" / "cellar")
    assert "other/cellar" in variant(run("compare", "cellar", "other/cellar").stdout, "B")


def test_problems_of_all_shops_are_told_at_once_with_their_folders(run: Run, shop: Path, twin: Path) -> None:
    for folder in (shop, twin):
        table = (folder / "duct.csv").read_text(encoding="utf-8")
        (folder / "duct.csv").write_text(table.replace("planer,,5 in", "planer,,5"), encoding="utf-8")
    answer = run("compare", "cellar", "twin")
    assert (answer.returncode, answer.stdout) == (2, "")
    assert "cellar/duct.csv row 13" in answer.stderr and "twin/duct.csv row 13" in answer.stderr
    assert "2 problems" in answer.stderr.splitlines()[-1]


def test_of_collectors_on_one_shop_a_problem_of_the_duct_names_the_duct(run: Run, shop: Path, tmp_path: Path) -> None:
    tables = [tmp_path / name for name in ("one.csv", "two.csv")]
    for table in tables:
        shutil.copy(shop / "collector.csv", table)
    duct = (shop / "duct.csv").read_text(encoding="utf-8")
    (shop / "duct.csv").write_text(duct.replace("spiral", "spyral"), encoding="utf-8")
    answer = run("compare", shop, "--collector", tables[0], "--collector", tables[1])
    assert answer.returncode == 2
    assert "duct.csv row" in answer.stderr and ".csv row" not in answer.stderr.replace("duct.csv row", "")


def test_a_table_that_all_variants_share_is_told_once(run: Run, shop: Path) -> None:
    table = (shop / "duct.csv").read_text(encoding="utf-8")
    (shop / "duct.csv").write_text(table.replace("planer,,5 in", "planer,,5"), encoding="utf-8")
    answer = run("compare", shop, "--collector", shop / "collector.csv", "--collector", shop / "collector.csv")
    assert "1 problem " in answer.stderr.splitlines()[-1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("compare", "cellar"), "nothing to compare"),
        (("compare", "cellar", "cellar", "--with", THINNER), "with itself"),
        (("compare", "cellar", "cellar", "--collector", "x.csv"), "collectors of their own"),
        (("compare", "cellar", "--with", THINNER, "--collector", "a", "--collector", "b"), "with itself"),
        (("compare", "cellar/duct.csv", "--collector", "cellar/collector.csv"), "--collector twice"),
        (("compare", "cellar", "nowhere"), "nowhere"),
        (("compare", "cellar", "--collector", "nowhere.csv"), "nowhere.csv"),
        (("compare", "cellar", "cellar", "--set", "riping"), "did you mean ripping?"),
        (("compare", "cellar", "--with", "main: pipe 2 size = 4"), '"4" has no unit'),
        (("check", "cellar", "--with", "main: pipe 7 size = 4 in"), "pipe 7"),
        (("check", "cellar", "--with", ""), '--with 1: ""'),
        (("gates", "cellar", "--with", "mein: pipe 1 size = 4 in"), "did you mean main?"),
        (("losses", "cellar", "--with", "main: pipe 1 sise = 4 in"), "did you mean size?"),
        (("compare", "cellar", "cellar", "--output", "cellar/duct.csv", "--force"), "own tables"),
        (("compare", "cellar", "twin", "--output", "twin/duct.csv", "--force"), "own tables"),
    ],
)
def test_two_for_wrong_words(run: Run, shop: Path, twin: Path, arguments: tuple[str, ...], said: str) -> None:
    answer = run(*arguments)
    assert (answer.returncode, answer.stdout) == (2, "")
    assert said in answer.stderr
    assert "Traceback" not in answer.stderr


def test_zero_when_every_shop_is_fine(run: Run, shop: Path) -> None:
    (shop / "duct.csv").write_text(
        "run,piece,machine,size,flow,length\na,port,lathe,4 in,250 cfm,\n,gate,,,,\n,pipe,,,,6 ft\n,collector,,,,\n",
        encoding="utf-8",
    )
    (shop / "shop.toml").unlink()
    assert run("compare", shop, "--with", "a: pipe length = 7 ft").returncode == 0
    assert run("compare", shop, "--with", "a: port flow = 1200 cfm").returncode == 1


def test_three_when_one_has_no_answer(run: Run, shop: Path, tmp_path: Path) -> None:
    weak = tmp_path / "weak.csv"
    weak.write_text(
        "item,flow,pressure\nblower,0 cfm,10 inwg\nblower,60 cfm,9 inwg\ncyclone,,none\nfilter clean,,none\n"
        "filter loaded,,none\n",
        encoding="utf-8",
    )
    answer = run("compare", shop, "--collector", weak)
    assert answer.returncode == 3
    first = answer.stdout.split("\n\n")[0]
    assert "no answer" in first.casefold() and "own collector" in first


@pytest.mark.parametrize("command", ["check", "losses", "gates"])
def test_a_what_if_stands_in_the_first_lines_and_changes_the_answer(run: Run, shop: Path, command: str) -> None:
    plain, changed = run(command, shop).stdout, run(command, shop, "--with", THINNER).stdout
    assert f"Changed: {THINNER}" in changed.split("\n\n")[0]
    assert "Changed:" not in plain
    assert changed.replace(f"Changed: {THINNER}\n", "") != plain


@pytest.mark.parametrize("command", ["check", "losses", "gates"])
def test_json_says_what_was_changed(run: Run, shop: Path, command: str) -> None:
    assert json.loads(run(command, shop, "--with", THINNER, "--format", "json").stdout)["changes"] == [THINNER]


def test_csv_and_output(run: Run, shop: Path, twin: Path, tmp_path: Path) -> None:
    first = run("compare", shop, twin, "--format", "csv", "--units", "metric")
    columns = {"case", "filter", "machine", "variant", "status", "wanted_m3_h", "flow_m3_h", "flow_difference_m3_h"}
    assert columns <= set(first.stdout.splitlines()[0].split(","))
    file = tmp_path / "found.txt"
    assert run("compare", shop, twin, "--output", file).stdout == ""
    assert "twin" in variant(file.read_text(encoding="utf-8"), "B")
    assert run("compare", shop, twin, "--output", file).returncode == 2


@pytest.mark.parametrize(
    ("words", "command"),
    [
        (("--with", "hose: flex size = 6 in", "--units", "metric"), "ductcalc check {one} --units metric"),
        (("{creamery}",), "ductcalc check {one}"),
        (("--collector", "{a}", "--collector", "{b}"), "ductcalc check {one} --collector {a}"),
        (("--collector", "{b}",), "ductcalc check {one}"),
    ],
)  # fmt: skip
def test_warnings_of_the_first_are_asked_for_with_it_alone(run: Run, words: tuple[str, ...], command: str) -> None:
    one, creamery = ROOT / "examples" / "one-machine", ROOT / "examples" / "creamery"
    names = {"one": one, "creamery": creamery, "a": one / "collector.csv", "b": creamery / "collector.csv"}
    said = run("compare", one, *(word.format(**names) for word in words)).stdout
    told = " ".join(said.split()).partition(" warnings in A: ")[2]
    assert told.startswith(command.format(**names) + " Planning")


def test_one_collector_beside_none_is_refused_with_what_the_shop_lacks(run: Run, shop: Path) -> None:
    (shop / "collector.csv").rename(shop / "other.csv")
    answer = run("compare", shop, "--collector", shop / "other.csv")
    assert (answer.returncode, answer.stdout) == (2, "")
    assert "has no collector of its own" in answer.stderr and "--collector twice" in answer.stderr
