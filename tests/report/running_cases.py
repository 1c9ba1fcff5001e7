"""The golden running figures: one shop with all settings and a power curve, one with none, and how to write them anew.

`python -m tests.report.running_cases` writes them; read every difference before keeping it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ductcalc.answers.check import check
from ductcalc.answers.running import running
from ductcalc.report.check_text import check_blocks
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from ductcalc.report.running_text import running_blocks
from ductcalc.tables import read_shop
from tests.report.golden_cases import SHOPS, file_of

WIDTHS: tuple[int | None, ...] = (60, 80, None)
NAMES = tuple((shop, width) for shop in ("loft", "annex") for width in WIDTHS)


def report(shop: str, width: int | None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a verdict with running figures as text, in the shop's own units."""
    found = read_shop(SHOPS / shop)
    answer, display = check(found), Display(found.settings.units or found.first_units)
    extra = running_blocks(running(found, answer), display, answer.provisional)
    return rendered(check_blocks(answer, display, extra), Page(width, encoding, colour))


def written() -> Iterator[Path]:
    """Write every golden report anew."""
    for shop, width in NAMES:
        path = file_of(shop, "running", width)
        path.write_text(report(shop, width), encoding="utf-8", newline="\n")
        yield path


if __name__ == "__main__":
    for path in written():
        print(path.name)
