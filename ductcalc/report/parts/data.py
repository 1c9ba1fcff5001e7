"""The shopping and cutting list as a JSON document in SI units, and as CSV: a line for each item and length sold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.parts.lengths import Lengths, Stick
from ductcalc.answers.parts.parts import Item, Parts
from ductcalc.answers.parts.uses import Source
from ductcalc.errors import Place
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.report.parts.words import NAMES, rows_words
from ductcalc.shop.parts import PartName, StockPart


def parts_document(parts: Parts) -> dict[str, Any]:
    """Return the list as nested plain values; counts and lengths of an item's rows add up to what it needs."""
    return {
        **PROGRAM,
        "shop": parts.shop,
        "changes": list(parts.changes),
        "total": parts.total if parts.priced else None,
        "items_without_price": len(parts.unpriced) if parts.priced else None,
        "items": [_item(item) for item in parts.items],
        "cut_plans": [_plan(plan) for plan in parts.plans],
        "unused": [_stock(part) for part in parts.unused],
        "not_bought": [_source(source) for source in parts.not_bought],
        "rules": {
            **fields_of(parts.rules, "kerf_m", "hanger_spacing_m", "sealant_yield_m", "keep_m", "adapter_limit_m"),
            "defaulted": sorted(parts.rules.defaulted),
        },
        "remarks": list(parts.remarks),
    }


def _name(name: PartName) -> dict[str, Any]:
    return {
        "part": name.kind,
        "style": name.style,
        "sizes_m": list(name.sizes_m),
        "angles_deg": list(name.angles_deg),
        "radius_over_diameter": name.radius,
    }


def _item(item: Item) -> dict[str, Any]:
    return {
        **_name(item.name),
        **fields_of(item, "needed", "needed_m", "have", "buy", "cost", "assumed"),
        "machine_owned": item.owned,
        "lots": [fields_of(lot, "count", "length_m", "price", "cost") for lot in item.lots],
        "rows": [_source(source) for source in item.sources],
    }


def _source(source: Source) -> dict[str, Any]:
    return {"run": source.run, **_place(source.place), **fields_of(source, "count", "length_m")}


def _place(place: Place | None) -> dict[str, Any]:
    return {"file": place.file if place else None, "row": place.row if place else None}


def _plan(plan: Lengths) -> dict[str, Any]:
    return {
        **_name(plan.name),
        **fields_of(plan, "needed_m", "waste_m", "kerf_m", "proven"),
        "bought_sticks": len(plan.bought),
        "bought_m": sum(stick.length_m for stick in plan.bought),
        "bought_sticks_at_least": plan.at_least,
        "bought_at_least_m": plan.at_least_m,
        "bought_sticks_without_kerf": plan.bought_without_kerf,
        "sold_m": list(plan.sold.lengths_m),
        "sold_as_written": plan.sold.written,
        "sold_taken_from": plan.sold.taken_from,
        "sticks": [_stick(stick) for stick in plan.sticks],
        "joined": [{**_source(joined.source), "parts_m": list(joined.parts_m)} for joined in plan.joined],
    }


def _stick(stick: Stick) -> dict[str, Any]:
    cuts = [{"length_m": cut.length_m, "run": cut.run, **_place(cut.place)} for cut in stick.cuts]
    return {**fields_of(stick, "length_m", "bought", "left_m"), "cuts": cuts}


def _stock(part: StockPart) -> dict[str, Any]:
    return {**_name(part.name), **fields_of(part, "count", "length_m"), **_place(part.place)}


def parts_csv(parts: Parts, display: Display) -> str:
    """Return a line for each item; an item sold in two lengths has two, what it needs on the first.

    `needed` and `needed_length` add up over the rows of the duct table that `rows` names.
    """
    size, length = ending("size", display), ending("length", display)
    columns = (
        "part",
        "style",
        f"size_{size}",
        "angle_deg",
        "radius_over_diameter",
        "needed",
        f"needed_length_{length}",
        "have",
        "buy",
        f"sold_length_{length}",
        "price",
        "cost",
        "assumed",
        "rows",
    )
    return csv_text(columns, (row for item in parts.items for row in _lines(item, display)))


def _lines(item: Item, display: Display) -> Iterator[list[Any]]:
    name = item.name
    label = [
        NAMES.get(name.kind, name.kind),
        name.style,
        " x ".join(display.size_number(size) for size in name.sizes_m),
        " + ".join(f"{angle:g}" for angle in name.angles_deg),
        name.radius,
    ]
    needs: list[Any] = [item.needed, shown(item.needed_m, "length", display), item.have]
    rows = rows_words(item.sources, item.needed_m is None).replace("\u00a0", " ")
    if not item.lots:
        yield [*label, *needs, 0, None, None, None, item.assumed, rows]
    for lot in item.lots:
        sold = shown(lot.length_m, "length", display)
        yield [*label, *needs, lot.count, sold, lot.price, lot.cost, item.assumed, rows]
        needs, rows = [None, None, None], ""
