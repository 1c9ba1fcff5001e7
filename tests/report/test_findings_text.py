"""A handful of findings in a report, all of them when asked for."""

from __future__ import annotations

import pytest

from ductcalc.findings.finding import Effect, Finding, Findings
from ductcalc.findings.observation import Means
from ductcalc.findings.phrase import length, say
from ductcalc.report.display import Display
from ductcalc.report.findings import finding_words, findings_blocks, with_findings
from ductcalc.report.render import Page, rendered
from ductcalc.report.short import Typed, warning_lines


def finding(
    rule: str = "long hose", caution: bool = False, means: Means = "mends", **effect: object
) -> Finding:
    figures = {"measure": "air", "before": 0.1, "after": 0.12, "machine": "lathe", "case": "lathe", "wanted": 0.11}
    return Finding(
        rule, caution, "duct.csv", 8, None, "hose in drop", say("{} of hose", length(3.048)), say("cut the hose"),
        means, Effect(**{**figures, **effect}),  # type: ignore[arg-type]
    )  # fmt: skip


def text(findings: Findings, every: bool = False) -> str:
    blocks = findings_blocks(findings, Display("inch"), every)
    return rendered(blocks, Page(None, "utf-8", False)).replace("\u00a0", " ")


def test_a_finding_says_where_what_how_much_and_the_cure() -> None:
    _, said = text(Findings((finding(),))).strip().splitlines()
    told = ("LONG HOSE", "duct.csv row 8", "hose in drop", "10 ft", "254 cfm", "Cut the hose")
    places = [said.index(part) for part in told]
    assert places == sorted(places) and "233" in said


def told(means: Means = "mends", **effect: object) -> str:
    return finding_words(finding(means=means, **effect), Display("inch")).replace("\u00a0", " ")


@pytest.mark.parametrize(("cured", "made"), [(True, "Fixed, "), (False, "Better, but still short: ")])
def test_fixed_is_said_only_where_nobody_is_short_then(cured: bool, made: str) -> None:
    assert f"{made}the lathe would get 254 cfm (now 212, needs 233)." in told(cured=cured)


def test_what_is_not_counted_is_told_by_its_cost() -> None:
    said = told("counts", before=0.12, after=0.1)
    assert said.index("Not counted: it costs the lathe 42 cfm (212, not 254; needs 233).") < said.index("Cut the hose")


def test_another_reading_is_told_beside_the_one_that_counts() -> None:
    assert "Counted now: the lathe 212 cfm. Read the other way: 254 (needs 233)." in told("otherwise")


def test_a_handful_is_shown_and_the_rest_counted() -> None:
    some = Findings(tuple(finding() for _ in range(8)))
    said = text(some)
    assert said.count("LONG HOSE") == 5 and "3 more" in said and "--all-findings" in said
    assert text(some, every=True).count("LONG HOSE") == 8 and "--all-findings" not in text(some, every=True)


def test_a_short_report_has_three_warnings_and_the_count_of_the_others() -> None:
    some = Findings(tuple(finding() for _ in range(8)), not_weighed=2)
    short, whole = (rendered(warning_lines(some, Display("inch"), Typed(), every), Page()) for every in (False, True))
    assert short.count("Warning: ") == 3 and "7 more warnings: ductcalc check SHOP --full" in short
    assert whole.count("Warning: ") == 8 and "2 more warnings" in whole


def test_every_caution_is_shown_beside_the_others() -> None:
    many = Findings((*(finding("heater", caution=True) for _ in range(6)), finding(), finding()))
    said = text(many)
    assert said.count("CAUTION (heater)") == 6 and said.count("LONG HOSE") == 1
    assert "1 more" in said


def test_nothing_is_said_where_nothing_was_seen() -> None:
    assert text(Findings()) == ""


def test_a_speed_is_told_by_its_section() -> None:
    one = finding("wide main", measure="speed", before=10.16, after=20.32, machine=None, section="trunk 2", wanted=20.0)
    said = text(Findings((one,)))
    assert "trunk 2" in said and "4000" in said and "2000" in said


def test_without_an_answer_no_figure_is_told() -> None:
    said = text(Findings((finding(after=None),)))
    assert "no answer" in said and "cfm" not in said


def test_strict_raises_nought_to_one_and_changes_no_other_code() -> None:
    some = Findings((finding(),))
    told = [with_findings({"exit_code": code}, some, Display("inch"), strict=True) for code in (0, 1, 2, 3)]
    codes = [document["exit_code"] for document in told]
    assert codes == [1, 1, 2, 3]
    assert Findings().exit_code(0, strict=True) == 0 and some.exit_code(0, strict=False) == 0


def test_json_holds_every_finding_with_si_figures() -> None:
    document = with_findings({}, Findings(tuple(finding() for _ in range(8))), Display("metric"))
    assert len(document["findings"]) == 8
    assert document["findings"][0]["effect"] == {
        "measure": "air", "machine": "lathe", "run": None, "section": None, "case": "lathe", "share": 0.0,
        "before_m3_s": 0.1, "after_m3_s": 0.12, "wanted_m3_s": 0.11,
    }  # fmt: skip


def test_what_was_not_weighed_is_counted_and_said_to_be_so() -> None:
    assert "2 more seen and not weighed" in text(Findings((finding(),), not_weighed=2))
    assert "not weighed" not in text(Findings((finding(),)))
