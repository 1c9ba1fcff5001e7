"""A planted mistake for every rule: found alone, where it stands, with its figure; its clean twin raises nothing.

A folder bears its rule's name (- for a space). `planted/` and `clean/` are whole shops that differ in the mistake only.
`expected.toml` says where the finding must point: `file`, `row` or `key`, `name` (`nowhere = true`: no file); `sign`:
of what its change does to the figure ("more", "less"), or "figure" where the finding brings one of its own; `text`:
the numbers and words that the paragraph must hold (it stands whole in `tests/report/golden/findings.txt`); `lines`: in
how many lines the two shops may differ, 3 unless stated.
The changed shop as a hand would write it is `clean/`, unless there is a third folder `changed/` with those files of
the planted shop that are written otherwise.
"""

from __future__ import annotations

import re
import shutil
import tomllib
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import ductcalc
from ductcalc.answers.check import Check, check
from ductcalc.findings.finding import Effect, Finding
from ductcalc.findings.rules import RULES
from ductcalc.report.display import Display
from ductcalc.report.findings import finding_words

HERE = Path(__file__).parent
FOLDERS = sorted(path.name for path in HERE.iterdir() if (path / "planted").is_dir())
MOST_LINES = 3
UNITS = "cfm|m3/h|fpm|m/s|inwg|Pa|in2|cm2|ft2|m2|in|ft|mm|m|hp|kW|W|VP"
FIGURE_WITH_UNIT = re.compile(rf"\d[\s\u00a0]?(%|({UNITS})\b)")


@cache
def answer(folder: str, which: str) -> Check:
    return check(ductcalc.read_shop(HERE / folder / which))


def the_finding(folder: str) -> Finding:
    found = answer(folder, "planted").findings.all
    assert len(found) == 1, [one.rule for one in found]
    return found[0]


def expected(folder: str) -> dict[str, Any]:
    return tomllib.loads((HERE / folder / "expected.toml").read_text(encoding="utf-8"))


def display(folder: str) -> Display:
    return Display(ductcalc.read_shop(HERE / folder / "planted").system)


def paragraph(folder: str) -> str:
    """Return what is told of the planted mistake."""
    return finding_words(the_finding(folder), display(folder)).replace("\u00a0", " ")


def figure(verdict: Check, effect: Effect) -> float:
    """Return the figure that an effect speaks of, from a whole answer."""
    case = next(one for one in verdict.loaded if one.name == effect.case)
    if effect.section is not None:
        return next(one.velocity_m_s for one in case.sections if one.section == effect.section)
    assert effect.machine is not None
    ports = case.machine(effect.machine).ports
    return sum(port.flow_m3_s for port in ports if effect.run in (None, port.run))


def shop_lines(folder: str, which: str, file: str) -> Counter[str]:
    """Return the lines of a file, comments left out; none when there is no such file."""
    path = HERE / folder / which / file
    lines = path.read_text(encoding="utf-8-sig").splitlines() if path.exists() else []
    return Counter(line for line in lines if not line.startswith("#"))


def test_every_rule_has_a_planted_shop() -> None:
    assert [name.replace("-", " ") for name in FOLDERS] == sorted(rule.name for rule in RULES)


@pytest.mark.parametrize("folder", FOLDERS)
def test_planted_shop_shows_that_finding_and_no_other(folder: str) -> None:
    assert [one.rule for one in answer(folder, "planted").findings.all] == [folder.replace("-", " ")]


@pytest.mark.parametrize("folder", FOLDERS)
def test_clean_shop_shows_nothing(folder: str) -> None:
    assert [(one.rule, one.row) for one in answer(folder, "clean").findings.all] == []


@pytest.mark.parametrize("folder", FOLDERS)
def test_planted_and_clean_differ_in_the_mistake_only(folder: str) -> None:
    unlike = 0
    for file in ("duct.csv", "collector.csv", "shop.toml"):
        planted, clean = shop_lines(folder, "planted", file), shop_lines(folder, "clean", file)
        unlike += max((planted - clean).total(), (clean - planted).total())
    assert 1 <= unlike <= expected(folder).get("lines", MOST_LINES)


@pytest.mark.parametrize("folder", FOLDERS)
def test_finding_points_at_its_row(folder: str) -> None:
    found, wanted = the_finding(folder), expected(folder)
    assert wanted.keys() & {"row", "key", "nowhere"}
    assert (found.file, found.row, found.key) == (wanted.get("file"), wanted.get("row"), wanted.get("key"))
    assert found.name == wanted["name"]


@pytest.mark.parametrize("folder", FOLDERS)
def test_finding_says_what_a_reader_must_know(folder: str) -> None:
    words = paragraph(folder)
    assert FIGURE_WITH_UNIT.search(words), words
    assert [part for part in expected(folder)["text"] if part not in words] == []


@pytest.mark.parametrize("folder", FOLDERS)
def test_effect_is_the_difference_of_two_whole_answers(folder: str, tmp_path: Path) -> None:
    effect, sign = the_finding(folder).effect, expected(folder)["sign"]
    if sign == "figure":
        assert effect.after is None and effect.before is not None
        return
    if (HERE / folder / "changed").is_dir():
        shutil.copytree(HERE / folder / "planted", tmp_path / "shop")
        shutil.copytree(HERE / folder / "changed", tmp_path / "shop", dirs_exist_ok=True)
        changed = check(ductcalc.read_shop(tmp_path / "shop"))
    else:
        changed = answer(folder, "clean")
    assert effect.before is not None and effect.after is not None and effect.difference is not None
    assert effect.before == pytest.approx(figure(answer(folder, "planted"), effect), rel=1e-9)
    assert effect.after == pytest.approx(figure(changed, effect), rel=1e-9)
    assert {"more": effect.difference > 0.0, "less": effect.difference < 0.0}[sign]
