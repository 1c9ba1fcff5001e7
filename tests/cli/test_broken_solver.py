"""A solver that is wrong on purpose: no command may give a verdict on what the independent check refuses."""

from __future__ import annotations

import importlib
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from ductcalc.cli.app import run as run_here
from ductcalc.solve import operating
from tests.scenes import SHOPS

SOLVING = (
    "cases.solving", "cases.variants", "cases.worth", "answers.gates.solved", "answers.gates.forgotten",
    "answers.size.trials",
)
WRONG = 1e-4
COMMANDS = {
    "check": ("check", "SHOP"),
    "check with running costs": ("check", "SHOP", "--running"),
    "check all open": ("check", "SHOP", "--all-open"),
    "losses": ("losses", "SHOP"),
    "losses all open": ("losses", "SHOP", "--all-open"),
    "gates": ("gates", "SHOP"),
    "card": ("card", "SHOP"),
    "compare": ("compare", "SHOP", "SHOP"),
    "improve": ("improve", "SHOP"),
    "size": ("size", "SHOP"),
    "size one run": ("size", "SHOP", "--drop", "drop"),
}
DUCT = """run,piece,machine,style,size,length,angle,joins,flow,k
trunk,port,planer,,5 in,,,,400 cfm,1.5
,gate,,,5 in,,,,,
,pipe,,spiral,5 in,8 ft,,,,
,wye,,,6 in,,45,drop,,
,pipe,,spiral,6 in,20 ft,,,,
,collector,,,6 in,,,,,
drop,port,saw,,4 in,,,,300 cfm,2
,gate,,,4 in,,,,,
,pipe,,spiral,4 in,6 ft,,,,
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "small"
    folder.mkdir()
    (folder / "duct.csv").write_text(DUCT, encoding="utf-8")
    shutil.copy(SHOPS / "cellar" / "collector.csv", folder / "collector.csv")
    return folder


@pytest.fixture
def wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make every solved flow wrong by one ten thousandth, wherever flows are solved."""
    true = operating.operating_point

    def broken(*arguments: Any, **more: Any) -> Any:
        solved = true(*arguments, **more)
        solved.flow[:] *= 1.0 + WRONG
        return solved

    for name in SOLVING:
        monkeypatch.setattr(importlib.import_module(f"ductcalc.{name}"), "operating_point", broken)


def said(capsys: pytest.CaptureFixture[str], shop: Path, *arguments: str) -> tuple[int, str]:
    code = run_here([str(shop) if word == "SHOP" else word for word in arguments])
    heard = capsys.readouterr()
    return code, heard.out + heard.err


def test_every_module_that_solves_operating_points_is_broken_here() -> None:
    package = Path(operating.__file__).parents[1]
    using = {
        ".".join(path.relative_to(package).with_suffix("").parts)
        for path in package.rglob("*.py")
        if re.search(r"^from ductcalc\.solve\.operating import .*\boperating_point\b", path.read_text("utf-8"), re.M)
    }
    assert using == set(SOLVING)


@pytest.mark.parametrize("command", COMMANDS)
def test_the_commands_answer_while_nothing_is_broken(
    command: str, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, text = said(capsys, shop, *COMMANDS[command])
    assert code in (0, 1)
    assert len(text.splitlines()) > 10


@pytest.mark.usefixtures("wrong")
@pytest.mark.parametrize("command", COMMANDS)
def test_a_broken_solver_gives_exit_code_three_and_no_figure_of_air(
    command: str, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, text = said(capsys, shop, *COMMANDS[command])
    assert code == 3
    assert "check" in text
    assert not re.search(r"\bgets? [<0-9]", text)
    for word in ("OK", "SHORT", "SERVED", "- ALLOWED", "MORE THAN ENOUGH"):
        assert not re.search(rf"(?m)\b{word}$", text)


@pytest.mark.usefixtures("wrong")
@pytest.mark.parametrize("command", COMMANDS)
def test_a_broken_solver_leaves_no_flow_in_json(
    command: str, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if command == "card":
        pytest.skip("the card has no json form of flows")
    code, text = said(capsys, shop, *COMMANDS[command], "--format", "json")
    assert code == 3
    if not text.startswith("{"):
        assert "check" in text
        return
    document = json.loads(text)
    assert document["exit_code"] == 3
    for case in _all_cases(document):
        assert case["status"] == "not converged"
        assert not case["machines"] and not case["sections"] and case["audit"] is None


@pytest.mark.parametrize("command", ["check", "losses", "gates", "compare", "improve", "size"])
def test_json_shows_the_audit(command: str, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, text = said(capsys, shop, *COMMANDS[command], "--format", "json")
    audits = _all_audits(json.loads(text))
    assert audits
    for audit in audits:
        assert 0.0 <= max(audit[name] for name in ("pressure", "mass", "blower")) <= 1e-8


def _all_audits(found: Any) -> list[dict[str, float]]:
    if isinstance(found, list):
        return [audit for item in found for audit in _all_audits(item)]
    if not isinstance(found, dict):
        return []
    own = [found["audit"]] if found.get("audit") else []
    return own + [audit for value in found.values() for audit in _all_audits(value)]


def _all_cases(found: Any) -> list[dict[str, Any]]:
    """Every solved or unsolved case anywhere in a document."""
    if isinstance(found, list):
        return [case for item in found for case in _all_cases(item)]
    if not isinstance(found, dict):
        return []
    own = [found] if {"status", "audit", "machines", "sections"} <= found.keys() else []
    return own + [case for value in found.values() for case in _all_cases(value)]
