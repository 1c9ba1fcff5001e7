"""`ductcalc gates` and `ductcalc card`: exit codes, the three forms, what is loaded, progress on a terminal only."""

from __future__ import annotations

import csv
import io
import json
import math
import sys
from pathlib import Path

import pytest

from ductcalc.cli.say import PATIENCE_S, Bar
from tests.cli.conftest import Run

HEADER = "run,piece,machine,style,size,length,joins,flow,k\n"
TWO = (
    "main,port,saw,,4 in,,,{saw},1\n,gate,,,,,,,\n,pipe,,spiral,,6 ft,,,\n,wye,,,5 in,,drop,,\n,collector,,,,,,,\n"
    "drop,port,sander,,4 in,,,300 cfm,1\n,gate,,,,,,,\n,pipe,,spiral,,4 ft,,,\n"
)
BLOWER = "item,flow,pressure\nblower,0 cfm,14 inwg\nblower,800 cfm,12 inwg\nblower,1500 cfm,2 inwg\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write(tmp_path / "small")


def write(folder: Path, saw: str = "300 cfm") -> Path:
    folder.mkdir()
    (folder / "duct.csv").write_text(HEADER + TWO.format(saw=saw), encoding="utf-8")
    (folder / "collector.csv").write_text(BLOWER, encoding="utf-8")
    return folder


@pytest.mark.parametrize("command", ["gates", "card"])
class TestExitCodes:
    def test_fine(self, run: Run, folder: Path, command: str) -> None:
        answer = run(command, folder)
        assert (answer.returncode, answer.stderr) == (0, "")

    def test_short(self, run: Run, tmp_path: Path, command: str) -> None:
        assert run(command, write(tmp_path / "greedy", saw="900 cfm")).returncode == 1

    def test_input(self, run: Run, tmp_path: Path, command: str) -> None:
        answer = run(command, tmp_path / "nowhere")
        assert (answer.returncode, answer.stdout) == (2, "")
        assert "hint:" in answer.stderr

    def test_usage(self, run: Run, folder: Path, command: str) -> None:
        assert run(command, folder, "--format", "page").returncode == 2

    def test_no_answer(self, run: Run, tmp_path: Path, command: str) -> None:
        early = write(tmp_path / "early")
        table = "item,flow,pressure\nblower,0 cfm,14 inwg\nblower,100 cfm,13 inwg\ncyclone,,none\nfilter clean,,none\n"
        (early / "collector.csv").write_text(table, encoding="utf-8")
        answer = run(command, early)
        assert answer.returncode == 3 and answer.stdout


def test_together_must_be_a_count(run: Run, folder: Path) -> None:
    assert run("gates", folder, "--together", "0").returncode == 2


def test_csv_has_a_line_for_every_set(run: Run, folder: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(run("gates", folder, "--format", "csv").stdout)))
    assert [(row["saw"], row["sander"]) for row in rows] == [("yes", "no"), ("no", "yes"), ("yes", "yes")]
    assert float(rows[2]["air saw [cfm]"]) > 100.0
    assert [(row["word"], row["may_run"]) for row in rows] == [("ok", "yes")] * 3
    assert float(rows[0]["speed_fpm"]) > 0.0


def test_csv_tells_the_grades(run: Run, tmp_path: Path) -> None:
    greedy = write(tmp_path / "greedy", saw="900 cfm")
    rows = list(csv.DictReader(io.StringIO(run("gates", greedy, "--format", "csv").stdout)))
    assert [(row["word"], row["may_run"], row["served"]) for row in rows] == [
        ("short", "no", "no"), ("ok", "yes", "yes"), ("short", "no", "no"),
    ]  # fmt: skip


def test_csv_and_json_tell_the_same(run: Run, folder: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(run("gates", folder, "--format", "csv", "--units", "metric").stdout)))
    document = json.loads(run("gates", folder, "--format", "json").stdout)
    for row, found in zip(rows, document["sets"], strict=True):
        assert row["word"] == found["word"]
        for machine in found["machines"]:
            shown = float(row[f"air {machine['machine']} [m3_h]"])
            assert shown == pytest.approx(3600.0 * machine["flow_m3_s"], rel=1e-5)


