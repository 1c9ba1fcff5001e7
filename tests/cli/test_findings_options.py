"""--all-findings, --strict, what is switched off, and the list of what is looked for."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from ductcalc.findings.rules import RULES
from tests.cli.conftest import Run

GOOD = """\
run,piece,machine,size,flow,length,count
a,port,lathe,4 in,320 cfm,,
,flex,,,,{},1
,gate,,,,,
,pipe,,,,6 ft,
,collector,,,,,
"""


def one_machine(shop: Path, hose: str, settings: str = "") -> Path:
    (shop / "duct.csv").write_text(GOOD.format(hose), encoding="utf-8")
    (shop / "shop.toml").write_text(settings, encoding="utf-8")
    return shop


@pytest.mark.parametrize("command", ["check", "losses", "gates", "card", "improve", "tree", "parts"])
def test_strict_lets_findings_count(run: Run, shop: Path, command: str) -> None:
    one_machine(shop, "20 ft")
    assert (run(command, shop).returncode, run(command, shop, "--strict").returncode) == (0, 1)


def test_strict_leaves_a_shop_without_findings_alone(run: Run, shop: Path) -> None:
    assert run("check", one_machine(shop, "3 ft"), "--strict").returncode == 0


def test_strict_never_lowers_a_code(run: Run, shop: Path) -> None:
    assert run("check", shop, "--strict").returncode == 1
    assert run("check", shop, "--strict", "--open", "nobody").returncode == 2


def test_a_finding_is_switched_off_by_name(run: Run, shop: Path) -> None:
    answer = run("check", one_machine(shop, "20 ft", '[findings]\noff = ["long hose"]\n'), "--strict", "--full")
    assert answer.returncode == 0 and "LONG HOSE" not in answer.stdout
    assert "Switched off" in answer.stdout and "long hose" in answer.stdout


@pytest.mark.parametrize(
    ("written", "said"), [('["long hos"]', "did you mean long hose?"), ("3", "a list")]
)
def test_an_unknown_finding_is_an_error_with_a_repair(run: Run, shop: Path, written: str, said: str) -> None:
    answer = run("check", one_machine(shop, "20 ft", f"[findings]\noff = {written}\n"))
    assert answer.returncode == 2 and said in answer.stderr and "findings.off" in answer.stderr


def test_the_list_of_findings_names_every_rule_with_its_source(run: Run) -> None:
    said = json.loads(run("tables", "findings", "--format", "json").stdout)
    assert [one["finding"] for one in said["findings"]] == [rule.name for rule in RULES]
    assert all(one["looks_for"] and one["mended_by"] and one["source"] for one in said["findings"])
    assert run("tables", "findings").stdout.startswith(f"{len(RULES)} ")
