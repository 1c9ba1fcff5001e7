"""The golden gate reports and wall cards, and how to write them anew.

`python -m tests.report.gates_cases` writes them; read every difference before keeping it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from ductcalc.answers.gates.card import card
from ductcalc.answers.gates.gates import gates
from ductcalc.report.blocks import Block
from ductcalc.report.card_text import card_blocks
from ductcalc.report.display import Display
from ductcalc.report.gates_text import gates_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.shop import Shop
from ductcalc.tables import read_shop
from tests.report.golden_cases import SHOPS, WIDTHS, file_of

MAKERS: dict[str, Callable[[Shop, Display], Iterable[Block]]] = {
    "gates": lambda shop, display: gates_blocks(gates(shop), display),
    "card": lambda shop, display: card_blocks(card(shop), display),
}
NAMES = tuple((shop, command, width) for shop in ("cellar", "annex") for command in MAKERS for width in WIDTHS)


def report(shop: str, command: str, width: int | None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a report as it is now, in the shop's own units."""
    found = read_shop(SHOPS / shop)
    return rendered(MAKERS[command](found, Display(found.first_units)), Page(width, encoding, colour))


def written() -> Iterator[Path]:
    """Write every golden report anew."""
    for shop, command, width in NAMES:
        path = file_of(shop, command, width)
        path.write_text(report(shop, command, width), encoding="utf-8", newline="\n")
        yield path


if __name__ == "__main__":
    for path in written():
        print(path.name)