def test_json_is_si_finite_and_the_same_every_time(run: Run, shop: Path) -> None:
    first, second = (run("gates", shop, "--format", "json").stdout for _ in range(2))
    assert first == second
    document = json.loads(first)
    keys = "machines sets largest forbidden helpers cures left_open leaks tightest exact solved_sets"
    assert set(keys.split()) <= set(document)
    assert document["exact"] is True and document["solved_sets"] == 7
    (single, *_) = document["sets"]
    assert set(single["machines"][0]) >= {"machine", "flow_m3_s", "wanted_m3_s", "served"}
    assert set(single["slowest"]) >= {"section", "velocity_m_s", "needed_velocity_m_s"}
    assert all(math.isfinite(number) for number in numbers_in(document))
    assert [s["name"] for s in document["sets"] if s["name"]] == ["ripping", "thin stock"]


def numbers_in(value: object) -> list[float]:
    if isinstance(value, dict):
        return [number for part in value.values() for number in numbers_in(part)]
    if isinstance(value, list):
        return [number for part in value for number in numbers_in(part)]
    return [float(value)] if isinstance(value, int | float) else []


def test_card_in_its_other_forms(run: Run, folder: Path) -> None:
    document = json.loads(run("card", folder, "--format", "json").stdout)
    rows = list(csv.DictReader(io.StringIO(run("card", folder, "--format", "csv").stdout)))
    assert document["alone"] == ["saw", "sander"] == [r["machines"] for r in rows if r["kind"] == "alone"]
    assert set(document["filter"]) == {"machine", "machine_off", "gated", "clean_pa", "loaded_pa", "assumed"}


Steps = tuple[tuple[int, int], ...]


class TestBar:
    def late(
        self, monkeypatch: pytest.MonkeyPatch, terminal: bool, seconds: float, steps: Steps = ((50, 200),)
    ) -> io.StringIO:
        target = io.StringIO()
        monkeypatch.setattr(target, "isatty", lambda: terminal)
        monkeypatch.setattr(sys, "stderr", target)
        with Bar("gate sets") as bar:
            bar.begun -= seconds
            for done, total in steps:
                bar(done, total)
            self.midway = target.getvalue()
        return target

    def test_comes_on_a_terminal_when_it_takes_long_and_goes_again(self, monkeypatch: pytest.MonkeyPatch) -> None:
        target = self.late(monkeypatch, True, PATIENCE_S + 1.0)
        assert self.midway.endswith("50 of 200 gate sets, 6 s left")
        last = target.getvalue().rsplit("\r", 2)[1]
        assert last.strip() == "" and len(last) >= len(self.midway.strip())

    @pytest.mark.parametrize("columns", [40, 60])
    def test_never_wraps_on_a_narrow_terminal(self, monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
        monkeypatch.setenv("COLUMNS", str(columns))
        self.late(monkeypatch, True, PATIENCE_S + 1.0)
        drawn = self.midway.rsplit("\r", 1)[1]
        assert "[" in drawn
        assert len(drawn) < columns

    def test_is_full_as_far_as_the_work_is_done(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.late(monkeypatch, True, PATIENCE_S + 1.0, ((50, 200),))
        bar = self.midway[self.midway.index("[") + 1 : self.midway.index("]")]
        assert bar == "#" * (len(bar) // 4) + " " * (len(bar) - len(bar) // 4) and "#" in bar

    def test_tells_minutes_of_much_and_nothing_of_little(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.late(monkeypatch, True, 60.0, ((10, 100),))
        assert self.midway.endswith("10 of 100 gate sets, 9 min left")
        self.late(monkeypatch, True, 10.0, ((99, 100),))
        assert self.midway.rstrip().endswith("99 of 100 gate sets")

    def test_judges_what_is_left_by_the_present_piece_of_work(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.late(monkeypatch, True, 60.0, ((10, 10), (20, 40)))
        assert self.midway.rstrip().endswith("20 of 40 gate sets")

    def test_is_silent_when_it_is_quick(self, monkeypatch: pytest.MonkeyPatch) -> None:
        assert self.late(monkeypatch, True, 0.0).getvalue() == ""

    def test_is_silent_in_a_pipe(self, monkeypatch: pytest.MonkeyPatch) -> None:
        assert self.late(monkeypatch, False, PATIENCE_S + 1.0).getvalue() == ""


def test_where_no_machine_may_run_the_way_leads_to_improve_and_not_to_the_wall(run: Run, tmp_path: Path) -> None:
    fine, weak = write(tmp_path / "fine"), write(tmp_path / "weak")
    (weak / "collector.csv").write_text("item,flow,pressure\nblower,0 cfm,2 inwg\nblower,900 cfm,0 inwg\n")
    said = {folder: run("gates", folder).stdout for folder in (fine, weak)}
    assert "ductcalc card" in said[fine] and "ductcalc improve" not in said[fine]
    assert "No machine may run alone" in said[weak]
    assert "ductcalc improve" in said[weak] and "ductcalc card" not in said[weak]
