"""Numbers as a person reads them: one system's units, and no more digits than the figures deserve."""

from __future__ import annotations

from collections.abc import Callable
from math import floor, log10
from typing import NamedTuple

from ductcalc.report.blocks import glued
from ductcalc.shop.bore import Rectangle
from ductcalc.units.closed_list import UnitSystem
from ductcalc.units.display import Shown, to_display

INCHES_A_FOOT = 12.0
SPEED_DIGITS: dict[UnitSystem, int] = {"inch": -1, "metric": 1}
PRESSURE_DIGITS: dict[UnitSystem, int] = {"inch": 1, "metric": -1}
FINE_PRESSURE_DIGITS: dict[UnitSystem, int] = {"inch": 2, "metric": 0}
SPOKEN_PRESSURE: dict[UnitSystem, str] = {"inch": "in of water", "metric": "Pa"}
POWER_DIGITS: dict[UnitSystem, int] = {"inch": 1, "metric": 2}
DENSITY_DIGITS: dict[UnitSystem, int] = {"inch": 4, "metric": 3}


class Display(NamedTuple):
    """How numbers are shown in one system of units. Methods named `..._number` leave the unit out."""

    system: UnitSystem

    def unit(self, dimension: Shown) -> str:
        """Return the unit's label."""
        return to_display(0.0, dimension, self.system)[1]

    def number(self, value: float, dimension: Shown, fine: bool = False) -> str:
        """Show an SI value in the way of its dimension, else to two digits; `fine`: a pressure to one more."""
        shown: dict[Shown, Callable[[float], str]] = {
            "flow": self.flow_number,
            "speed": self.speed_number,
            "pressure": lambda pressure: self.pressure_number(pressure, fine),
            "size": self.size_number,
            "length": self.length_number,
            "power": self.power_number,
            "share": self.share_number,
        }
        return shown[dimension](value) if dimension in shown else self.rough_number(value, dimension)

    def flow_number(self, flow_m3_s: float) -> str:
        """Show an air flow to the whole unit."""
        return _fixed(to_display(flow_m3_s, "flow", self.system)[0], 0)

    def flow(self, flow_m3_s: float) -> str:
        """Show an air flow with its unit."""
        return glued(f"{self.flow_number(flow_m3_s)} {self.unit('flow')}")

    def band(self, low_m3_s: float, high_m3_s: float) -> str:
        """Show a band of air flows without their unit, to ten: it is known no better."""
        low, high = (to_display(flow, "flow", self.system)[0] for flow in (low_m3_s, high_m3_s))
        return f"{_fixed(low, -1)} to {_fixed(high, -1)}"

    def fine_flow_number(self, flow_m3_s: float) -> str:
        """Show a small air flow to two digits, as one for each unit of money."""
        return f"{to_display(flow_m3_s, 'flow', self.system)[0]:.2g}"

    def got_number(self, flow_m3_s: float, wanted_m3_s: float, enough: bool) -> str:
        """Show air that a port or machine gets; where rounding would hide that it falls short, it says `<`.

        A machine may have as much as it wants in all and yet too little at one of its ports.
        """
        got, wanted = self.flow_number(flow_m3_s), self.flow_number(wanted_m3_s)
        return f"<{wanted}" if got == wanted and not enough and flow_m3_s < wanted_m3_s else got

    def speed_number(self, speed_m_s: float) -> str:
        """Show an air speed to 10 fpm or 0.1 m/s."""
        return _fixed(to_display(speed_m_s, "speed", self.system)[0], SPEED_DIGITS[self.system])

    def speed(self, speed_m_s: float) -> str:
        """Show an air speed with its unit."""
        return glued(f"{self.speed_number(speed_m_s)} {self.unit('speed')}")

    def pressure_number(self, pressure_pa: float, fine: bool = False) -> str:
        """Show a pressure to 0.1 inch of water or 10 Pa; `fine` to 0.01 inch or 1 Pa."""
        digits = FINE_PRESSURE_DIGITS if fine else PRESSURE_DIGITS
        return _fixed(to_display(pressure_pa, "pressure", self.system)[0], digits[self.system])

    def pressure(self, pressure_pa: float, fine: bool = False) -> str:
        """Show a pressure as a sentence says it: its unit spelled out, where tables have the short one."""
        return glued(f"{self.pressure_number(pressure_pa, fine)} {SPOKEN_PRESSURE[self.system]}")

    def power_number(self, power_w: float) -> str:
        """Show a power to 0.1 hp or 0.01 kW."""
        return _fixed(to_display(power_w, "power", self.system)[0], POWER_DIGITS[self.system])

    def power(self, power_w: float) -> str:
        """Show a power with its unit."""
        return glued(f"{self.power_number(power_w)} {self.unit('power')}")

    def size_number(self, bore_m: float) -> str:
        """Show an inside diameter, or the sides of a rectangle, as it is written."""
        if isinstance(bore_m, Rectangle):
            return f"{self.size_number(bore_m.width_m)} x {self.size_number(bore_m.height_m)}"
        return f"{round(to_display(bore_m, 'size', self.system)[0], 2):g}"

    def size(self, bore_m: float) -> str:
        """Show an inside diameter with its unit."""
        return glued(f"{self.size_number(bore_m)} {self.unit('size')}")

    def length_number(self, length_m: float) -> str:
        """Show a length to a tenth of a foot or metre."""
        return _fixed(to_display(length_m, "length", self.system)[0], 1)

    def length(self, length_m: float) -> str:
        """Show a length with its unit."""
        return glued(f"{self.length_number(length_m)} {self.unit('length')}")

    def written_length(self, length_m: float) -> str:
        """Show a length as it is written on a list: feet and inches, or metres to the centimetre."""
        if self.system == "metric":
            return glued(f"{round(length_m, 2):g} m")
        inches = round(to_display(length_m, "size", "inch")[0], 1)
        feet, rest = divmod(abs(inches), INCHES_A_FOOT)
        parts = ([f"{feet:.0f} ft"] if feet else []) + ([f"{rest:g} in"] if rest or not feet else [])
        return glued(("-" if inches < 0.0 else "") + " ".join(parts))

    def altitude(self, altitude_m: float) -> str:
        """Show a height above the sea to the whole unit."""
        number, unit = to_display(altitude_m, "length", self.system)
        return glued(f"{_fixed(number, 0)} {unit}")

    def temperature(self, temperature_k: float) -> str:
        """Show a temperature to the whole degree."""
        number, unit = to_display(temperature_k, "temperature", self.system)
        return glued(f"{_fixed(number, 0)} {unit}")

    def density(self, density_kg_m3: float) -> str:
        """Show a density."""
        number, unit = to_display(density_kg_m3, "density", self.system)
        return glued(f"{_fixed(number, DENSITY_DIGITS[self.system])} {unit}")

    def area(self, area_m2: float) -> str:
        """Show an area."""
        number, unit = to_display(area_m2, "area", self.system)
        return glued(f"{round(number, 1):g} {unit}")

    def rough_number(self, value: float, dimension: Shown, digits: int = 2) -> str:
        """Show an SI value to so many digits in all, as for a figure that is known no better."""
        return rough(to_display(value, dimension, self.system)[0], digits)

    def rough(self, value: float, dimension: Shown, digits: int = 2) -> str:
        """Show an SI value to so many digits in all, with its unit."""
        return glued(f"{self.rough_number(value, dimension, digits)} {self.unit(dimension)}")

    def share_number(self, share: float) -> str:
        """Show a share in whole per cent."""
        return _fixed(to_display(share, "share", self.system)[0], 0)

    def share(self, share: float) -> str:
        """Show a share with its sign; small ones to a tenth."""
        percent = to_display(share, "share", self.system)[0]
        return glued(f"{_fixed(percent, 0 if abs(percent) >= 9.95 else 1)} %")


def rough(number: float, digits: int = 2) -> str:
    """Show a number to so many digits in all, written out: 1234 as 1200, 0.0567 as 0.057."""
    rounded = float(f"{number:.{digits}g}")
    return _fixed(rounded, digits - 1 - floor(log10(abs(rounded)))) if rounded else "0"


def _fixed(number: float, digits: int) -> str:
    """Show a number with so many digits behind the point (before it when negative), never as minus nothing."""
    rounded = round(number, digits) + 0.0
    return f"{rounded:.{max(digits, 0)}f}"
