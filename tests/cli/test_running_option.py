"""`check --running`: asked for, in text and JSON; without it nothing changes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.scenes import SHOPS


@pytest.fixture
def loft(tmp_path: Path) -> Path:
    """Return a copy of the loft shop."""
    shutil.copytree(SHOPS / "loft", tmp_path / "loft")
    return tmp_path / "loft"


def test_json_has_one_key_more(run: Run, loft: Path) -> None:
    plain = json.loads(run("check", loft, "--format", "json").stdout)
    asked = json.loads(run("check", loft, "--running", "--format", "json").stdout)
    assert set(asked) - set(plain) == {"running"}
    assert {key: asked[key] for key in plain} == plain
    assert asked["running"]["cuts"][0]["machine"] == "Hobel"


def test_csv_is_refused_with_a_repair(run: Run, loft: Path) -> None:
    answer = run("check", loft, "--running", "--format", "csv")
    assert (answer.returncode, answer.stdout) == (2, "")
    assert "--format json" in answer.stderr


def test_wrong_settings_are_told_and_nothing_is_computed(run: Run, loft: Path) -> None:
    settings = (loft / "shop.toml").read_text(encoding="utf-8").replace("tariff", "tarif").replace("200 l", "200")
    (loft / "shop.toml").write_text(settings, encoding="utf-8")
    answer = run("check", loft)
    assert (answer.returncode, answer.stdout) == (2, "")
    assert "running.tarif: " in answer.stderr and "did you mean tariff?" in answer.stderr
    assert 'running.drum: "200" has no unit' in answer.stderr


def test_a_choice_and_a_what_if_hold_for_them_too(run: Run, loft: Path) -> None:
    answer = run("check", loft, "--running", "--open", "Hobel", "--with", "main: pipe length = 2 m", "--format", "json")
    cases = json.loads(answer.stdout)["running"]["cases"]
    assert {case["name"] for case in cases} == {"Hobel"}
