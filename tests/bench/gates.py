"""Measure the gate sets by hand: `python -m tests.bench.gates` in the project's folder, about a minute.

The whole process `ductcalc gates`, byte-compiled, on a shop of 12 ports (4,095 sets, momentum junctions, leaks) against
a process that only imports the five packages, in turn in one run; and the peak memory of all 65,535 sets of 16 ports.
Not a test.
"""

from __future__ import annotations

import csv
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.installed import installed
from tests.bench.timing import medians
from tests.scenes import Rows, elbow, end, gate, hose, pipe, points, port, run, wye

IMPORTS = [sys.executable, "-c", "import numpy, pandas, pint, rich, click"]
BLOWER = (
    ("0 cfm", "12 inwg"),
    ("600 cfm", "11.5 inwg"),
    ("1200 cfm", "9 inwg"),
    ("1800 cfm", "4 inwg"),
    ("2200 cfm", "0.2 inwg"),
)
CHILD = (
    "import resource, sys\nfrom ductcalc.cli.app import run\n"
    "code = run(['gates', sys.argv[1], '--full', '--output', sys.argv[2]])\n"
    "print(code, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)"
)


def comb_rows(ports: int) -> Rows:
    """Return the duct table of a main with so many drops."""
    first = [port("machine 0", "5 in", k=1.5), gate(), pipe("6 ft")]
    joined = [part for n in range(1, ports) for part in (wye(f"drop {n}", "6 in" if n < 6 else "7 in"), pipe("5 ft"))]
    drops = [
        row
        for n in range(1, ports)
        for row in run(
            f"drop {n}", port(f"machine {n}", "4 in", flow="350 cfm", k=1.5), hose("4 ft", 1), gate(), pipe("6 ft")
        )
    ]
    return [*run("trunk", *first, *joined, elbow(), end()), *drops]


def write_shop(folder: Path, ports: int) -> None:
    """Write the shop as its two tables."""
    for name, rows in (("duct.csv", comb_rows(ports)), ("collector.csv", points(*BLOWER))):
        columns = list(dict.fromkeys(key for row in rows for key in row))
        with (folder / name).open("w", newline="", encoding="utf-8") as target:
            writer = csv.DictWriter(target, columns)
            writer.writeheader()
            writer.writerows(rows)


def whole_process(folder: Path) -> None:
    """Print the time of `gates` on 12 ports against the imports."""
    write_shop(folder, 12)
    command = [sys.executable, "-c", f"from ductcalc.cli import main; main(['gates', {str(folder)!r}, '--full'])"]
    with installed() as home:
        trial = subprocess.run(command, capture_output=True, text=True, check=False, cwd=home)
        assert trial.returncode in (0, 1) and "all 4,095 possible sets" in " ".join(trial.stdout.split()), trial.stderr
        found = medians(
            {
                "gates": lambda: subprocess.run(command, capture_output=True, check=False, cwd=home),
                "imports": lambda: subprocess.run(IMPORTS, capture_output=True, check=False, cwd=home),
            },
            15,
        )
    ratio = found["gates"] / found["imports"]
    ours, theirs = found["gates"] * 1e3, found["imports"] * 1e3
    print(f"gates, 4,095 sets of 12 ports: {ours:.0f} ms / imports {theirs:.0f} ms = {ratio:.2f}")


def peak_memory(folder: Path) -> None:
    """Print the peak memory of `gates` on 16 ports."""
    write_shop(folder, 16)
    found = subprocess.run(
        [sys.executable, "-c", CHILD, str(folder), str(folder / "report.txt")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "all 65,535 possible sets" in " ".join((folder / "report.txt").read_text(encoding="utf-8").split())
    print(f"gates, 65,535 sets of 16 ports: peak {float(found.stdout.split()[1]):.0f} MiB")


def main() -> None:
    """Run both measurements."""
    for measure in (whole_process, peak_memory):
        with tempfile.TemporaryDirectory() as folder:
            measure(Path(folder))


if __name__ == "__main__":
    main()
