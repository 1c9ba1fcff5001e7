"""Every rule looks at shops of every kind without stumbling, and what it sees has a place, a name and words."""

from __future__ import annotations

import pytest

from ductcalc.findings.rules import RULES
from ductcalc.findings.weighing import findings_of
from ductcalc.report.display import Display
from ductcalc.report.findings import finding_words
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import subject

DROP = [s.hose("9 ft", 2), s.gate(), s.pipe("6 ft", rise="6 ft")]
ADVERTISED = [s.rated("advertised", "1000 cfm", "10 inwg")]
ENDS_EARLY = [*s.points(("0 cfm", "3 inwg"), ("10 cfm", "2.9 inwg")), *s.NO_PARTS]


def benches(count: int, **settings: object) -> Shop:
    names = [f"bench {number}" for number in range(1, count + 1)]
    behind = [s.pipe("3 ft", "4 in"), s.pipe("1 ft", "5 in")]
    wyes = [row for name in names for row in (s.wye(name, "5 in", angle="90"), *behind)]
    return s.shop(
        s.run("main", s.cap("5 in"), *wyes, s.elbow(), s.end()),
        s.run(names[0], s.port(names[0], "2.5 in", k=0), *DROP),
        *(s.run(name, s.piece("like", machine=name, joins=names[0])) for name in names[1:]),
        **settings,
    )


def head(*rows_: s.Row, table: list[s.Row] | None = None) -> Shop:
    return s.shop(s.run("trunk", *rows_, s.end()), table=s.BARE if table is None else table)


SHOPS = {
    "one machine": head(s.port("saw", "4 in"), *DROP),
    "nothing but a port": head(s.port("saw", "4 in")),
    "one machine on two ends of a curve": head(s.port("saw", "4 in"), *DROP, table=ADVERTISED),
    "no answer": head(s.port("saw", "4 in"), *DROP, table=ENDS_EARLY),
    "a blank flow": head(s.port("saw", "4 in", None), *DROP),
    "shared hose": head(s.port("saw", "4 in", k=0), s.port("lathe", "4 in", k=0), s.port("mill", "4 in"), *DROP),
    "ten alike": benches(10),
    "ten alike, all open": benches(10, gates={"sets": {"all": [f"bench {n}" for n in range(1, 11)]}}),
    "double wyes and caps": s.shop(
        s.run("main", s.cap("6 in"), s.wye("a + b", "4 in", angle="90 + 30"), s.pipe("3 ft"), s.wye("cap", "6 in"),
              s.reducer("5 in"), s.wye("c", "5 in"), s.end()),
        s.run("a", s.port("saw", "5 in"), *DROP),
        s.run("b", s.port("saw", "2.5 in"), s.hose("3 ft", size="3 in")),
        s.run("c", s.port("lathe", "4 in", "off"), *DROP),
    ),
    "outlet duct": s.shop(
        s.run("trunk", s.port("saw", "4 in"), *DROP, s.elbow(), s.end()),
        s.run("outside", s.end("6 in"), s.pipe("6 ft", rise="6 ft"), s.pipe("3 ft"), s.elbow(), s.elbow()),
    ),
    "no length": head(s.port("saw", "4 in"), s.hose("0 ft"), s.pipe("0 ft"), s.gate()),
}  # fmt: skip


@pytest.mark.parametrize("name", SHOPS)
@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_rule_looks_without_stumbling(name: str, rule: object) -> None:
    look = next(one.look for one in RULES if one is rule)
    for observation in look(subject(SHOPS[name])):
        assert observation.name
        assert observation.what and observation.cure
        assert observation.place is None or observation.place.file


@pytest.mark.parametrize("name", SHOPS)
def test_findings_are_few_words_with_a_full_stop(name: str) -> None:
    for found in findings_of(SHOPS[name]).all:
        words = finding_words(found, Display("inch"))
        assert words[0].isupper() or words[0].isdigit()
        assert words[-1] in ".?"
        assert ".." not in words and "  " not in words


def test_ten_alike_benches_are_one_finding_of_each_kind() -> None:
    rules = [found.rule for found in findings_of(benches(10)).all]
    assert rules.count("long hose") <= 1
    assert rules.count("small port") == 1
    assert rules.count("port not counted") == 1


def test_case_without_an_answer_gives_no_figure() -> None:
    found = findings_of(SHOPS["no answer"]).all
    assert "long hose" in [one.rule for one in found]
    assert {one.effect.before for one in found} == {None}
