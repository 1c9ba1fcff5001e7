"""What the wall card says of named sets."""

from __future__ import annotations

from ductcalc.answers.gates.card import card
from ductcalc.report.card import card_blocks
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from tests import scenes as s


def lines(*saw_rows: s.Row) -> list[str]:
    drop = s.run("drop", s.port("saw", "4 in", "300 cfm", k=1), *saw_rows, s.pipe("6 ft"))
    main = s.run("main", s.port("lathe", "4 in", k=1), s.gate(), s.pipe("6 ft"), s.wye("drop", "4 in"), s.end())
    shop = s.shop(main, drop, gates={"sets": {"standby": []}})
    shown = rendered(card_blocks(card(shop), Display("inch")), Page(None))
    return [line.strip() for line in shown.splitlines()]


def test_set_that_shuts_every_gate_is_not_allowed() -> None:
    (said,) = [line for line in lines(s.gate()) if line.startswith("standby")]
    assert "every gate shut" in said and "NOT ALLOWED" in said


def test_set_without_a_gate_to_open_is_judged_as_any_other_where_a_way_is_always_open() -> None:
    (said,) = [line for line in lines() if line.startswith("standby")]
    assert "every gate shut" not in said


def test_where_no_machine_may_run_the_card_begins_with_it() -> None:
    weak = s.points(("0 cfm", "0.2 inwg"), ("50 cfm", "0.1 inwg"), ("5000 cfm", "0 inwg"))
    rows = s.run("main", s.port("lathe", "4 in", "300 cfm", k=1), s.gate(), s.pipe("6 ft"), s.end())
    for table, none in ((weak, True), (s.BARE, False)):
        made = card(s.shop(rows, table=[*table, *s.NO_PARTS] if none else table))
        shown = rendered(card_blocks(made, Display("inch")), Page(None))
        assert ("NO MACHINE MAY RUN" in shown) is none
        assert (made.never_allowed == ("lathe",)) is none
