"""A solver that is wrong on purpose: no command may give a verdict or a figure that the independent check refuses."""

from __future__ import annotations

import functools
import importlib
import json
import pkgutil
import re
import shutil
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.gates.sets import GateSets
from ductcalc.cases import choices, solving
from ductcalc.model import numbers
from ductcalc.model.collector import ModelCollector
from ductcalc.model.opening import Opening
from ductcalc.solve import newton, operating, supply
from ductcalc.solve.tree import Tree
from tests.scenes import SHOPS
from tests.typed import Printed, typed

for _, name, _ in pkgutil.walk_packages(ductcalc.__path__, "ductcalc."):
    importlib.import_module(name)

WRONG = 1e-4
WANTED = ("flow_m3_s", "suction_total_pa", "suction_static_pa", "margin_pa")
COMMANDS = {
    "need": ("need", "SHOP"),
    "need all open": ("need", "SHOP", "--all-open", "--balance"),
    "check": ("check", "SHOP"),
    "check with running costs": ("check", "SHOP", "--running"),
    "check all open": ("check", "SHOP", "--all-open"),
    "losses": ("losses", "SHOP"),
    "losses all open": ("losses", "SHOP", "--all-open"),
    "draw all open": ("draw", "SHOP", "--all-open"),
    "chart": ("chart", "SHOP"),
    "chart all open": ("chart", "SHOP", "--all-open"),
    "gates": ("gates", "SHOP"),
    "card": ("card", "SHOP"),
    "compare": ("compare", "SHOP", "SHOP"),
    "improve": ("improve", "SHOP"),
    "size": ("size", "SHOP"),
    "size one run": ("size", "SHOP", "--drop", "drop"),
}
SEEDED = ("check", "losses", "gates")
"""Commands on which every seeded error is tried."""

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


FULL = """run,piece,machine,style,size,length,angle,joins,flow,k
trunk,port,planer,,5 in,,,,400 cfm,1.5
,gate,,,5 in,,,,,
,pipe,,spiral,5 in,8 ft,,,,
,wye,,,6 in,,45,drop,,
,pipe,,spiral,6 in,20 ft,,,,
,wye,,,6 in,,60,hose,,
,pipe,,spiral,6 in,5 ft,,,,
,collector,,,6 in,,,,,
drop,port,saw,,4 in,,,,300 cfm,2
,gate,,,4 in,,,,,
,pipe,,spiral,4 in,6 ft,,,,
hose,port,lathe,,4 in,,,,200 cfm,4
,port,sander,,4 in,,,,350 cfm,1
,gate,,,4 in,,,,,
,pipe,,spiral,4 in,6 ft,,,,
out,collector,,,6 in,,,,,
,pipe,,spiral,6 in,30 ft,,,,
,elbow,,5-gore,6 in,,90,,,
"""
SETTINGS = """[air]
altitude = "3000 ft"
[collector]
curve = "fan total"
outlet_size = "6 in"
contains = ["filter"]
[method]
joint_leakage = "unsealed"
[machines.saw]
own_blower = "40 Pa"
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "small"
    folder.mkdir()
    (folder / "duct.csv").write_text(DUCT, encoding="utf-8")
    shutil.copy(SHOPS / "cellar" / "collector.csv", folder / "collector.csv")
    return folder


@pytest.fixture(scope="module")
def full_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with everything that a solver reckons: leaks, an own blower, a shared hose, an outlet, thin air."""
    folder = tmp_path_factory.mktemp("shops") / "full"
    folder.mkdir()
    (folder / "duct.csv").write_text(FULL, encoding="utf-8")
    (folder / "shop.toml").write_text(SETTINGS, encoding="utf-8")
    shutil.copy(SHOPS / "cellar" / "collector.csv", folder / "collector.csv")
    return folder


Breaks = Callable[[pytest.MonkeyPatch], None]
Change = Callable[..., Any]


def everywhere(monkeypatch: pytest.MonkeyPatch, true: Callable[..., Any], change: Change) -> None:
    """Let a function's answer be changed, `change(answer, *its arguments)`, in every module that knows the function."""
    broken = changed(true, change)
    for module in [one for name, one in sys.modules.items() if name.startswith("ductcalc.")]:
        for name in [name for name, found in vars(module).items() if found is true]:
            monkeypatch.setattr(module, name, broken)


def changed(true: Callable[..., Any], change: Change) -> Callable[..., Any]:
    @functools.wraps(true)
    def broken(*arguments: Any, **more: Any) -> Any:
        return change(true(*arguments, **more), *arguments)

    return broken


def method(monkeypatch: pytest.MonkeyPatch, owner: type, name: str, change: Change) -> None:
    monkeypatch.setattr(owner, name, changed(getattr(owner, name), change))


def wrong_flows(solved: Any, *_: Any) -> Any:
    solved.flow[:] *= 1.0 + WRONG
    return solved


