"""Pint quantities on request: any SI field of an answer whose name ends in its unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ductcalc import units

if TYPE_CHECKING:
    import pint

_ENDINGS: tuple[tuple[str, units.Dimension], ...] = (
    ("_m3_s", "flow"),
    ("_m_s", "speed"),
    ("_kg_m3", "density"),
    ("_pa_s", "viscosity"),
    ("_pa", "pressure"),
    ("_m2", "area"),
    ("_m", "length"),
    ("_k", "temperature"),
)


def quantity(answer: object, field: str) -> pint.Quantity[Any]:
    """Return a field of an answer, such as `flow_m3_s`, as a pint quantity.

    Raises AttributeError for a field that is not there, ValueError for one without a unit or a value.
    """
    value = getattr(answer, field)
    dimension = next((d for ending, d in _ENDINGS if field.endswith(ending)), None)
    if dimension is None or value is None:
        raise ValueError(f"{field} has no unit or no value")
    found: pint.Quantity[Any] = units.quantity(float(value), dimension)
    return found
