"""Tables and settings as people write them, read into a checked shop; and a shop to begin with."""

from ductcalc.tables.machines import write_first_layout
from ductcalc.tables.reader import read_shop, shop_from_rows
from ductcalc.tables.stock import read_prices, read_stock
from ductcalc.tables.writing import write_starter

__all__ = ["read_prices", "read_shop", "read_stock", "shop_from_rows", "write_first_layout", "write_starter"]
