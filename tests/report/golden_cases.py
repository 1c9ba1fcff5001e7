"""The golden reports: which command of which shop at which width, and how to write them anew.

`python -m tests.report.golden_cases` writes them; read every difference before keeping it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from ductcalc.answers.check import check
from ductcalc.answers.layout import layout
from ductcalc.answers.losses import losses
from ductcalc.report.blocks import Block
from ductcalc.report.check_text import check_blocks
from ductcalc.report.display import Display
from ductcalc.report.losses_text import losses_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.report.tree_text import tree_blocks
from ductcalc.shop import Shop
from ductcalc.tables import read_shop

HERE = Path(__file__).parent
SHOPS = HERE / "shops"
GOLDEN = HERE / "golden"
WIDTHS: tuple[int | None, ...] = (60, 80, 120, None)
MAKERS: dict[str, Callable[[Shop, Display], Iterable[Block]]] = {
    "check": lambda shop, display: check_blocks(check(shop), display),
    "losses": lambda shop, display: losses_blocks(losses(shop), display),
    "tree": lambda shop, display: tree_blocks(layout(shop), display),
}
NAMES = tuple((shop, command, width) for shop in ("cellar", "annex") for command in MAKERS for width in WIDTHS)


def file_of(shop: str, command: str, width: int | None) -> Path:
    """Return the golden file of a report."""
    return GOLDEN / f"{shop}-{command}-{width or 'piped'}.txt"


def report(shop: str, command: str, width: int | None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a report as it is now, in the shop's own units."""
    found = read_shop(SHOPS / shop)
    return rendered(MAKERS[command](found, Display(found.first_units)), Page(width, encoding, colour))


def written() -> Iterator[Path]:
    """Write every golden report anew."""
    GOLDEN.mkdir(exist_ok=True)
    for shop, command, width in NAMES:
        path = file_of(shop, command, width)
        path.write_text(report(shop, command, width), encoding="utf-8", newline="\n")
        yield path


if __name__ == "__main__":
    for path in written():
        print(path.name)
