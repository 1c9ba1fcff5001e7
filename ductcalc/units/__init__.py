"""Units and numbers as people write them: the number grammar, the closed list of units, display and pint."""

from ductcalc.errors import UnreadableError
from ductcalc.units.closed_list import UNITS, Dimension, Unit, quantity, units_of
from ductcalc.units.display import to_display
from ductcalc.units.reading import Quantity, header_unit, parse, parse_number, read, system_of
from ductcalc.units.wording import is_unseen, quoted, spelled, visible

__all__ = [
    "UNITS",
    "Dimension",
    "Quantity",
    "Unit",
    "UnreadableError",
    "header_unit",
    "is_unseen",
    "parse",
    "parse_number",
    "quantity",
    "quoted",
    "read",
    "spelled",
    "system_of",
    "to_display",
    "units_of",
    "visible",
]
