"""The kinds of array that numbers stand in; what its axes are is said wherever one is named."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]
Places: TypeAlias = NDArray[np.intp]
"""Which of several: row or column numbers."""
Grades: TypeAlias = NDArray[np.int8]
Masks: TypeAlias = NDArray[np.int64]
"""Sets of up to 63 things, a bit for each."""
