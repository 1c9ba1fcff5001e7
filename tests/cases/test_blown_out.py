"""Air that a machine's own blower would push out of another machine: no figures, and the machine is named."""

from __future__ import annotations

import ductcalc
from ductcalc import Ask
from ductcalc.answers.check import Check
from ductcalc.report.display import Display
from ductcalc.shop import Shop
from tests.scenes import NO_PARTS, end, gate, pipe, points, port, run, shop, wye

WEAK = points(("0 cfm", "6 inwg"), ("300 cfm", "5 inwg"), ("600 cfm", "3 inwg"), ("3000 cfm", "0 inwg"))
INCH = Display("inch")


def pushing(pascal: float = 2500.0, **settings: object) -> Shop:
    """A planer that pushes into a long main, and a saw beside it."""
    return shop(
        run("main", port("planer", "6 in", k=1), gate(), pipe("10 ft"), wye("drop", "6 in"), pipe("40 ft"), end()),
        run("drop", port("saw", "4 in", flow="350 cfm", k=1.5), gate(), pipe("6 ft")),
        table=[*WEAK, *NO_PARTS],
        machines={"planer": {"own_blower": f"{pascal} Pa"}},
        **settings,
    )


def both(made: Shop) -> Check:
    return ductcalc.check(made, [Ask.everything()])
