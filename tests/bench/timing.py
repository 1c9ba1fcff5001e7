"""Times of two or more things in turn, so that whatever else the machine does hits all of them alike."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Mapping


def medians(things: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Run every thing once unmeasured, then all of them in turn so many times; return median seconds of each."""
    times: dict[str, list[float]] = {name: [] for name in things}
    for thing in things.values():
        thing()
    for _ in range(rounds):
        for name, thing in things.items():
            before = time.perf_counter()
            thing()
            times[name].append(time.perf_counter() - before)
    return {name: statistics.median(own) for name, own in times.items()}
