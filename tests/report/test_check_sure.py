"""How sure a verdict is, as it is printed: bands beside the air, words for chances, what to measure, keys of JSON."""

from __future__ import annotations

import json
import re

import pytest

from ductcalc.answers.check import check
from ductcalc.report.check.sure import sure_words
from ductcalc.shop import Shop
from tests import scenes as s
from tests.typed import typed

CREAMERY = s.EXAMPLES / "creamery"


def alone(flow: str, **port: object) -> Shop:
    main = s.run("main", s.port("saw", "4 in", flow, **port), s.hose("6 ft"), s.gate(), s.pipe("12 ft"), s.end())
    return s.shop(main)


@pytest.mark.parametrize(
    ("share", "said"), [(0.6, "almost certainly served"), (1.0, "as likely as not"), (1.4, "almost certainly short")]
)
def test_chances_have_words(share: float, said: str) -> None:
    got = check(alone("500 cfm", k=2.0)).loaded[0].machine("saw").flow_m3_s
    assert said in next(iter(sure_words(check(alone(f"{share * got / s.CFM:.1f} cfm", k=2.0)))))


def test_what_is_least_known_comes_with_what_to_measure() -> None:
    said = " ".join(sure_words(check(alone("500 cfm"))))
    assert "Least known: the resistance of the saw" in said
    assert "measure suction and speed behind the saw's port" in said


def test_the_band_stands_beside_the_air_in_35_lines() -> None:
    lines = typed("check", CREAMERY, width=80).stdout.splitlines()
    assert len(lines) <= 35
    bands = re.findall(r" (\d+)  (\d+) to (\d+) ", "\n".join(lines))
    assert len(bands) == 6
    assert all(int(low) - 10 <= int(got) <= int(high) + 10 for got, low, high in bands)


def test_json_tells_band_and_chances_of_what_runs_with_the_dirty_filter() -> None:
    document = json.loads(typed("check", CREAMERY, "--format", "json").stdout)
    for case in document["cases"]:
        for machine in case["machines"]:
            keys = ("low_m3_s", "high_m3_s", "served_chance", "moves_chance")
            values = [machine[key] for key in keys]
            if case["filter"] == "loaded" and machine["runs"]:
                assert values[0] < values[1] and all(0.0 <= chance <= 1.0 for chance in values[2:])
            else:
                assert values == [None] * 4
    assert {one["name"] for one in document["least_known"]} and all(one["share"] > 0 for one in document["least_known"])


def test_the_whole_report_lists_every_machine_with_its_chances() -> None:
    said = typed("check", CREAMERY, "--full", width=80).stdout
    table = said.partition("How sure")[2].partition("\n\n")[0]
    assert len([line for line in table.splitlines() if re.search(r"\d+ +\d+ +\d+ +\d+$", line)]) == 12
