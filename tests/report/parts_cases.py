"""The golden shopping and cutting lists, and how to write them anew.

`python -m tests.report.parts_cases` writes them; read every difference before keeping it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ductcalc.answers.parts.parts import Parts, parts
from ductcalc.report.display import Display
from ductcalc.report.parts.text import parts_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.tables import read_prices, read_shop, read_stock
from tests.answers.parts.shops import PRICES, STOCK, barn, rows_of
from tests.report.golden_cases import file_of

EXAMPLES = Path(__file__).parents[2] / "examples"
SHOPS = ("creamery", "joinery-class", "one-machine", "barn")
WIDTHS: tuple[int | None, ...] = (60, 80, None)
NAMES = tuple((shop, width) for shop in SHOPS for width in WIDTHS)


def answer_of(shop: str) -> Parts:
    """Return a list as it is now; that of the barn with what lies around and with prices."""
    if shop != "barn":
        return parts(read_shop(EXAMPLES / shop))
    return parts(barn(), read_stock(rows_of(STOCK)), read_prices(rows_of(PRICES)))


def report(shop: str, width: int | None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a list as text, in the shop's own units."""
    answer = answer_of(shop)
    return rendered(parts_blocks(answer, Display(answer.units)), Page(width, encoding, colour))


def written() -> Iterator[Path]:
    """Write every golden list anew."""
    for shop, width in NAMES:
        path = file_of(shop, "parts", width)
        path.write_text(report(shop, width), encoding="utf-8", newline="\n")
        yield path


if __name__ == "__main__":
    for path in written():
        print(path.name)