@pytest.fixture
def wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make every solved flow wrong by one ten thousandth, wherever flows are solved."""
    everywhere(monkeypatch, operating.operating_point, wrong_flows)


def more(terms: Iterator[supply.PowerTerm], *_: object) -> list[supply.PowerTerm]:
    return [replace(term, coefficient=1.1 * term.coefficient) for term in terms]


def more_of(part: str) -> Breaks:
    def change(terms: Iterator[supply.PowerTerm], _: object, charged: str, *__: object) -> list[supply.PowerTerm]:
        return more(terms) if charged == part else list(terms)

    return lambda patch: method(patch, ModelCollector, "_charge_terms", change)


def times(factor: float) -> Change:
    return lambda answer, *_: None if answer is None else factor * answer


def wrong_loss(answer: Any, *_: Any) -> Any:
    root, loss, slope = answer
    return root, 1.001 * loss, slope


def wrong_wyes(law: Any, *_: Any) -> Any:
    def change(streams: Any, *_: Any) -> Any:
        return replace(streams, loss=1.01 * streams.loss)

    return replace(law, evaluate=changed(law.evaluate, change))


def other_port(feeding: Any, opening: Opening, *_: object) -> Any:
    """On a hose that machines share another one stands than was asked for."""
    shared = np.bincount(opening.port_section, minlength=len(feeding)) > 1
    return np.where(shared[:, None], 1 - feeding, feeding)


def other_named(named: Any, of: Any, *_: object) -> Any:
    ports = [port.machine for port in (of.model if isinstance(of, GateSets) else of).ports]
    hose = [ports.index("lathe"), ports.index("sander")]
    named[hose] = named[hose[::-1]]
    return named


def wrong_port_named(patch: pytest.MonkeyPatch) -> None:
    everywhere(patch, choices.ports_named, other_named)
    method(patch, GateSets, "named_ports", other_named)


def gates_open(state: Any, *_: object) -> Any:
    return replace(state, shut=np.zeros_like(state.shut))


def exponent(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(newton, "LEAKAGE_EXPONENT", 0.6)


def wanted(change: Change) -> Breaks:
    return lambda patch: everywhere(patch, operating.at_wanted_flows, change)


def wanted_exponent(patch: pytest.MonkeyPatch) -> None:
    """The leak's exponent is wrong while wanted flows are solved, and only then."""
    true = operating.at_wanted_flows

    def broken(*arguments: Any) -> Any:
        with pytest.MonkeyPatch.context() as inner:
            exponent(inner)
            return true(*arguments)

    patch.setattr(solving, "at_wanted_flows", broken)


def lost_mass(solved: Any, tree: Tree, *_: Any) -> Any:
    solved.flow[tree.root] *= 1.0 - WRONG
    return solved


def more_suction(solved: Any, tree: Tree, *_: Any) -> Any:
    solved.end += WRONG * solved.end[tree.root]
    return solved


def less_than_wanted(solved: Any, *_: Any) -> Any:
    for part in (solved.flow, solved.leak):
        part *= 1.0 - WRONG
    return solved


def charged(value_and_slope: Any, *_: Any) -> Any:
    value, slope = value_and_slope
    return 1.001 * value, 1.001 * slope


ERRORS: dict[str, Breaks] = {
    "flows": lambda patch: everywhere(patch, operating.operating_point, wrong_flows),
    "cyclone": more_of("cyclone"),
    "filter": more_of("filter"),
    "outlet friction": lambda patch: method(
        patch, ModelCollector, "_outlet_friction", lambda rows, *_: tuple(replace(r, loss=2.0 * r.loss) for r in rows)
    ),
    "outlet fittings": lambda patch: method(patch, ModelCollector, "_outlet_terms", more),
    "basis of the curve": lambda patch: method(patch, ModelCollector, "_basis_terms", more),
    "curve": lambda patch: patch.setattr(supply, "evaluate", changed(supply.evaluate, charged)),
    "duct losses": lambda patch: patch.setattr(newton, "section_losses", changed(newton.section_losses, wrong_loss)),
    "wyes": lambda patch: patch.setattr(newton, "junction_law", changed(newton.junction_law, wrong_wyes)),
    "mass": lambda patch: method(patch, Tree, "sum_streams", times(1.0 - WRONG)),
    "leak exponent": exponent,
    "own blower": lambda patch: everywhere(patch, numbers.own_blowers, times(1.1)),
    "chosen port": lambda patch: method(patch, Opening, "feeding", other_port),
    "named port": wrong_port_named,
    "gates": lambda patch: method(patch, Opening, "state", gates_open),
    "wanted mass": wanted(lost_mass),
    "wanted leak exponent": wanted_exponent,
    "wanted suction": wanted(more_suction),
    "wanted flows": wanted(less_than_wanted),
}


def said(shop: Path, *arguments: str) -> Printed:
    return typed(*(shop if word == "SHOP" else word for word in arguments))


