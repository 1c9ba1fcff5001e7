"""Tables and settings as people write them, read into a checked shop; and a shop to begin with."""

from ductcalc.tables.reader import read_shop, shop_from_rows
from ductcalc.tables.starter import write_starter
from ductcalc.tables.stock import read_prices, read_stock

__all__ = ["read_prices", "read_shop", "read_stock", "shop_from_rows", "write_starter"]
