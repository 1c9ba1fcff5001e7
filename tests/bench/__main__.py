"""Measure the speed of ductcalc, by hand: `python -m tests.bench` in the project's folder, under a minute.

Needs the `bench` extra (`pip install -e ".[test,bench]"`). Everything that is compared is measured in turn in this one
run; figures are medians; a ratio below 1 means that ours takes less time. What the general solver's model contains and
leaves out is written at the top of tests/bench/general.py. Nothing here is a test; pytest does not collect it.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from ductcalc.solve.operating import operating_point
from tests.bench.installed import PROJECT, installed
from tests.bench.timing import medians
from tests.solve.networks import Network, all_gate_sets, comb, gated, supply
from tests.solve.trees import bush

EXAMPLE = PROJECT / "examples" / "creamery"
CHECK = [sys.executable, "-c", f"from ductcalc.cli import main; main(['check', {str(EXAMPLE)!r}])"]
IMPORTS = [sys.executable, "-c", "import numpy, pandas, pint, rich, click"]
PORTS, SCALE = 10_000, 2_500.0


def check_against_imports() -> None:
    """Print how long the whole `check`, byte-compiled, takes against a process that only imports the packages."""
    with installed() as folder:
        trial = subprocess.run(CHECK, capture_output=True, check=False, cwd=folder)
        if trial.returncode not in (0, 1) or not trial.stdout:
            print("check on the first example: skipped, the command or the example is not there")
            return
        found = medians({"check": _process(CHECK, folder), "imports": _process(IMPORTS, folder)}, 11)
    _compare("whole process, check / imports only", found["check"], found["imports"], "ms", 1e3)


def _process(command: list[str], folder: Path) -> Callable[[], object]:
    return lambda: subprocess.run(command, capture_output=True, check=False, cwd=folder)


def _compare(name: str, ours: float, general: float, unit: str, factor: float) -> None:
    print(f"{name}: {ours * factor:.1f} {unit} / {general * factor:.1f} {unit} = {ours / general:.2f}")


def _solve(network: Network, numbers: object, scale: float, cases: int) -> Callable[[], object]:
    tree, offers, index = network.tree, [supply(scale)], np.zeros(cases, dtype=np.intp)
    return lambda: operating_point(tree, numbers, "momentum", offers, index)  # type: ignore[arg-type]


def gate_sets() -> None:
    """Print sets per second on all 4,096 gate sets of 12 ports; ours with joint leakage and junction balance."""
    from tests.bench.general import KEEP_FLOWS, GeneralSolver

    network, open_ = comb(12), all_gate_sets(12)
    numbers = gated(network, open_)
    ours = _solve(network, numbers, 1.0, open_.shape[1])
    others = {
        "default accuracy 1e-3": GeneralSolver(network, supply()),
        "accuracy 1e-8": GeneralSolver(network, supply(), 1e-8),
        "accuracy 1e-3, with emitters for leakage": GeneralSolver(network, supply(), joints=True),
    }
    things = {"ours": ours} | {name: (lambda s=solver: s.gate_sets(open_)) for name, solver in others.items()}
    kept = "default accuracy, started from the last flows"
    things[kept] = lambda: others["default accuracy 1e-3"].gate_sets(open_, KEEP_FLOWS)
    found = medians(things, 9)
    for name in [*others, kept]:
        _compare(f"4,096 gate sets, ours / general ({name})", found["ours"], found[name], "ms", 1e3)
    print(f"4,096 gate sets, ours: {open_.shape[1] / found['ours']:,.0f} sets a second")
    iterations = int(ours().iterations.sum())  # type: ignore[attr-defined]
    each = found["ours"] / iterations / len(network.ducts) * 1e9
    print(f"4,096 gate sets, ours: {each:.0f} ns per section, case and iteration")
    one = medians({"one": _solve(network, numbers.take(np.array([1365])), 1.0, 1)}, 51)["one"]
    print(f"one case of 12 ports, ours: {one * 1e3:.2f} ms")


def large_trees() -> None:
    """Print reading and solving of 10,000 ports, one case, by both; every solve starts afresh."""
    for name, network in {"comb": comb(PORTS), "bush": bush(100, PORTS // 100)}.items():
        _large_tree(f"10,000 ports, {name}", network)


def _large_tree(title: str, network: Network) -> None:
    from tests.bench.general import GeneralSolver

    offers = supply(SCALE)
    ours = _solve(network, network.numbers, SCALE, 1)
    default, tight = GeneralSolver(network, offers), GeneralSolver(network, offers, 1e-8)

    def general_afresh() -> None:
        solver = GeneralSolver(network, offers)
        solver.solve()
        solver.close()

    found = medians(
        {
            "ours": ours,
            "general": default.solve,
            "tight": tight.solve,
            "ours afresh": lambda: _solve(network, network.numbers, SCALE, 1)(),
            "general afresh": general_afresh,
        },
        9,
    )
    _compare(f"{title}, solve, ours / general (default accuracy)", found["ours"], found["general"], "ms", 1e3)
    _compare(f"{title}, solve, ours / general (accuracy 1e-8)", found["ours"], found["tight"], "ms", 1e3)
    afresh = found["ours afresh"], found["general afresh"]
    _compare(f"{title}, read and solve, ours / general (default accuracy)", *afresh, "ms", 1e3)
    read = afresh[0] - found["ours"], afresh[1] - found["general"]
    _compare(f"{title}, of this reading, ours / general", *read, "ms", 1e3)
    iterations = int(ours().iterations[0])  # type: ignore[attr-defined]
    each = found["ours"] / iterations / len(network.ducts) * 1e9
    print(f"{title}, ours: {iterations} iterations, {each:.0f} ns per section and iteration")


def main() -> None:
    """Run every measurement."""
    before = time.perf_counter()
    check_against_imports()
    try:
        import epanet  # noqa: F401
    except ImportError:
        print("the general solver is not installed: pip install owa-epanet")
        return
    gate_sets()
    large_trees()
    print(f"all measured in {time.perf_counter() - before:.0f} s")


if __name__ == "__main__":
    main()
