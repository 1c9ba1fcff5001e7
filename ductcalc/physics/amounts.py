"""The one type of every quantity in this room, and the imperial units in which some published formulas are written."""

from __future__ import annotations

from typing import TypeAlias

from ductcalc.arrays import Floats

Amount: TypeAlias = float | Floats


FOOT_M = 0.3048
"""One foot [m]."""

FPM_M_S = FOOT_M / 60.0
"""One foot per minute [m/s]."""

CFM_M3_S = FOOT_M**3 / 60.0
"""One cubic foot per minute [m3/s]."""

SQUARE_FOOT_M2 = FOOT_M**2
"""One square foot [m2]."""
