"""What is taken for a possible size, length, angle, ... of a small shop; beyond it, a slip is likelier.

The limits are common practice, no source: they are wide, and only sort out mistyped numbers and units.
"""

from __future__ import annotations

from ductcalc.units import Quantity, Unit, UnreadableError, quoted, to_display

LARGEST_FILE = 32_000_000
"""Bytes of a file that is read at all."""
LARGEST_SETTINGS = 200_000
LONGEST_LINE = 10_000
"""Characters of a header row, of a cell and of a line of the settings."""
MOST_ROWS = 200_000
MOST_COLUMNS = 200

BORE_M = (0.01, 3.0)
USUAL_BORE_M = (0.012, 1.0)
LENGTH_M = (0.0, 10_000.0)
FLOW_M3_S = (0.0005, 10.0)
SPEED_M_S = (1.0, 80.0)
FASTEST_IN_PORT_M_S = 100.0
DROP_PA = (0.0, 20_000.0)
INLET_M2 = (0.0, 1.0)
ELBOW_DEG = (0.0, 180.0)
WYE_DEG = (0.0, 180.0)
TAPER_DEG = (0.0, 180.0)
COEFFICIENT = (0.0, 1.0e6)
COUNT = (0, 100)
RADIUS = (0.3, 10.0)
HOSE_FACTOR = (1.0, 20.0)
ROUGHNESS_M = (0.0, 0.005)
WALL_M = (0.0002, 0.02)
LONGEST_NAME = 100

BLOWER_FLOW_M3_S = 30.0
BLOWER_PRESSURE_PA = 25_000.0
BLOWER_POWER_W = 100_000.0
FILTER_EXPONENT = (1.0, 2.0)

ALTITUDE_M = (-450.0, 5000.0)
TEMPERATURE_K = (223.15, 343.15)
AIR_PRESSURE_PA = (40_000.0, 110_000.0)
DENSITY_KG_M3 = (0.5, 2.0)
VISCOSITY_PA_S = (1.0e-5, 3.0e-5)
LOADING = (0.0, 0.2)
OWN_BLOWER_PA = (0.0, 10_000.0)
HOSE_BEND_K = (0.0, 20.0)
MACHINE_K = (0.0, 1000.0)
JOINT_LEAKAGE_CLASS = (0.0, 500.0)
LEAST_HOSE_M = (0.0, 30.0)


def bore(reading: Quantity, text: str) -> float:
    """Return a bore [m] within limits; else raise UnreadableError with what was likely meant."""
    low, high = BORE_M
    if low <= reading.value <= high:
        return reading.value
    if reading.value <= 0.0:
        raise UnreadableError(
            f"{quoted(text)} is not a bore", 'write the inside diameter, for example "6 in"'
        )
    guess = _other_system(reading)
    hint = f"did you mean {guess}?" if guess else "write an inside diameter from 10 mm (0.4 in) to 3 m (118 in)"
    raise UnreadableError(f"{quoted(text)} is a pipe of {_said(reading.value)} inside", hint)


def _other_system(reading: Quantity) -> str | None:
    """Return the same number in another unit if that makes a usual bore."""
    unit = reading.unit
    if unit is None:
        return None
    number = unit.from_si(reading.value)
    for name, factor in (("mm", 0.001), ("in", 0.0254), ("cm", 0.01)):
        if name != unit.name and USUAL_BORE_M[0] <= number * factor <= USUAL_BORE_M[1]:
            return f"{number:g} {name}"
    return None


def _said(metres: float) -> str:
    return f"{metres:.2g} m" if metres >= 1.0 else f"{to_display(metres, 'size', 'metric')[0]:.2g} mm"


def allowed(span: tuple[float, float], unit: Unit | None = None, *, above: bool = False) -> str:
    """Say what lies within limits in SI, in the unit that was written: `from 0 to 16400 ft`."""
    low, high = (_short(unit.from_si(value) if unit else value) for value in span)
    name = f" {unit.name}" if unit else ""
    return f"above {low} and up to {high}{name}" if above else f"from {low} to {high}{name}"


def _short(number: float) -> str:
    """Return a number with three digits, never as a power of ten unless it is very small."""
    rounded = float(f"{number:.3g}")
    return f"{rounded:.0f}" if abs(rounded) >= 1000.0 else f"{rounded + 0.0:g}"


def within(
    value: float, limits: tuple[float, float], text: str, what: str, hint: str, *, above: bool = False
) -> float:
    """Return a value within limits (`above`: above the lower one), else raise UnreadableError."""
    low, high = limits
    if value > high or value < low or (above and value == low):
        raise UnreadableError(f"{quoted(text)} is out of range for {what}", hint)
    return value
