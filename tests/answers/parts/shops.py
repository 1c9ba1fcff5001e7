"""An invented barn that has one of everything, and what lies around in it."""

from __future__ import annotations

import csv
from io import StringIO

import ductcalc
from ductcalc.shop import Shop
from tests.scenes import SHOPS

STOCK, PRICES = ((SHOPS / "barn" / f"{name}.csv").read_text(encoding="utf-8") for name in ("stock", "prices"))


def barn(**settings: object) -> Shop:
    rows = rows_of((SHOPS / "barn" / "duct.csv").read_text(encoding="utf-8"))
    return ductcalc.shop_from_rows(rows, settings=settings, name="barn")


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(text), strict=True))
