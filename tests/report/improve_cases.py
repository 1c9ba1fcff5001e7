"""The golden reports of what to change first, and how to write them anew.

`python -m tests.report.improve_cases` writes them; read every difference before keeping it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

from ductcalc.answers.improve.improve import Improve, improve
from ductcalc.report.display import Display
from ductcalc.report.improve_text import improve_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.tables import read_shop
from tests.report.golden_cases import SHOPS, WIDTHS, file_of

NAMES = tuple((shop, width) for shop in ("cellar", "annex") for width in WIDTHS)


@cache
def answer(shop: str) -> Improve:
    """Return what to change first in a shop; in the cellar for a set."""
    return improve(read_shop(SHOPS / shop), set_name="ripping" if shop == "cellar" else None)


def report(shop: str, width: int | None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a report as it is now, in the shop's own units."""
    system = read_shop(SHOPS / shop).first_units
    return rendered(improve_blocks(answer(shop), Display(system)), Page(width, encoding, colour))


def written() -> Iterator[Path]:
    """Write every golden report anew."""
    for shop, width in NAMES:
        path = file_of(shop, "improve", width)
        path.write_text(report(shop, width), encoding="utf-8", newline="\n")
        yield path


if __name__ == "__main__":
    for path in written():
        print(path.name)
