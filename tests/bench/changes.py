"""Measure what to change first by hand: `python -m tests.bench.changes` in the project's folder, under a minute.

`improve` on a shop of 12 machines (every single change, pairs and threes, all listed ones audited in 12 cases), in turn
in one run with one solve of 4,096 gate sets of 12 ports; the ratio is what counts. Not a test.
"""

from __future__ import annotations

import numpy as np

import ductcalc
from ductcalc.solve.operating import operating_point
from tests.bench.gates import BLOWER, comb_rows
from tests.bench.timing import medians
from tests.scenes import points
from tests.solve.networks import all_gate_sets, comb, gated, supply


def improvements() -> None:
    """Print the time of `improve` on 12 machines as a multiple of one solve of 4,096 gate sets."""
    shop = ductcalc.shop_from_rows(comb_rows(12), points(*BLOWER))
    network, open_ = comb(12), all_gate_sets(12)
    numbers, index = gated(network, open_), np.zeros(open_.shape[1], dtype=np.intp)
    answer = ductcalc.improve(shop)
    found = medians(
        {
            "improve": lambda: ductcalc.improve(shop),
            "sets": lambda: operating_point(network.tree, numbers, "momentum", [supply()], index),
        },
        7,
    )
    together = answer.pairs.tried + answer.threes.tried
    print(f"improve, 12 machines: {answer.tried} changes, {together} pairs and threes, {answer.cases} cases")
    ratio = found["improve"] / found["sets"]
    print(f"improve {found['improve']:.2f} s / 4,096 gate sets {found['sets'] * 1e3:.0f} ms = {ratio:.0f}")


if __name__ == "__main__":
    improvements()
