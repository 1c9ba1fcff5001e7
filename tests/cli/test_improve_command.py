"""`ductcalc improve` as a person types it."""

from __future__ import annotations

import csv
import json
from io import StringIO
from pathlib import Path

import pytest

from tests.cli.conftest import Run


def test_verdict_comes_first_and_the_exit_code_is_the_subjects_own(run: Run, shop: Path) -> None:
    answer = run("improve", shop, "--set", "ripping")
    assert (answer.returncode, answer.stderr) == (1, "")
    first = " ".join(answer.stdout.split("\n\n")[0].split())
    assert '"ripping"' in first and "table saw" in first and "304 of 330 cfm" in first
    settling = run("improve", shop, "--for", "band saw")
    assert settling.returncode == 1
    assert "chips settle" in " ".join(settling.stdout.split("\n\n")[0].split())


def test_gains_are_differences_of_checks_with_the_same_what_if(run: Run, shop: Path) -> None:
    cell = ("--with", "planer drop: flex length = 3 ft")
    found = json.loads(run("improve", shop, "--for", "planer", "--format", "json").stdout)
    checks = [
        json.loads(run("check", shop, "--open", "planer", "--format", "json", *extra).stdout) for extra in ((), cell)
    ]
    flows = [next(m["flow_m3_s"] for m in one["cases"][0]["machines"] if m["machine"] == "planer") for one in checks]
    shorter = next(one for one in found["gains"] if one["changes"][0]["kind"] == "shorter hose")
    assert shorter["gain_m3_s"] == pytest.approx(flows[1] - flows[0], rel=1e-9)


def test_with_is_changed_before_anything_is_tried(run: Run, shop: Path) -> None:
    answer = run("improve", shop, "--for", "planer", "--with", "planer drop: flex length = 3 ft")
    assert "Changed: planer drop: flex length = 3 ft" in answer.stdout
    assert "a hose of 3 ft" not in answer.stdout


def test_prices_come_from_a_file(run: Run, shop: Path) -> None:
    prices = shop.parent / "prices.csv"
    prices.write_text("piece,price\npipe,20\nelbow,10\nflex,3\n", encoding="utf-8")
    rows = list(csv.DictReader(StringIO(run("improve", shop, "--prices", prices, "--format", "csv").stdout)))
    assert any(row["cost"] for row in rows)


def test_output_is_kept_unless_forced(run: Run, shop: Path) -> None:
    file = shop.parent / "advice.txt"
    assert run("improve", shop, "--output", file).stdout == ""
    first = file.read_text(encoding="utf-8")
    assert "cfm" in first and "m3/h" not in first
    assert run("improve", shop, "--output", file).returncode == 2
    assert run("improve", shop, "--output", file, "--force", "--units", "metric").returncode in (0, 1)
    assert "m3/h" in file.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--for", "planr"), "did you mean planer?"),
        (("--set", "riping"), "did you mean ripping?"),
        (("--for", "planer", "--set", "ripping"), "--for or with --set"),
        (("--prices", "nowhere.csv"), "nowhere.csv"),
        (("--with", "planer drop: flex length = 3"), "has no unit"),
    ],
)
def test_wrong_commands_compute_nothing(run: Run, shop: Path, arguments: tuple[str, ...], said: str) -> None:
    answer = run("improve", shop, *arguments)
    assert (answer.returncode, answer.stdout) == (2, "")
    assert said in answer.stderr and "Traceback" not in answer.stderr


def test_a_case_without_an_answer_ends_with_3(run: Run, shop: Path) -> None:
    (shop / "collector.csv").write_text(
        "item,flow,pressure\nblower,0 cfm,12 inwg\nblower,50 cfm,11.9 inwg\n"
        "cyclone,,none\nfilter clean,,none\nfilter loaded,,none\n",
        encoding="utf-8",
    )
    answer = run("improve", shop, "--for", "planer")
    assert answer.returncode == 3
    assert "no answer" in answer.stdout.splitlines()[0].casefold()
