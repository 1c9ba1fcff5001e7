"""The JSON of a verdict: the promised keys, plain numbers, the same bytes every time."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import pytest

from ductcalc.answers.check import check
from ductcalc.answers.layout import layout
from ductcalc.answers.losses import losses
from ductcalc.cases.choices import Ask
from ductcalc.report.check.data import check_document
from ductcalc.report.display import Display
from ductcalc.report.json_text import json_text
from ductcalc.report.losses import losses_document
from ductcalc.report.tree import layout_document
from ductcalc.tables import read_shop
from tests.scenes import SHOPS

KEYS = {
    "case": {"name", "open", "filter", "status", "collector", "machines", "sections", "wanted", "audit"},
    "collector": {"name", "flow_m3_s", "inlet_static_pa", "inlet_total_pa", "blower_pa", "basis"},
    "machine": {"machine", "open", "flow_m3_s", "wanted_m3_s", "served", "ports"},
    "port": {"run", "flow_m3_s"},
    "section": {"section", "flow_m3_s", "velocity_m_s", "needed_velocity_m_s", "loss_pa"},
    "wanted": {
        "flow_m3_s",
        "suction_total_pa",
        "suction_static_pa",
        "margin_pa",
        "worst_machine",
        "farthest_machine",
        "paths",
    },
    "path": {"machine", "suction_total_pa", "excess_pa", "length_m"},
    "audit": {"pressure", "mass", "blower"},
}


def _document(shop: str = "cellar", *asks: Ask) -> dict[str, Any]:
    found = check(read_shop(SHOPS / shop), asks or None)
    document: dict[str, Any] = json.loads(json_text(check_document(found, Display("inch"))))
    return document


def test_promised_keys_are_there() -> None:
    case = _document()["cases"][0]
    assert KEYS["case"] <= set(case)
    assert KEYS["collector"] <= set(case["collector"])
    assert KEYS["machine"] <= set(case["machines"][0])
    assert KEYS["port"] <= set(case["machines"][0]["ports"][0])
    assert KEYS["section"] <= set(case["sections"][0])
    assert KEYS["wanted"] <= set(case["wanted"])
    assert KEYS["path"] <= set(case["wanted"]["paths"][0])
    assert KEYS["audit"] <= set(case["audit"])


def test_audit_of_every_case_holds() -> None:
    audits = [case["audit"] for case in _document()["cases"]]
    assert max(value for audit in audits for value in audit.values()) <= 1e-8


def test_chosen_set_comes_first_with_the_loaded_filter() -> None:
    cases = _document("cellar", Ask.machines("planer", "band saw"))["cases"]
    assert [(case["name"], case["filter"]) for case in cases] == [
        ("planer, band saw", "loaded"),
        ("planer, band saw", "clean"),
    ]
    assert set(cases[0]["open"]) == {"planer", "band saw"}


def test_flows_are_those_of_the_answer_to_the_last_bit() -> None:
    answer = check(read_shop(SHOPS / "cellar"))
    flows = [machine.flow_m3_s for case in answer.cases for machine in case.machines]
    assert flows == [machine["flow_m3_s"] for case in _document()["cases"] for machine in case["machines"]]


@pytest.mark.parametrize("shop", ["cellar", "annex"])
def test_same_bytes_every_time_in_ascii(shop: str) -> None:
    texts = {json_text(check_document(check(read_shop(SHOPS / shop)), Display("metric"))) for _ in range(2)}
    assert len(texts) == 1
    text = texts.pop()
    assert text.isascii() and text.endswith("}\n")


def test_case_without_an_answer_has_no_flows(tmp_path: Any) -> None:
    for name in ("duct.csv", "shop.toml"):
        (tmp_path / name).write_bytes((SHOPS / "cellar" / name).read_bytes())
    rows = "item,flow,pressure\nblower,0 cfm,10 inwg\nblower,100 cfm,9.9 inwg\ncyclone,,none\nfilter clean,,none\n"
    (tmp_path / "collector.csv").write_text(rows + "filter loaded,,none\n", encoding="utf-8")
    document = json.loads(json_text(check_document(check(read_shop(tmp_path)), Display("inch"))))
    case = document["cases"][0]
    assert case["status"] == "beyond the curve"
    assert (case["collector"], case["machines"], case["sections"], case["audit"]) == (None, [], [], None)
    assert case["wanted"]["margin_pa"] is None
    assert document["exit_code"] == 3


def test_numbers_that_are_not_finite_become_null() -> None:
    assert json.loads(json_text({"a": math.nan, "b": [math.inf, -0.0]})) == {"a": None, "b": [None, 0.0]}


def test_losses_add_up_to_the_total_and_to_the_blowers_pressure() -> None:
    document = json.loads(json_text(losses_document(losses(read_shop(SHOPS / "cellar"), machine="planer"))))
    assert sum(row["loss_pa"] for row in document["rows"]) == pytest.approx(document["blower_pa"], rel=1e-9)
    assert document["blower_pa"] == pytest.approx(document["total_pa"], rel=1e-9)
    assert sum(kind["loss_pa"] for kind in document["by_kind"]) == pytest.approx(document["total_pa"], rel=1e-12)


def test_tree_lists_every_run_with_its_pieces() -> None:
    document = layout_document(layout(read_shop(SHOPS / "cellar")))
    assert [run["name"] for run in document["runs"]] == ["main", "planer drop", "saw branch", "guard hose"]
    assert all(_plain(value) for value in _leaves(json.loads(json_text(document))))


def _leaves(value: Any) -> Iterator[Any]:
    if isinstance(value, dict):
        value = list(value.values())
    if not isinstance(value, list):
        yield value
        return
    for part in value:
        yield from _leaves(part)


def _plain(value: Any) -> bool:
    return value is None or isinstance(value, str | float | int)
