"""The one type of every quantity in this room: a float, or a numpy array of floats of any shape."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
Amount: TypeAlias = float | FloatArray