@pytest.mark.parametrize("command", COMMANDS)
def test_the_commands_answer_while_nothing_is_broken(command: str, shop: Path) -> None:
    found = said(shop, *COMMANDS[command])
    assert found.returncode in (0, 1)
    assert len(found.stdout.splitlines()) > 10


@pytest.mark.usefixtures("wrong")
@pytest.mark.parametrize("command", COMMANDS)
def test_a_broken_solver_gives_exit_code_three_and_no_figure_of_air(command: str, shop: Path) -> None:
    found = said(shop, *COMMANDS[command])
    text = found.stdout + found.stderr
    assert found.returncode == 3
    assert "check" in text
    assert not re.search(r"\bgets? [<0-9]", text)
    for word in ("OK", "SHORT", "SERVED", "- ALLOWED", "MORE THAN ENOUGH"):
        assert not re.search(rf"(?m)\b{word}$", text)


@pytest.mark.usefixtures("wrong")
@pytest.mark.parametrize("command", COMMANDS)
def test_a_broken_solver_leaves_no_flow_in_json(command: str, shop: Path) -> None:
    if command == "card":
        pytest.skip("the card has no json form of flows")
    found = said(shop, *COMMANDS[command], "--format", "json")
    assert found.returncode == 3
    if not found.stdout:
        assert "check" in found.stderr
        return
    document = json.loads(found.stdout)
    assert document["exit_code"] == 3
    for case in _all_cases(document):
        _tells_nothing(case)


def _tells_nothing(case: dict[str, Any]) -> None:
    """No figure of a case is told, of what it needs at its wanted flows neither."""
    assert case["status"] == "not converged"
    assert not case["machines"] and not case["sections"] and case["audit"] is None and case["collector"] is None
    assert not case["wanted"]["paths"]
    assert {case["wanted"][key] for key in WANTED} == {None}


@pytest.fixture(scope="module")
def sound(full_shop: Path) -> dict[str, Any]:
    """What the commands tell of the full shop while nothing is broken."""
    return {name: json.loads(said(full_shop, *COMMANDS[name], "--format", "json").stdout) for name in SEEDED}


@pytest.mark.parametrize("command", SEEDED)
@pytest.mark.parametrize("error", ERRORS)
def test_a_seeded_error_is_refused_or_leaves_every_figure_right(
    error: str, command: str, full_shop: Path, sound: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    ERRORS[error](monkeypatch)
    found = said(full_shop, *COMMANDS[command], "--format", "json")
    document = json.loads(found.stdout) if found.stdout else {}
    if command == "gates" and error.startswith("wanted"):
        _alike(document, sound[command])
        return
    assert found.returncode == 3
    right = {(case["name"], case["filter"]): case for case in _all_cases(sound[command])}
    for case in _all_cases(document):
        if case["status"] == "not converged":
            _tells_nothing(case)
        else:
            _alike(case, right[case["name"], case["filter"]])


@pytest.mark.parametrize("error", ERRORS)
def test_a_seeded_error_is_refused_in_a_need_or_leaves_every_figure_right(
    error: str, full_shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("need", "SHOP", "--system-curve", "--format", "json")
    right = json.loads(said(full_shop, *words).stdout)
    ERRORS[error](monkeypatch)
    found = json.loads(said(full_shop, *words).stdout)
    refused, told = 0, ("flow_m3_s", "total_pa", "fan_static_pa", "inlet_total_pa", "margin_pa")
    cases, true_cases = ([*one["cases"], *one["candidates"][0]["cases"]] for one in (found, right))
    for mine, true in zip(cases, true_cases, strict=True):
        if mine["status"] == "not converged":
            refused += 1
            assert {mine.get(key) for key in told} == {None}
            assert not mine.get("paths") and not mine.get("sections") and not mine.get("machines")
        else:
            _alike(mine, true)
    assert refused and found["exit_code"] == 3
    points = {(point["case"], point["share"]): point for point in right["system_curve"]}
    for point in found["system_curve"]:
        true = points[point["case"], point["share"]]
        _alike(point, true if point["open_fan_static_pa"] is not None else {**true, "open_fan_static_pa": None})


def _alike(found: Any, right: Any) -> None:
    """Every figure is right to a millionth."""
    if isinstance(right, dict):
        assert found.keys() == right.keys()
        for key in right.keys() - {"audit"}:
            _alike(found[key], right[key])
    elif isinstance(right, list):
        assert len(found) == len(right)
        for one, other in zip(found, right, strict=True):
            _alike(one, other)
    elif isinstance(right, float):
        assert found == pytest.approx(right, rel=1e-6, abs=1e-9)
    else:
        assert found == right


@pytest.mark.parametrize("command", ["check", "losses", "gates", "compare", "improve", "size"])
def test_json_shows_the_audit(command: str, shop: Path) -> None:
    audits = _all_audits(json.loads(said(shop, *COMMANDS[command], "--format", "json").stdout))
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
