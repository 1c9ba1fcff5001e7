"""The golden sizing reports, and how to write them anew.

`python -m tests.report.size_cases` writes them; read every difference before keeping it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path

from ductcalc.answers.size.drop import size_drop
from ductcalc.answers.size.sizing import Sizing, size
from ductcalc.report.blocks import Block
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from ductcalc.report.size_text import drop_blocks, size_blocks
from ductcalc.shop import Shop
from ductcalc.tables import read_shop
from tests.report.golden_cases import SHOPS, file_of

WIDTHS: tuple[int | None, ...] = (60, 80)
MAKERS: dict[str, Callable[[str, Display], Iterable[Block]]] = {
    "size": lambda name, display: size_blocks(sizing(name), display),
    "drop": lambda name, display: drop_blocks(size_drop(shop_of(name), shop_of(name).runs[0].name), display),
}
NAMES = tuple((shop, command, width) for shop in ("cellar", "annex") for command in MAKERS for width in WIDTHS)


@cache
def shop_of(name: str) -> Shop:
    """Return a shop, read once."""
    return read_shop(SHOPS / name)


@cache
def sizing(name: str) -> Sizing:
    """Return a shop's sizes, searched once for all widths."""
    return size(shop_of(name))


def report(shop: str, command: str, width: int | None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a report as it is now, in the shop's own units."""
    blocks = MAKERS[command](shop, Display(shop_of(shop).first_units))
    return rendered(blocks, Page(width, encoding, colour))


def written() -> Iterator[Path]:
    """Write every golden report anew."""
    for shop, command, width in NAMES:
        path = file_of(shop, command, width)
        path.write_text(report(shop, command, width), encoding="utf-8", newline="\n")
        yield path


if __name__ == "__main__":
    for path in written():
        print(path.name)
