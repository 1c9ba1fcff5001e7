"""What a healthy system reads: static suction, speed and Pitot at every tap, the filter clean, with a band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ductcalc.answers.columns import Column, Columns, frame
from ductcalc.arrays import Floats
from ductcalc.cases.bands import unknowns_of
from ductcalc.cases.choices import MOST_ALONE, Ask, Choice, choice_of, every_machine_alone, no_machine
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.cases.taps import Tap, TapKind, TapReadings, Taps, TapTable
from ductcalc.cases.variants import Found, found_variants
from ductcalc.catalog import fact
from ductcalc.model.model import Model, build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas

SAMPLES, LEAST_SAMPLES, NUMBERS = 128, 16, 10_000_000
"""Drawn shops behind a band; fewer where sections times cases times these would be more numbers than that."""

LOW, HIGH, NINE_TENTHS = 10.0, 90.0, 1.2816
"""Percentiles of an 80 % band, and how many standard deviations each lies off."""


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What is read at a tap in a case: static suction [Pa] (drop across the filter), mean speed [m/s] and its velocity
    pressure [Pa] (None at the filter), the 80 % band of the static one. passes: air of an open machine goes by.

    axis_vp_pa: what a Pitot tube on the duct's axis shows [Pa].
    """

    case: str
    where: str
    kind: TapKind
    run: str
    static_pa: float
    speed_m_s: float | None
    axis_vp_pa: float | None
    low_pa: float
    high_pa: float
    passes: bool


TAPS: Columns[Expected] = (
    Column("case", lambda tap: tap.case),
    Column("where", lambda tap: tap.where),
    Column("static", lambda tap: tap.static_pa, "pressure"),
    Column("speed", lambda tap: tap.speed_m_s, "speed"),
    Column("low", lambda tap: tap.low_pa, "pressure"),
    Column("high", lambda tap: tap.high_pa, "pressure"),
)
BESIDE: Columns[Expected] = (
    Column("pitot", lambda tap: tap.axis_vp_pa, "pressure"),
    Column("air_passes", lambda tap: tap.passes),
)


@dataclass(frozen=True)
class Expect:
    """The start-up sheet: taps in the order of a walk through the shop, each in every case asked for.

    cases: names of the cases, and the machines open in each. unsolved: cases without an answer.
    """

    shop: str
    cases: tuple[tuple[str, tuple[str, ...]], ...]
    taps: tuple[Expected, ...]
    unsolved: tuple[str, ...]
    changes: tuple[str, ...] = ()
    provisional: bool = False

    def at_collector(self) -> tuple[Expected, ...]:
        """Return what is read at the collector's inlet, case by case."""
        return tuple(tap for tap in self.taps if tap.kind == "collector inlet")

    def frame(self) -> pandas.DataFrame:
        """Return the taps as a pandas table, the unit in every column name."""
        return frame((*TAPS, *BESIDE), self.taps)


def expect(shop: Shop, asks: Sequence[Ask | Choice] | None = None, junction: Junction | None = None) -> Expect:
    """Return what a healthy system reads in some cases, every machine alone when none are asked for.

    Raises InputError for a shop without collector or machines, and for names that it does not have.
    """
    model = build_model(shop, junction)
    collector = collector_of(model)
    choices = tuple(choice_of(model, ask) for ask in asks) if asks else _default(model)
    table = TapTable(model, tuple(Taps(model).of_runs()))
    found, readings = _sampled(table, choices)
    low, high = _band([reading.static_pa for reading in readings])
    settled = solve_choices(model, choices, ("clean",)).judged.solved
    rows = [
        _expected(table, readings[0], found, tap, case, choice.name, (low[tap, case], high[tap, case]))
        for tap in range(len(table.taps))
        for case, choice in enumerate(choices)
        if settled[case]
    ]
    return Expect(
        shop.name,
        tuple((choice.name, choice.machines) for choice in choices),
        tuple(rows),
        tuple(choice.name for case, choice in enumerate(choices) if not settled[case]),
        shop.changes,
        collector.provisional,
    )


def _default(model: Model) -> tuple[Choice, ...]:
    choices = every_machine_alone(model)
    if not choices:
        raise no_machine(model)
    return choices if len(choices) <= MOST_ALONE else choices[:MOST_ALONE]


def _sampled(table: TapTable, choices: Sequence[Choice]) -> tuple[Found, list[TapReadings]]:
    """Return what was found at the decided numbers, and readings at these (first) and at a sample of the others."""
    unknowns = unknowns_of(table.model)
    count = min(SAMPLES, max(LEAST_SAMPLES, NUMBERS // (len(table.model.sections) * len(choices))))
    deviations = [unknowns.none, *unknowns.sample(count)]
    solved = dict(found_variants([unknowns.variant(off) for off in deviations], choices, "clean"))
    return solved[0], [table.read(solved[number]) for number in range(len(deviations))]


def _band(static_pa: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Return the 80 % band (taps, cases) [Pa]: of the sample, and of what a calculation is off where all is known."""
    middle, sample = static_pa[0], np.stack(static_pa[1:])
    own = 0.5 * fact("measuring", "model").value * NINE_TENTHS * np.abs(middle)
    below = np.hypot(np.maximum(middle - np.percentile(sample, LOW, axis=0), 0.0), own)
    above = np.hypot(np.maximum(np.percentile(sample, HIGH, axis=0) - middle, 0.0), own)
    return np.maximum(middle - below, np.minimum(middle, 0.0)), middle + above


def _expected(
    table: TapTable, read: TapReadings, found: Found, place: int, case: int, name: str, band: tuple[float, float]
) -> Expected:
    tap, model = table.taps[place], table.model
    axis = fact("measuring", "centre").value
    return Expected(
        case=name,
        where=tap.where,
        kind=tap.kind,
        run=model.sections[tap.section].run,
        static_pa=float(read.static_pa[place, case]),
        speed_m_s=float(read.speed_m_s[place, case]) if tap.in_duct else None,
        axis_vp_pa=float(read.vp_pa[place, case]) / axis**2 if tap.in_duct else None,
        low_pa=float(band[0]),
        high_pa=float(band[1]),
        passes=_passes(tap, found, case),
    )


def _passes(tap: Tap, found: Found, case: int) -> bool:
    return bool(found.state.live[tap.section, case])
