"""A line for each branch: what it needs, what it has over, the piece that takes most."""

from __future__ import annotations

import csv
import json
from io import StringIO

import pytest

import ductcalc
from ductcalc import Ask
from ductcalc.answers.branches import branches
from tests.report.answered import answered
from tests.scenes import SHOPS, two_machines
from tests.typed import typed

CELLAR, BARN = (f"tests/report/shops/{name}" for name in ("cellar", "barn"))


def test_at_the_wanted_flows_need_and_excess_are_those_of_need() -> None:
    shop = two_machines()
    case = ductcalc.need(shop, [Ask.everything()]).cases[0]
    found = branches(shop, Ask.everything(), at="wanted")
    assert [line.run for line in found.lines] == [path.run for path in case.paths]
    for line, path in zip(found.lines, case.paths, strict=True):
        assert line.need_pa == pytest.approx(path.need_pa, rel=1e-9)
        assert line.excess_pa == pytest.approx(path.excess_pa, abs=1e-6)
        assert line.flow_m3_s == line.wanted_m3_s


def test_at_the_flows_that_run_every_branch_takes_the_same_suction() -> None:
    shop = two_machines()
    point = ductcalc.check(shop, [Ask.everything()]).loaded[0].collector
    found = branches(shop, Ask.everything())
    assert point is not None
    assert [line.need_pa for line in found.lines] == pytest.approx([point.inlet_total_pa] * 2, rel=1e-9)
    assert {line.excess_pa for line in found.lines} == {0.0}


@pytest.mark.parametrize("at", ["actual", "wanted"])
def test_the_piece_named_is_the_largest_row_of_the_bill(at: str) -> None:
    shop = two_machines()
    for line in branches(shop, Ask.everything(), at=at).lines:  # type: ignore[arg-type]
        bill = ductcalc.losses(shop, Ask.everything(), line.machine, at=at)  # type: ignore[arg-type]
        ducts = [row for row in bill.rows if row.group not in ("inlet", "cyclone", "filter", "outlet", "over", "basis")]
        assert line.largest is not None
        assert line.largest.loss_pa == max(row.loss_pa for row in ducts)
        assert line.largest_share == pytest.approx(line.largest.loss_pa / line.need_pa, rel=1e-12)


def test_without_a_choice_every_machine_is_alone() -> None:
    assert [line.case.name for line in branches(two_machines()).lines] == ["band saw", "planer"]


def test_wanted_flows_need_no_collector() -> None:
    said = typed("losses", BARN, "--at", "wanted", "--all-branches", width=80)
    assert said.returncode == 1 and "at the wanted flows" in " ".join(said.stdout.split())
    assert typed("losses", BARN, "--all-branches").returncode == 2
    alone = typed("losses", BARN, "--at", "wanted", "--machine", "sander", width=80)
    assert "has to give" in " ".join(alone.stdout.split())


def test_text_json_and_csv_tell_the_same_branches() -> None:
    words = ("losses", CELLAR, "--at", "wanted", "--set", "ripping", "--all-branches")
    found = answered(*words)
    document, rows = json.loads(found.json)["branches"], list(csv.DictReader(StringIO(found.csv)))
    assert [line["run"] for line in document] == [row["run"] for row in rows]
    for line, row in zip(document, rows, strict=True):
        assert float(row["excess_inwg"]) == pytest.approx(line["excess_pa"] / 249.0889, rel=1e-5, abs=1e-9)
        assert row["largest_piece"] == line["largest_piece"]


def test_one_machine_and_all_branches_at_once_are_refused() -> None:
    said = typed("losses", SHOPS / "cellar", "--all-branches", "--machine", "planer")
    assert said.returncode == 2 and "--all-branches" in said.stderr
