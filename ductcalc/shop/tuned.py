"""What readings of a healthy time have made of numbers that were badly known: written to tuned.toml."""

from __future__ import annotations

from dataclasses import dataclass

FILE = "tuned.toml"


@dataclass(frozen=True)
class Tuned:
    """One fact as readings put it: each of its numbers is so many times what it would be without them.

    what, where: which fact, of which machine ("" for the whole shop). low, high: what is left of its band, two standard
    deviations each way, as multiples too.
    """

    what: str
    where: str
    times: float
    low: float
    high: float
