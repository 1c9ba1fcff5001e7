"""The shopping and cutting list as a JSON document in SI units, and as CSV: a line for each item and length sold."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.parts.lengths import Lengths, Stick
from ductcalc.answers.parts.parts import Item, Parts, seldom_stocked
from ductcalc.answers.parts.uses import PartSource
from ductcalc.errors import Place
from ductcalc.report.columns import csv_of, ending
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.report.parts.words import NAMES, LotLine, lot_lines, rows_words
from ductcalc.shop.bore import height, width
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
        "joints": {"sealed": parts.sealed, "clamped": parts.clamped},
        "sleeves": [{"size_m": use.name.sizes_m[0], **_source(use.source)} for use in parts.sleeves],
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
        "widths_m": list(map(width, name.sizes_m)),
        "heights_m": list(map(height, name.sizes_m)),
        "angles_deg": list(name.angles_deg),
        "radius_over_diameter": name.radius,
        "make": name.make,
    }


def _item(item: Item) -> dict[str, Any]:
    return {
        **_name(item.name),
        **fields_of(item, "needed", "needed_m", "have", "buy", "cost", "assumed"),
        "machine_owned": item.owned,
        "seldom_stocked": seldom_stocked(item.name),
        "lots": [fields_of(lot, "count", "length_m", "price", "cost") for lot in item.lots],
        "rows": [_source(source) for source in item.sources],
    }


def _source(source: PartSource) -> dict[str, Any]:
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


def _needed(line: LotLine) -> Item | None:
    return line.item if line.first else None


def _name_columns(display: Display) -> Columns[PartName]:
    return (
        Column("part", lambda name: NAMES.get(name.kind, name.kind)),
        Column("style", lambda name: name.style),
        Column(f"size_{ending('size', display)}", lambda name: " x ".join(map(display.size_number, name.sizes_m))),
        Column("angle_deg", lambda name: " + ".join(f"{angle:g}" for angle in name.angles_deg)),
        Column("radius_over_diameter", lambda name: name.radius),
    )


NEEDS: Columns[Item] = (
    Column("needed", lambda item: item.needed),
    Column("needed_length", lambda item: item.needed_m, "length"),
    Column("have", lambda item: item.have),
)
BUYS: Columns[LotLine] = (
    Column("buy", lambda line: line.lot.count if line.lot else 0),
    Column("sold_length", lambda line: line.lot and line.lot.length_m, "length"),
    Column("price", lambda line: line.lot and line.lot.price),
    Column("cost", lambda line: line.lot and line.lot.cost),
    Column("assumed", lambda line: line.item.assumed),
    Column("rows", lambda line: _rows(line.item) if line.first else ""),
    Column("make", lambda line: line.item.name.make),
    Column("seldom_stocked", lambda line: seldom_stocked(line.item.name)),
)


def _rows(item: Item) -> str:
    return rows_words(item.sources, item.needed_m is None).replace("\u00a0", " ")


def parts_csv(parts: Parts, display: Display) -> str:
    """Return a line for each item; an item sold in two lengths has two, what it needs on the first.

    `needed` and `needed_length` add up over the rows of the duct table that `rows` names.
    """
    names = within(LotLine, lambda line: line.item.name, _name_columns(display))
    return csv_of((*names, *within(LotLine, _needed, NEEDS), *BUYS), lot_lines(parts.items), display)
