"""The golden comparisons, and how to write them anew.

`python -m tests.report.compare_cases` writes them; read every difference before keeping it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ductcalc.answers.compare import Comparison, compare
from ductcalc.report.compare_text import compare_blocks
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from ductcalc.shop.change import changed
from ductcalc.tables import read_shop
from ductcalc.tables.what_if import read_changes
from tests.report.golden_cases import SHOPS, WIDTHS, file_of

WHAT_IFS = {
    "cellar": ["planer drop: flex length = 3 ft", "main: pipe 2 size = 6 in"],
    "annex": ["Rohr: pipe 2 size = 150 mm"],
}
NAMES = tuple((shop, width) for shop in WHAT_IFS for width in WIDTHS)


def comparison(shop: str) -> Comparison:
    """Return a shop against itself changed; the annex also against another collector."""
    found = read_shop(SHOPS / shop)
    others = [changed(found, read_changes(found, WHAT_IFS[shop]))]
    if shop == "annex":
        others.append(read_shop(SHOPS / shop, SHOPS / "cellar" / "collector.csv"))
    return compare(found, others)


def report(shop: str, width: int | None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a comparison as it is now, in the shop's own units."""
    answer = comparison(shop)
    system = read_shop(SHOPS / shop).first_units
    return rendered(compare_blocks(answer, Display(system)), Page(width, encoding, colour))


def written() -> Iterator[Path]:
    """Write every golden comparison anew."""
    for shop, width in NAMES:
        path = file_of(shop, "compare", width)
        path.write_text(report(shop, width), encoding="utf-8", newline="\n")
        yield path


if __name__ == "__main__":
    for path in written():
        print(path.name)
