"""The same case has the same words and figures in every report and format: some random shops, 300 in a long run."""

from __future__ import annotations

import csv
import io
import os
from typing import Any

import numpy as np
import pytest

from ductcalc import Shop
from ductcalc.answers.check import Check, check
from ductcalc.answers.compare.compare import compare
from ductcalc.answers.gates.card import card
from ductcalc.answers.gates.gates import gates
from ductcalc.answers.improve.improve import improve
from ductcalc.answers.losses import losses
from ductcalc.answers.size.sizing import size
from ductcalc.cases.case import Case
from ductcalc.report.card import card_document
from ductcalc.report.check.data import check_csv, check_document
from ductcalc.report.compare.data import compare_document
from ductcalc.report.display import Display
from ductcalc.report.gates.data import gates_csv, gates_document
from ductcalc.report.improve.data import improve_document
from ductcalc.report.size.data import size_document
from tests.gate_shops import random_shop

MANY, SOME = 300, 24
SIZED = 4
"""Sizing takes by far the longest; only the first shops are sized, in a long run three times as many."""
LONG = bool(os.environ.get("DUCTCALC_LONG"))
SEEDS = range(MANY if LONG else SOME)
DISPLAY = Display("metric")
GRADES = ("word", "air", "chips", "may_run")


def shop_of(seed: int) -> Shop:
    return random_shop(np.random.default_rng(1000 + seed), 3 + seed % 3)


def judged(case: Case) -> tuple[object, ...]:
    return tuple(getattr(case, name) for name in GRADES)


def read(document: dict[str, Any]) -> tuple[object, ...]:
    return tuple(document[name] for name in GRADES)


def same_air(machine: dict[str, Any], case: Case) -> None:
    own = case.machine(machine["machine"])
    assert machine["flow_m3_s"] == pytest.approx(own.flow_m3_s, rel=1e-9)
    assert machine["wanted_m3_s"] == pytest.approx(own.wanted_m3_s, rel=1e-12)
    assert (machine["served"], machine["grade"]) == (own.served, own.grade)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_report_says_the_same_of_a_case(seed: int) -> None:
    shop = shop_of(seed)
    found = check(shop)
    by_name = {case.name: case for case in found.loaded}
    in_check(found, by_name)
    in_gates(shop, by_name)
    in_compare(shop, by_name)
    in_improve(shop, by_name)
    in_losses(shop, by_name)
    if seed < SIZED * (3 if LONG else 1):
        in_size(shop, by_name)


def in_check(found: Check, by_name: dict[str, Case]) -> None:
    document = check_document(found, DISPLAY)
    loaded = [case for case in document["cases"] if case["filter"] == "loaded"]
    assert [case["name"] for case in loaded] == list(by_name)
    for case in loaded:
        assert read(case) == judged(by_name[case["name"]])
        for machine in case["machines"]:
            same_air(machine, by_name[case["name"]])
        for section in case["sections"]:
            own = next(s for s in by_name[case["name"]].sections if s.section == section["section"])
            assert (section["word"], section["velocity_m_s"]) == (own.word, own.velocity_m_s)
    for row in csv.DictReader(io.StringIO(check_csv(found, DISPLAY))):
        if row["filter"] == "loaded" and row["machine"]:
            assert row["word"] == by_name[row["case"]].machine(row["machine"]).word
    frame = found.frame()
    for row in frame[frame["filter"] == "loaded"].to_dict("records"):
        assert row["word"] == by_name[row["case"]].machine(row["machine"]).word


def in_gates(shop: Shop, by_name: dict[str, Case]) -> None:
    learned = gates(shop)
    alone = [one for one in gates_document(learned, DISPLAY)["sets"] if len(one["open"]) == 1 and one["name"] is None]
    assert {one["open"][0] for one in alone} == {name for name, case in by_name.items() if case.alone}
    for one in alone:
        case = by_name[one["open"][0]]
        assert read(one) == judged(case)
        assert one["settling_sections"] == len(case.settling)
        for machine in one["machines"]:
            same_air(machine, case)
    rows = list(csv.DictReader(io.StringIO(gates_csv(learned, DISPLAY))))
    frame = learned.frame().to_dict("records")
    for rowed in (rows, frame):
        for row in rowed:
            opened = [name for name in learned.machines if str(row[name]).lower() in ("true", "yes", "1")]
            if len(opened) == 1 and not (row.get("named_set") or row.get("named set")):
                assert row["word"] == by_name[opened[0]].word
    hung = card_document(card(shop))
    helped = {pair["open"][0] for pair in hung["with_helper"] if len(pair["open"]) == 1}
    assert set(hung["alone"]) == {name for name, case in by_name.items() if case.alone and case.may_run}
    refused = {one["machine"]: read(one) for one in hung["not_allowed"]}
    expected = {n: judged(c) for n, c in by_name.items() if c.alone and not c.may_run and n not in helped}
    assert refused == expected


def in_compare(shop: Shop, by_name: dict[str, Case]) -> None:
    document = compare_document(compare(shop, [shop]), DISPLAY)
    for line in document["machines"]:
        if line["filter"] == "loaded" and line["answer"] is not None:
            own = by_name[line["case"]].machine(line["machine"])
            answer = line["answer"]
            assert (answer["word"], answer["grade"], answer["flow_m3_s"]) == (own.word, own.grade, own.flow_m3_s)


def in_improve(shop: Shop, by_name: dict[str, Case]) -> None:
    document = improve_document(improve(shop), DISPLAY)
    assert read(document) == judged(by_name[document["subject"]["case"]])


def in_losses(shop: Shop, by_name: dict[str, Case]) -> None:
    name = next(iter(by_name))
    if by_name[name].solved:
        found = losses(shop, machine=name).case
        assert judged(found) == judged(by_name[name])
        assert found.machine(name).flow_m3_s == pytest.approx(by_name[name].machine(name).flow_m3_s, rel=1e-9)


def in_size(shop: Shop, by_name: dict[str, Case]) -> None:
    for one in size_document(size(shop), DISPLAY)["sets"]:
        assert read(one["now"]) == judged(by_name[one["name"]])
        for machine in one["now"]["machines"]:
            same_air(machine, by_name[one["name"]])
