"""Nonsense by the thousand: `python -m tests.properties.long_run [CASES [FIRST_SEED [CLASS ...]]]` tells its ends."""

from __future__ import annotations

import resource
import signal
import sys
import tempfile
from collections import Counter
from pathlib import Path
from random import Random

from tests.properties.nonsense import MAKERS, Ending, ending, write

LONGEST_S = 10


def _timed(words: list[str]) -> Ending:
    """Run a command; one that takes too long is wrong."""
    signal.signal(signal.SIGALRM, _too_long)
    signal.alarm(LONGEST_S)
    try:
        return ending(words)
    finally:
        signal.alarm(0)


def _too_long(*_: object) -> None:
    raise TimeoutError(f"{LONGEST_S} s were not enough")


def main() -> None:
    """Run as many cases of every class, print a line for each class and for each wrong ending."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    makers = {name: maker for name, maker in MAKERS.items() if name in sys.argv[3:]} or MAKERS
    each = -(-cases // len(makers))
    print(
        f"{'class':24} {'cases':>6} {'exit 0':>7} {'exit 1':>7} {'exit 2':>7} {'exit 3':>7} {'wrong':>6} {'slowest':>8}"
    )
    wrong: Counter[tuple[str, str]] = Counter()
    example: dict[tuple[str, str], int] = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, maker in makers.items():
            codes: Counter[object] = Counter()
            slowest = 0.0
            for seed in range(first, first + each):
                found = _timed(write(maker(Random(f"{name} {seed}")), Path(folder) / "shop"))
                codes["wrong" if found.wrong else found.code] += 1
                slowest = max(slowest, found.seconds)
                if found.wrong:
                    key = (name, found.wrong[:200])
                    wrong[key] += 1
                    example.setdefault(key, seed)
            row = [codes[0], codes[1], codes[2], codes[3], codes["wrong"]]
            print(
                f"{name:24} {each:6}",
                *(f"{n:{w}}" for n, w in zip(row, (7, 7, 7, 7, 6), strict=True)),
                f"{slowest:6.2f} s",
                flush=True,
            )
    for key, count in wrong.most_common():
        print(f"{count} x {key[0]}, as with seed {example[key]}: {key[1]}")
    print(f"peak of memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
