"""Tables and settings as people write them, read into a checked shop; and a shop to begin with."""

from ductcalc.tables.reader import read_shop, shop_from_rows

__all__ = ["read_shop", "shop_from_rows"]
