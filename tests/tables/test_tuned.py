"""tuned.toml: written, read back, taken by itself; every problem of it at once."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from ductcalc import check, read_shop
from ductcalc.errors import InputError
from ductcalc.model.model import build_model
from ductcalc.shop.tuned import Tuned
from ductcalc.tables.tuned import read_tuned, tuned_text
from tests.typed import ROOT, typed

NUMBERS = (Tuned("resistance", "drum sander", 0.585, 0.354, 0.968), Tuned("blower speed", "", 0.95, 0.9, 1.0),
           Tuned("hose factor", "", 1.2, 1.0, 1.5), Tuned("filter cloth", "", 1.5, 1.2, 2.0))  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(ROOT / "examples/creamery", tmp_path / "shop"))


def write(folder: Path, text: str) -> Path:
    (folder / "tuned.toml").write_text(text, encoding="utf-8")
    return folder / "tuned.toml"


def test_what_is_written_is_read_back(folder: Path) -> None:
    plain = read_shop(folder)
    path = write(folder, tuned_text(NUMBERS, 'nine readings of\n"today"'))
    assert read_tuned(path, plain) == NUMBERS


def test_the_file_in_the_folder_is_taken_by_itself_and_said(folder: Path) -> None:
    plain = build_model(read_shop(folder))
    write(folder, tuned_text(NUMBERS, "readings"))
    shop = read_shop(folder)
    assert shop.tuned == NUMBERS
    assert "tuned.toml" in shop.changes[0]
    model = build_model(shop)
    by_name = {head[0].label: head[0].k for section in model.sections for head in section.heads}
    before = {head[0].label: head[0].k for section in plain.sections for head in section.heads}
    assert by_name["drum sander"].value == pytest.approx(0.585 * before["drum sander"].value)
    assert by_name["drum sander"].source == "your readings"
    assert by_name["planer"] == before["planer"]
    assert model.collector and plain.collector
    points, old = model.collector.collector.blower, plain.collector.collector.blower
    assert [p.pressure_pa for p in points] == pytest.approx([0.95**2 * p.pressure_pa for p in old])
    assert [p.flow_m3_s for p in points] == pytest.approx([0.95 * p.flow_m3_s for p in old])


def test_every_case_of_a_tuned_shop_passes_the_audit(folder: Path) -> None:
    write(folder, tuned_text(NUMBERS, "readings"))
    found = check(read_shop(folder))
    assert found.cases
    assert all(case.solved for case in found.cases)


def test_reports_say_it_in_their_first_lines(folder: Path) -> None:
    write(folder, tuned_text(NUMBERS, "readings"))
    ran = typed("check", folder)
    assert "tuned.toml" in "".join(ran.stdout.splitlines(keepends=True)[:8])
    assert "tuned.toml" in json.loads(typed("losses", folder, "--format", "json").stdout)["changes"][0]


def test_another_file_is_taken_when_it_is_named(folder: Path, tmp_path: Path) -> None:
    other = tmp_path / "spring.toml"
    other.write_text(tuned_text(NUMBERS[:1], "readings"))
    ran = typed("expect", folder, "--open", "drum sander", "--tuned", other)
    assert ran.returncode == 0
    assert "1 badly known" in ran.stdout and "spring.toml" in ran.stdout
    assert str(other) in " ".join(ran.stdout.split())


@pytest.mark.parametrize(
    ("text", "said", "hint"),
    [
        ("tuned = 3", "not a list", "[[tuned]]"),
        ('[[tuned]]\nwhat = "resistance"\nwhere = "planr"\ntimes = 1\nlow = 1\nhigh = 1', "planr", "planer"),
        ('[[tuned]]\nwhat = "hose factr"\ntimes = 1\nlow = 1\nhigh = 1', "hose factr", "tune again"),
        ('[[tuned]]\nwhat = "hose factor"\ntimes = 1\nlow = 2\nhigh = 3', "do not rise", "rising"),
        ('[[tuned]]\nwhat = "hose factor"\ntimes = "x"\nlow = 1\nhigh = 1', "number", "number"),
        ('[[tuned]]\nwhat = "hose factor"\ntims = 1\nlow = 1\nhigh = 1', "tims", "times"),
        ("tuned", "cannot be read", "quotes"),
    ],
)  # fmt: skip
def test_a_problem_is_told_with_a_repair(folder: Path, text: str, said: str, hint: str) -> None:
    plain = read_shop(folder)
    with pytest.raises(InputError) as caught:
        read_tuned(write(folder, text), plain)
    first = caught.value.problems[0]
    assert said in str(first)
    assert hint in first.hint


def test_tune_writes_a_new_file_and_never_over_one(folder: Path) -> None:
    first = typed("tune", folder)
    assert first.returncode == 0, first.stderr
    written = (folder / "tuned.toml").read_bytes()
    assert "narrow" in first.stdout and b"[[tuned]]" in written
    assert typed("tune", folder).returncode == 2
    assert (folder / "tuned.toml").read_bytes() == written
    assert len(read_shop(folder).tuned) == written.count(b"[[tuned]]")


def test_tune_in_json_holds_each_number_with_what_is_left_of_its_band(folder: Path) -> None:
    numbers = json.loads(typed("tune", folder, "--format", "json").stdout)["numbers"]
    assert all(0.0 < number["left"] <= 0.9 for number in numbers)
    assert {"what", "where", "times", "times_low", "times_high", "value"} <= set(numbers[0])


@pytest.mark.parametrize("width", [60, 80])
def test_the_fit_fits_the_page(folder: Path, width: int) -> None:
    ran = typed("tune", folder, "--full", "--to", folder / "other.toml", width=width)
    assert max(map(len, ran.stdout.splitlines())) <= max(width, len(str(folder / "other.toml.")))
