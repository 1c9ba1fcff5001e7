"""What the branch loss report says beside its rows."""

from __future__ import annotations

import re

import ductcalc
from ductcalc.answers.losses import Losses
from ductcalc.report.blocks import Grid, Paragraph, plain
from ductcalc.report.display import Display
from ductcalc.report.losses import losses_blocks, short_losses
from ductcalc.report.short import Typed
from tests.scenes import end, gate, hose, pipe, port, run, shop, tight, wye

METRIC = Display("metric")


def sentences(found: Losses) -> list[str]:
    blocks = losses_blocks(found, METRIC)
    return [plain(block.words).replace("\u00a0", " ") for block in blocks if isinstance(block, Paragraph)]


def saw(**settings: object) -> Losses:
    """A saw with a wide port that is short and a narrow one that has more than it wants."""
    made = tight(
        run("low", port("saw", "4 in", flow="850 cfm", k=1), gate(), wye("high", "5 in"), pipe("9 ft"), end()),
        run("high", port("saw", "3 in", flow="50 cfm", k=3), gate()),
        **settings,
    )
    return ductcalc.losses(made, machine="saw")


def test_a_machine_with_two_ports_is_told_with_the_air_of_the_port_and_of_both() -> None:
    found = saw()
    port_, machine = found.port, found.answer
    assert len(machine.ports) == 2
    assert machine.flow_m3_s > machine.wanted_m3_s and port_.flow_m3_s < port_.wanted_m3_s
    own, both = f"{port_.flow_m3_s * 3600:.0f} of 1444 m3/h", f"{machine.flow_m3_s * 3600:.0f} of 1529 m3/h"
    said = sentences(found)[1]
    assert said.index("low") < said.index(own) < said.index("just short") < said.index("2 ports") < said.index(both)


def test_the_headline_says_what_the_machines_own_blower_gives() -> None:
    said = sentences(saw(machines={"saw": {"own_blower": "300 Pa"}}))[0]
    assert "own blower" in said and "300 Pa" in said
    assert "own blower" not in sentences(saw())[0]


def test_the_kinds_end_in_what_the_blower_gives() -> None:
    settings = {
        "collector": {"curve": "inlet suction", "test_pipe": "6 in"},
        "machines": {"saw": {"own_blower": "90 Pa"}},
    }
    found = saw(**settings)
    short = " ".join(
        plain(block.words) for block in short_losses(found, METRIC, Typed()) if isinstance(block, Paragraph)
    )
    *_, kinds = (block for block in losses_blocks(found, METRIC) if isinstance(block, Grid))
    last = [(plain(row[0]), int(plain(row[1]))) for row in kinds.rows[-4:]]
    names, (way, own, vp, blower) = zip(*last, strict=True)
    assert names == ("all of the way", "its own blower", "VP in the curve", "blower (inlet suction)")
    assert (own, vp > 0) == (-90, True)
    assert abs(way + own + vp - blower) <= 2
    assert re.search(rf"{way}; .*own blower {own}, .*{vp}, .*{blower}\.", short)


def warned(machine: str) -> str:
    """Two machines, of which the lathe is short behind a long hose."""
    duct = shop(
        run("main", port("saw", "4 in", flow="300 cfm"), gate(), wye("far", "5 in"), pipe("5 ft"), end()),
        run("far", port("lathe", "4 in", flow="600 cfm"), hose("20 ft", 2), gate()),
    )
    blocks = short_losses(ductcalc.losses(duct, machine=machine), Display("inch"), Typed())
    return " ".join(plain(block.words) for block in blocks if isinstance(block, Paragraph))


def test_a_bill_warns_of_its_own_way_alone() -> None:
    assert "20 ft of hose" in warned("lathe").replace("\u00a0", " ")
    assert "hose" not in warned("saw").partition("Warning")[2]


def test_a_stream_that_a_faster_one_drags_along_is_said_to_gain_and_no_other() -> None:
    found = tight(
        run("main", port("planer", "4 in", k=0.5), gate(), wye("drop", "4 in"), pipe("9 ft"), end()),
        run("drop", port("lathe", "4 in", k=40), gate()),
    )
    both = ductcalc.Ask.machines("planer", "lathe")
    slow, fast = (ductcalc.losses(found, both, machine=name) for name in ("lathe", "planer"))
    assert min(row.loss_pa for row in slow.rows if row.group == "wye") < 0.0
    assert any(said.endswith("a faster stream drags this slower one along.") for said in sentences(slow))
    assert not any("slower one" in said for said in sentences(fast))
