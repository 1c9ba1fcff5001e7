"""What the rules see is weighed by solving with and without, in one audited batch."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import ductcalc
from ductcalc.cases.choices import Ask
from ductcalc.cases.judged import NOT_CONVERGED
from ductcalc.findings import weighing
from ductcalc.findings.finding import Finding, Findings
from ductcalc.shop import FindingSettings, Shop
from tests import scenes as s

LAST = s.pipe("6 ft")


def shop(hose: str = "15 ft", flow: str = "480 cfm", last: s.Row = LAST, **settings: Any) -> Shop:
    rows = [
        *s.run("trunk", s.port("band saw", "4 in", style="flanged"), s.gate(), s.pipe("20 ft"), s.wye("drop", "6 in"),
               s.pipe("12 ft"), s.end()),
        *s.run("drop", s.port("lathe", "4 in", flow=flow, style="flanged"), s.hose(hose), s.gate(), last),
    ]  # fmt: skip
    collector = [
        *s.points(*s.STRONG),
        s.rated("cyclone", "800 cfm", "2 inwg"),
        s.rated("filter clean", "800 cfm", "0.6 inwg"),
        s.rated("filter loaded", "800 cfm", "2 inwg"),
    ]
    return ductcalc.shop_from_rows(duct=rows, collector=collector, settings=settings or None)


def test_a_finding_tells_the_difference_of_two_checks() -> None:
    (found,) = (one for one in ductcalc.check(shop()).findings.all if one.rule == "long hose")
    then = ductcalc.check(shop(hose="5 ft"))
    before = ductcalc.check(shop())
    assert (found.row, found.name) == (8, "hose in drop")
    gained = [next(c for c in one.loaded if c.name == "lathe").machine("lathe").flow_m3_s for one in (before, then)]
    assert (found.effect.before, found.effect.after) == pytest.approx(tuple(gained), rel=1e-9)
    assert found.effect.machine == "lathe" and found.effect.case == "lathe"


@pytest.mark.parametrize(("flow", "cured"), [("480 cfm", True), ("900 cfm", False)])
def test_a_machine_that_stays_short_is_not_cured(flow: str, cured: bool) -> None:
    (found,) = (one for one in ductcalc.check(shop("25 ft", flow=flow)).findings.all if one.rule == "long hose")
    then = ductcalc.check(shop("5 ft", flow=flow)).loaded
    assert found.effect.cured is cured is (next(c for c in then if c.name == "lathe").air != "short")


def long_hose_of(flow: str, named: dict[str, list[str]]) -> tuple[Findings, Finding]:
    told = ductcalc.check(shop("25 ft", flow=flow, gates={"sets": named})).findings
    return told, next(one for one in told.all if one.rule == "long hose")


@pytest.mark.parametrize(("flow", "spares"), [("400 cfm", True), ("600 cfm", False)])
def test_more_air_for_a_machine_that_has_enough_is_told_only_where_every_warning_is(flow: str, spares: bool) -> None:
    told, found = long_hose_of(flow, {})
    assert found.effect.before is not None and found.effect.wanted is not None
    assert found.spares is spares is (found.effect.before >= found.effect.wanted)
    assert (found not in told.handful) is spares


def test_a_machine_that_lacks_air_only_in_a_set_is_watched_there() -> None:
    told, found = long_hose_of("490 cfm", {"both": ["band saw", "lathe"]})
    alone = ductcalc.check(shop("25 ft", flow="490 cfm")).loaded
    assert next(c for c in alone if c.name == "lathe").air == "ok"
    assert found.effect.case == "both" and found in told.handful


def test_what_moves_every_figure_is_told_before_what_weighs_more() -> None:
    plastic = s.pipe("6 ft", "110 mm", style="plastic")
    told = [one for one in ductcalc.check(shop("40 ft", last=plastic)).findings.all if not one.caution]
    shares = {one.rule: one.effect.share for one in told}
    assert shares["outside diameter"] < shares["long hose"]
    assert told[0].rule == "outside diameter"


@pytest.mark.parametrize(("hose", "enough"), [("15 ft", True), ("40 ft", False)])
def test_it_weighs_by_the_share_of_the_wanted_air_or_of_what_it_gets_where_that_is_more(
    hose: str, enough: bool
) -> None:
    (found,) = (one for one in ductcalc.check(shop(hose=hose)).findings.all if one.rule == "long hose")
    before, after = found.effect.before, found.effect.after
    assert before is not None and after is not None
    assert (before > 480 * s.CFM) is enough
    assert found.effect.share == pytest.approx(abs(after - before) / max(480 * s.CFM, before), rel=1e-9)


def test_only_cases_asked_for_are_weighed() -> None:
    told = ductcalc.check(shop(), [Ask.machines("band saw")]).findings
    assert "long hose" not in [one.rule for one in told.all]


def test_what_is_switched_off_is_not_looked_for_and_named() -> None:
    plain = shop()
    off = replace(plain, settings=replace(plain.settings, findings=FindingSettings(("long hose",))))
    told = ductcalc.check(off).findings
    assert "long hose" not in [one.rule for one in told.all]
    assert told.switched_off == ("long hose",)


@pytest.mark.parametrize(("where", "seen"), [("drop", False), ("Lathe", False), ("trunk", True), ("band saw", True)])
def test_what_is_switched_off_at_one_run_or_machine_is_still_told_of_the_others(where: str, seen: bool) -> None:
    told = ductcalc.check(shop(findings={"off_at": {where: ["long hose"]}})).findings
    assert ("long hose" in [one.rule for one in told.all]) is seen
    assert [one.split(" at ")[0] for one in told.switched_off] == ["long hose"]


def test_a_symptom_is_not_told_beside_what_cures_it() -> None:
    alone = ductcalc.check(shop(findings={"off": ["long hose"]})).findings.all
    beside = ductcalc.check(shop()).findings.all
    assert "wide main" in [one.rule for one in alone]
    assert [one.rule for one in beside] == ["long hose"]


def test_a_changed_shop_that_fails_its_audit_gives_no_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*arguments: Any, **options: Any) -> Any:
        found = outcomes(*arguments, **options)
        return tuple(replace(one, status=np.full_like(one.status, NOT_CONVERGED)) for one in found)

    outcomes = weighing.outcomes
    monkeypatch.setattr(weighing, "outcomes", failing)
    (found,) = (one for one in ductcalc.check(shop()).findings.all if one.rule == "long hose")
    assert found.effect.after is None and found.effect.difference is None


def test_heavier_findings_stand_first_and_cautions_before_all() -> None:
    strict = shop(room={"exhaust": "outdoors", "heater": True}, gates={"leak": 0}, method={"flex_factor": 1.1})
    told = ductcalc.check(strict).findings.all
    assert told[0].rule == "heater" and told[0].caution
    shares = [one.effect.share for one in told[1:]]
    assert len(shares) > 1 and shares == sorted(shares, reverse=True)


def test_in_a_large_shop_what_is_not_weighed_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weighing, "NUMBERS_WEIGHED", 1)
    monkeypatch.setattr(weighing, "RULES", [rule for rule in weighing.RULES if rule.name == "long hose"])
    names = "abcdefg"
    meets = (row for name in names for row in (s.wye(name, "6 in"), s.pipe("2 ft")))
    rows = [
        *s.run("main", s.cap("6 in"), *meets, s.end()),
        *(row for name in names for row in s.run(name, s.port(name, "4 in"), s.hose("12 ft"), s.gate())),
    ]
    told = ductcalc.findings_of(ductcalc.shop_from_rows(duct=rows, collector=s.points(*s.STRONG)))
    assert (len(told.all), told.not_weighed) == (5, 2)


def test_a_shop_without_a_collector_has_no_findings() -> None:
    assert ductcalc.findings_of(replace(shop(), collectors=())).all == ()


def test_a_finding_without_a_change_still_says_whose_figure_it_tells() -> None:
    small = [s.port("sander", "2 in", "80 cfm"), s.hose("3 ft"), s.gate(), s.pipe("3 ft")]
    trunk = s.run("trunk", s.port("lathe", "6 in", "800 cfm"), s.gate(), s.pipe("9 ft"), s.wye("b", "6 in"))
    of = s.shop([*trunk, s.pipe("9 ft"), s.end()], s.run("b", *small))
    (found,) = (one for one in ductcalc.check(of).findings.all if one.rule == "wide main")
    effect = found.effect
    assert (effect.section, effect.case, effect.after, effect.wanted) == ("trunk 2", "sander", None, None)


def test_a_port_that_is_off_is_never_the_one_whose_air_is_told() -> None:
    trunk = s.run("trunk", s.port("saw", "4 in", k=1), s.gate(), s.wye("b + c", "6 in"), s.end())
    used = s.run("b", s.port("planer", "3 in", "200 cfm", k=1), s.gate())
    unused = s.run("c", s.port("planer", "6 in", "off"), s.gate())
    told = ductcalc.check(s.shop(trunk, used, unused), [Ask.machines("saw", "planer")]).findings.all
    (found,) = (one for one in told if one.rule == "no filter")
    assert (found.effect.machine, found.effect.run) != ("planer", "c")
    assert found.effect.wanted is not None and found.effect.wanted > 0.0
