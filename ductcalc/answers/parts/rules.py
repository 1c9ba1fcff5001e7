"""How parts are bought and cut in this shop: as its settings say, else by the documented defaults."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.answers.parts.uses import HOSE
from ductcalc.catalog import default_style, fact, lengths_sold
from ductcalc.shop.parts import ANY_MAKE
from ductcalc.shop.shop import Shop


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
    said, metric = shop.settings.parts, shop.system == "metric"
    ending = " metric" if metric else ""
    written = {
        "kerf": said.kerf_m,
        "hanger spacing": said.hanger_spacing_m,
        "sealant yield": said.sealant_yield_m,
        "keep": said.keep_m,
    }
    default = {
        "kerf": "kerf",
        "hanger spacing": f"hanger spacing{ending}",
        "sealant yield": "sealant yield",
        "keep": f"keep{ending}",
    }
    found = {key: fact("parts", default[key]).value if value is None else value for key, value in written.items()}
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
