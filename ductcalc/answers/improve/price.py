"""What a change costs: the parts of the changed shop that do not hang there already, at the prices given."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.improve.candidate import Kind
from ductcalc.answers.improve.gain import Price
from ductcalc.answers.parts.parts import Parts, parts
from ductcalc.shop.parts import Price as PartPrice
from ductcalc.shop.parts import StockPart
from ductcalc.shop.shop import Shop

NO_PARTS: tuple[Kind, ...] = (
    "bigger port",
    "second port",
    "wider throat",
    "second opening",
    "smoother hood",
    "tight gates",
    "sealed joints",
    "outdoors",
    "faster blower",
)
"""Changes that take something beside parts of the ducts."""


def hanging_now(shop: Shop) -> tuple[StockPart, ...]:
    """Return all that hangs in a shop as parts that lie around: pipe and hose as it was cut, the rest counted."""
    return tuple(_as_stock(parts(shop)))


def _as_stock(listed: Parts) -> Iterator[StockPart]:
    for item in listed.items:
        if not item.name.by_length:
            yield StockPart(item.name, item.needed)
    for plan in listed.plans:
        yield from (StockPart(plan.name, 1, cut.length_m) for stick in plan.sticks for cut in stick.cuts)


def price_of_change(shop: Shop, kinds: Sequence[Kind], now: Sequence[StockPart], prices: Sequence[PartPrice]) -> Price:
    """Return what a changed shop takes beyond what hangs already; kinds: those of its changes. Work is not in it."""
    listed = parts(shop, now, prices)
    return Price(listed.total, len(listed.unpriced), any(kind in NO_PARTS for kind in kinds))
