"""Measure `size` by hand: `python -m tests.bench.sizing` in the project's folder, about a minute.

The time to size a shop of 12 machines (23 stretches, 12 sets; search, bound, reasons, audited answers) as multiples of
one solve of all 4,096 gate sets of 12 ports by the same solver, in turn in one run. Not a test.
"""

from __future__ import annotations

import numpy as np

import ductcalc
from ductcalc.solve.operating import operating_point
from tests.bench.gates import BLOWER, comb_rows
from tests.bench.timing import medians
from tests.scenes import points
from tests.solve.networks import all_gate_sets, comb, gated, supply

PORTS, ROUNDS = 12, 3


def main() -> None:
    """Print the times and their ratio."""
    shop = ductcalc.shop_from_rows(comb_rows(PORTS), points(*BLOWER))
    network, open_ = comb(PORTS), all_gate_sets(PORTS)
    numbers, offers, index = gated(network, open_), [supply(1.0)], np.zeros(open_.shape[1], dtype=np.intp)
    answers: list[ductcalc.Sizing] = []
    found = medians(
        {
            "size": lambda: answers.append(ductcalc.size(shop)),
            "sets": lambda: operating_point(network.tree, numbers, "momentum", offers, index),
        },
        ROUNDS,
    )
    answer, ratio = answers[-1], found["size"] / found["sets"]
    assert answer.found and all(other == answer for other in answers)
    ours, one = found["size"], found["sets"] * 1e3
    print(f"size, {PORTS} machines: {ours:.1f} s = {ratio:.0f} solves of 4,096 sets of {one:.0f} ms")
    print(f"{answer.solved:,} cases solved for it; cost {answer.cost_then:.1f} kg, bound {answer.bound:.1f} kg")


if __name__ == "__main__":
    main()
