"""What all pictures are made of: the cells that a line passes."""

from __future__ import annotations

from itertools import pairwise

import pytest

from ductcalc.report.draw.picture import passed


@pytest.mark.parametrize("end", [(9.0, 3.0), (-4.0, 5.0), (2.0, -8.0), (2.0, 1.0)])
def test_a_line_passes_cells_side_by_side_from_its_begin_to_its_end(end: tuple[float, float]) -> None:
    begin = (2.0, 1.0)
    cells = list(passed(begin, end))
    assert (cells[0], cells[-1]) == (begin, end)
    assert all(max(abs(x1 - x0), abs(y1 - y0)) <= 1 for (x0, y0), (x1, y1) in pairwise(cells))
