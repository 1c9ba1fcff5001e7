"""Rows of an array by number, the one step that a walk over a tree takes most often."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def rows_of(values: NDArray[np.float64], numbers: NDArray[np.intp]) -> NDArray[np.float64]:
    """Return these rows of values (rows, cases): what brackets do, in half the time where there is one case."""
    return values.take(numbers, axis=0)
