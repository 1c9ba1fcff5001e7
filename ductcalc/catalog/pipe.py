"""Straight pipe: roughness, joint leakage, sizes sold, and the air speed that keeps a material moving."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from math import isclose

from ductcalc.catalog.fact import Fact, fact, fact_rows, to_si
from ductcalc.catalog.words import default_style, known_style, style_key
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop

HOSE = "hose"
NAMED_WITHIN = 0.002
"""How far a written outside diameter may be off the table's: people write 4.22 in for 4.215."""


@cache
def roughness(style: str | None = None) -> Fact:
    """Return the absolute roughness [m] of a style of pipe; None is the default style.

    Raises InputError for an unknown style. Source: table `roughness`.
    """
    return fact("roughness", known_style("pipe", style))


@cache
def joint_leakage(style_or_class: str | None = None) -> Fact:
    """Return a leakage class (cfm per 100 ft2 of duct surface at 1 inch of water) by word or number.

    style_or_class: `sealed`, `taped`, `unsealed`, `none`, or a class such as `12`; None is the default.
    Raises InputError for anything else. Source: table `joint_leakage`.
    """
    number = _class_number(style_or_class)
    if number is None:
        return fact("joint_leakage", known_style("joints", style_or_class))
    return replace(fact("joint_leakage", "none"), value=number, low=number, high=number, note="as given")


@cache
def transport_speed(material: str | None = None) -> Fact:
    """Return the least air speed [m/s] that keeps a material moving at 1.2 kg/m3; None is the default.

    Raises InputError for an unknown material. Source: table `transport`.
    """
    return fact("transport", known_style("material", material))


@cache
def sizes_sold(make: str, unit: str | None = None) -> tuple[float, ...]:
    """Return the inside diameters [m] in which a make (a style of pipe, or `hose`) is sold, rising.

    unit: `in` or `mm` for sizes of that system only.
    """
    item = style_key("pipe", make) or make
    rows = fact_rows("sizes", item)
    return tuple(sorted({fact.value for row, fact in rows if row["kind"] == "size" and unit in (None, row["unit"])}))


def pipe_make(piece: Piece) -> str:
    """Return a pipe's make; a blank stands for the default one."""
    return piece.style or default_style("pipe") or ""


def sizes_for(shop: Shop, pieces: Iterable[Piece] = ()) -> tuple[float, ...]:
    """Return the bores [m] in which a shop may buy all pipe and hose among some pieces, rising.

    The shop's own list stands for every make. A make without a list in the shop's units is taken as sold in all sizes
    of the default make. Source: table `sizes`, rows of kind size.
    """
    if shop.settings.size.sizes_m:
        return shop.settings.size.sizes_m
    unit = "mm" if shop.system == "metric" else "in"
    makes = {pipe_make(piece) if piece.kind == "pipe" else HOSE for piece in pieces if piece.traits.has_length}
    common = sizes_sold(default_style("pipe") or "", unit)
    lists = [sizes_sold(make, unit) or common for make in sorted(makes)] or [common]
    return tuple(sorted(set(lists[0]).intersection(*lists[1:]))) or common


@cache
def lengths_sold(make: str, unit: str | None = None) -> tuple[float, ...]:
    """Return the lengths [m] in which a make (a style of pipe, or `hose`) is sold, rising; empty when none is known.

    unit: `ft` or `m` for lengths of that system only.
    """
    rows = fact_rows("sizes", style_key("pipe", make) or make)
    return tuple(sorted({fact.value for row, fact in rows if row["kind"] == "length" and unit in (None, row["unit"])}))


def inside_of(piece: Piece, bore_m: float) -> float | None:
    """Return the inside diameter [m] of a pipe in whose make a size [m] names the outside; None where it does not.

    Source: table `outside`.
    """
    rows = fact_rows("outside", pipe_make(piece)) if piece.kind == "pipe" else ()
    named = ((to_si(float(row["outside"]), row["unit"]), fact.value) for row, fact in rows)
    return next((inside for outside, inside in named if isclose(outside, bore_m, rel_tol=NAMED_WITHIN)), None)


SHEET = "26 gauge"


@cache
def pipe_weight(bore_m: float) -> float:
    """Return what spiral pipe of the usual sheet weighs [kg/m] at an inside diameter [m].

    Straight lines between the rows, carried on beyond the first and the last one. Source: table `sheet`.
    """
    rows = sorted((to_si(float(row["bore_in"]), "in"), fact.value) for row, fact in fact_rows("sheet", SHEET))
    after = min(max(sum(bore < bore_m for bore, _ in rows), 1), len(rows) - 1)
    (low, light), (high, heavy) = rows[after - 1], rows[after]
    return light + (heavy - light) * (bore_m - low) / (high - low)


def _class_number(text: str | None) -> float | None:
    digits = (text or "").strip()
    return float(digits) if digits.replace(".", "", 1).isdecimal() else None


def is_adapter(first_m: float, second_m: float) -> bool:
    """Tell whether two unlike bores [m] are one nominal size in two systems or makes.

    Source: table `parts`, adapter limit.
    """
    return abs(first_m - second_m) <= fact("parts", "adapter limit").value + 1e-9
