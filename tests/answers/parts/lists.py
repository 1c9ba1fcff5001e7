"""Lists of pieces to cut, and what every plan for them must keep."""

from __future__ import annotations

import random
from collections.abc import Sequence

from hypothesis import strategies as st

from ductcalc.answers.parts.quick_cutting import Job, Sticks, Stock

SCHOOL = Job((4000, 4000, 3500, 2500, 2000, 2000, 1600, 1600, 1600, 1600, 1600), (Stock(3000),), 3, 160)
"""The pipe of one size in the example of the school: three straights are longer than a stick."""

SHORT = st.builds(
    lambda pieces, sold, around, kerf: Job(
        tuple(pieces),
        (Stock(40), *(Stock(length) for length in sold), *(Stock(length, count) for length, count in around.items())),
        kerf,
    ),
    pieces=st.lists(st.integers(1, 40), min_size=1, max_size=8),
    sold=st.lists(st.integers(5, 39), max_size=2, unique=True),
    around=st.dictionaries(st.integers(1, 60), st.integers(1, 2), max_size=3),
    kerf=st.integers(0, 3),
)
"""Pieces that fit on a stick, up to three lengths sold, and what lies around."""


@st.composite
def long_jobs(draw: st.DrawFn) -> Job:
    """Draw one or two pieces longer than a stick and a few short ones: every way to join them can be tried."""
    longest = draw(st.integers(7, 10))
    stocks = [Stock(longest)]
    stocks += [Stock(shorter) for shorter in draw(st.lists(st.integers(4, 6), max_size=1))]
    around = draw(st.dictionaries(st.integers(3, 14), st.integers(1, 2), max_size=2))
    stocks += [Stock(length, count) for length, count in around.items()]
    pieces = draw(st.lists(st.integers(longest + 1, 2 * longest), min_size=1, max_size=2))
    pieces += draw(st.lists(st.integers(1, longest), max_size=2))
    return Job(tuple(pieces), tuple(stocks), draw(st.integers(0, 1)))


def random_list(seed: int, most: int, long: int) -> Job:
    """Return a list in [mm] as ducts have them: up to so many pieces, and so many longer than a stick of 3 m."""
    rnd = random.Random(seed)
    grain, stick = rnd.choice([100, 50, 10, 1]), 3000
    kinds = [max(rnd.randint(250, stick) // grain * grain, grain) for _ in range(rnd.randint(1, most))]
    pieces = [rnd.choice(kinds) for _ in range(rnd.randint(3, most))]
    pieces += [rnd.randint(stick + 100, 7500) // grain * grain for _ in range(rnd.randint(0, long))]
    stocks = [Stock(stick), *([Stock(2000)] if seed % 4 == 0 else [])]
    stocks += [Stock(length, 1) for length in {rnd.randint(500, 3300) for _ in range(seed % 3)}]
    return Job(tuple(pieces), tuple(stocks), 3, 100)


def check_sound(job: Job, sticks: Sticks) -> None:
    """Every piece is whole, no stick gives more than it has or is used too often, no part is too short or too many."""
    parts: dict[int, list[int]] = {piece: [] for piece in range(len(job.pieces))}
    for stick in sticks:
        assert stick.cuts
        used = sum(length for _, length in stick.cuts) + job.kerf * (len(stick.cuts) - 1)
        assert used <= job.stocks[stick.stock].length
        for piece, length in stick.cuts:
            parts[piece].append(length)
    assert [sum(of) for of in parts.values()] == list(job.pieces)
    longest = max(stock.length for stock in job.stocks if stock.count is None)
    for piece, of in parts.items():
        assert len(of) <= (1 if job.pieces[piece] <= longest else -(-job.pieces[piece] // longest) + 1)
        assert min(of) >= min(job.shortest, job.pieces[piece] % longest or longest)
    for number, stock in enumerate(job.stocks):
        assert stock.count is None or sum(stick.stock == number for stick in sticks) <= stock.count


def bought(job: Job, sticks: Sticks) -> Sequence[int]:
    """Return the lengths of the sticks that a plan buys."""
    return [job.stocks[stick.stock].length for stick in sticks if job.stocks[stick.stock].count is None]
