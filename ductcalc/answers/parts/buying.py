"""How parts are bought in this shop: rules, lengths sold, which parts are the same, what lies around, prices."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ductcalc.catalog import HOSE, default_style, fact, lengths_sold
from ductcalc.shop.bore import sides
from ductcalc.shop.names import key_of
from ductcalc.shop.parts import ANY_MAKE, PartName, Price, StockPart
from ductcalc.shop.shop import Shop

PartKey = tuple[str, str, tuple[int, ...], tuple[float, ...], float | None, str]

TENTHS_OF_A_MILLIMETRE = 10_000
SAME_LENGTH_M = 0.0005


@dataclass(frozen=True)
class Rules:
    """Lengths in [m]; `defaulted` names those that no setting says.

    adapter_limit_m: ends that differ by no more get an adapter instead of a reducer.
    """

    kerf_m: float
    hanger_spacing_m: float
    sealant_yield_m: float
    keep_m: float
    adapter_limit_m: float
    defaulted: frozenset[str]


@dataclass(frozen=True)
class Sold:
    """Lengths sold [m], rising. taken_from: the make whose lengths stand in for one of which none are known."""

    lengths_m: tuple[float, ...]
    written: bool
    taken_from: str | None = None


def rules_of(shop: Shop) -> Rules:
    """Return the rules of a shop. Source of the defaults: table `parts`."""
    said = shop.settings.parts
    written = {
        "kerf": said.kerf_m,
        "hanger spacing": said.hanger_spacing_m,
        "sealant yield": said.sealant_yield_m,
        "keep": said.keep_m,
    }
    own = ("hanger spacing", "keep") if shop.system == "metric" else ()
    found = {
        key: fact("parts", f"{key} metric" if key in own else key).value if value is None else value
        for key, value in written.items()
    }
    return Rules(
        kerf_m=found["kerf"],
        hanger_spacing_m=found["hanger spacing"],
        sealant_yield_m=found["sealant yield"],
        keep_m=found["keep"],
        adapter_limit_m=fact("parts", "adapter limit").value,
        defaulted=frozenset(key for key, value in written.items() if value is None),
    )


def sticks_of(make: str, shop: Shop) -> Sold:
    """Return the lengths in which a make of pipe is sold: those written, those of its own, those of the default make.

    Source: table `sizes`, rows of kind length, in the shop's own units where there are any.
    """
    said = shop.settings.parts.sticks_m
    written = said.get(make) or said.get(ANY_MAKE)
    if written:
        return Sold(tuple(sorted(written)), True)
    own = _known(make, shop)
    if own:
        return Sold(own, False)
    other = default_style("pipe") or ""
    return Sold(_known(other, shop), False, other)


def hoses_of(shop: Shop) -> Sold:
    """Return the lengths in which hose is sold."""
    written = shop.settings.parts.hose_m
    return Sold(tuple(sorted(written)), True) if written else Sold(_known(HOSE, shop), False)


def _known(make: str, shop: Shop) -> tuple[float, ...]:
    unit = "m" if shop.system == "metric" else "ft"
    return lengths_sold(make, unit) or lengths_sold(make)


def _tenths(length_m: float) -> int:
    return round(length_m * TENTHS_OF_A_MILLIMETRE)


def key_of_part(name: PartName) -> PartKey:
    """Return the form in which parts are compared: sizes to a tenth of a millimetre."""
    angles = tuple(round(angle, 3) for angle in name.angles_deg)
    ends = tuple(_tenths(length) for size in name.sizes_m for length in sides(size) or (size,))
    return name.kind, key_of(name.style or ""), ends, angles, name.radius, key_of(name.make or "")


class Bag:
    """What lies around, taken out part by part."""

    def __init__(self, have: Iterable[StockPart]) -> None:
        """Start with everything that lies around."""
        self._parts = list(have)

    @property
    def left(self) -> tuple[StockPart, ...]:
        """What is still there, in the order given; what was one line is one line."""
        order = sorted(self._parts, key=lambda part: (part.place.row or 0) if part.place else 0)
        return tuple(part for part in order if part.count)

    def take(self, name: PartName, count: int) -> int:
        """Take up to so many of a part, what lies around without a make too; return how many there were."""
        key, taken = key_of_part(name), 0
        any_make = key_of_part(name._replace(make=None))
        for number, part in enumerate(self._parts):
            if key_of_part(part.name) in (key, any_make):
                here = min(part.count, count - taken)
                self._parts[number] = replace(part, count=part.count - here)
                taken += here
        return taken

    def take_all(self, name: PartName) -> list[StockPart]:
        """Take everything of one make and size."""
        key = key_of_part(name)
        found = [part for part in self._parts if key_of_part(part.name) == key]
        self._parts = [part for part in self._parts if key_of_part(part.name) != key]
        return found

    def give_back(self, parts: Iterable[StockPart]) -> None:
        """Put back what was not used."""
        self._parts += parts


def price_of(name: PartName, length_m: float | None, prices: Sequence[Price]) -> float | None:
    """Return the price of a part: the one that says most about it, of several the last; None when none fits."""
    best, said = None, -1
    for price in prices:
        if _fits(price, name, length_m) and _says(price) >= said:
            best, said = price.price, _says(price)
    return best


def _fits(price: Price, name: PartName, length_m: float | None) -> bool:
    wanted, part = key_of_part(price.name), key_of_part(name)
    open_ended = ("", (), None)
    same = all(said in open_ended or said == is_ for said, is_ in zip(wanted, part, strict=True))
    fits_length = price.length_m is None or (length_m is not None and abs(price.length_m - length_m) < SAME_LENGTH_M)
    return same and fits_length


def _says(price: Price) -> int:
    name = price.name
    return sum(map(bool, (name.style, name.sizes_m, name.angles_deg, name.radius, name.make, price.length_m)))
