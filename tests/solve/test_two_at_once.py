"""Blocks of cases in two threads: in their order, with the same bits, and errors come through."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields
from threading import Barrier
from unittest.mock import patch

import numpy as np
import pytest

from ductcalc.solve import operating
from ductcalc.solve.newton import Solved
from ductcalc.solve.operating import operating_point, two_at_once
from tests.solve.networks import all_gate_sets, comb, gated, supply


def one_after_the_other(work: Callable[[slice], None], parts: Sequence[slice]) -> Iterator[None]:
    yield from map(work, parts)


def solved_sets() -> Solved:
    network, open_ = comb(6), all_gate_sets(6)
    return operating_point(
        network.tree, gated(network, open_), "momentum", [supply()], np.zeros(open_.shape[1], dtype=np.intp)
    )


def test_blocks_side_by_side_have_the_bits_of_blocks_in_turn() -> None:
    with patch.object(operating, "BLOCK", 16):
        together = solved_sets()
        with patch.object(operating, "two_at_once", one_after_the_other):
            alone = solved_sets()
    assert together.converged.all()
    for field in fields(Solved):
        assert np.array_equal(getattr(together, field.name), getattr(alone, field.name)), field.name


def test_two_parts_are_worked_on_at_once_and_come_in_their_order() -> None:
    met = Barrier(2, timeout=20.0)

    def work(part: int) -> int:
        met.wait()
        return part * part

    with patch.object(operating.os, "cpu_count", return_value=2):
        assert list(two_at_once(work, [1, 2, 3, 4])) == [1, 4, 9, 16]


def test_warnings_that_are_off_are_off_in_the_threads_too() -> None:
    with np.errstate(divide="ignore"), patch.object(operating.os, "cpu_count", return_value=2):
        found = list(two_at_once(lambda part: 1.0 / np.zeros(part), [1, 2]))
    assert [len(one) for one in found] == [1, 2] and np.isinf(found[1]).all()


def test_an_error_in_a_part_is_raised() -> None:
    with pytest.raises(ZeroDivisionError):
        list(two_at_once(lambda part: 1 // part, [1, 0]))
