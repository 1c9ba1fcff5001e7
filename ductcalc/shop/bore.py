"""The inside of a duct: a round bore is its diameter [m]; a rectangle is the diameter of equal area, with its sides.

Speed and velocity pressure go by the true area, so that a rectangle may stand wherever a bore is a number. Friction
goes by the hydraulic diameter 4 A / P, joint leakage by the perimeter P; both equal the round formulas for a circle.
Source: table `rectangular`.
"""

from __future__ import annotations

import math

RECTANGULAR = "rectangular"
"""Make of rectangular duct of which none is written."""


class Rectangle(float):
    """The bore [m] of a rectangle of two sides [m]: the diameter of a circle of the same area.

    It equals another one of the same sides alone, and no round bore.

    >>> round(Rectangle(0.254, 0.1016), 4), round(hydraulic_diameter(Rectangle(0.254, 0.1016)), 4)
    (0.1813, 0.1451)
    """

    width_m: float
    height_m: float

    def __new__(cls, width_m: float, height_m: float) -> Rectangle:
        """Take the sides [m], as a person writes them: width, then height."""
        made = super().__new__(cls, math.sqrt(4.0 * width_m * height_m / math.pi))
        made.width_m, made.height_m = width_m, height_m
        return made

    def __getnewargs__(self) -> tuple[float, float]:  # type: ignore[override]
        """Return what a copy is made of."""
        return self.width_m, self.height_m

    def __eq__(self, other: object) -> bool:
        """Tell whether the other one is a rectangle of the same sides."""
        return isinstance(other, Rectangle) and self.__getnewargs__() == other.__getnewargs__()

    def __ne__(self, other: object) -> bool:
        """Tell whether it is another one."""
        return not self == other

    def __hash__(self) -> int:
        """Return what equal ones share."""
        return hash((self.width_m, self.height_m))


def hydraulic_diameter(bore_m: float) -> float:
    """Return four times the area over the perimeter [m]: of a round bore its diameter."""
    if isinstance(bore_m, Rectangle):
        return 2.0 * bore_m.width_m * bore_m.height_m / (bore_m.width_m + bore_m.height_m)
    return bore_m


def perimeter(bore_m: float) -> float:
    """Return the length around a bore [m]."""
    return 2.0 * (bore_m.width_m + bore_m.height_m) if isinstance(bore_m, Rectangle) else math.pi * bore_m


def sides(bore_m: float | None) -> tuple[float, float] | None:
    """Return the width and height [m] of a rectangle, None of a round bore."""
    return bore_m.__getnewargs__() if isinstance(bore_m, Rectangle) else None


def width(bore_m: float | None) -> float | None:
    """Return the width [m] of a rectangle, None of a round bore."""
    return bore_m.width_m if isinstance(bore_m, Rectangle) else None


def height(bore_m: float | None) -> float | None:
    """Return the height [m] of a rectangle, None of a round bore."""
    return bore_m.height_m if isinstance(bore_m, Rectangle) else None
