"""Readings as numbers: taps and cases of a model, what was measured and how sure, what a variant would read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ductcalc.arrays import Flags, Floats, Places
from ductcalc.cases.choices import Choice, choose_open, choose_set
from ductcalc.cases.solving import solve_choices
from ductcalc.cases.taps import Tap, TapReadings, Taps, TapTable
from ductcalc.cases.variants import Found, Variant, found_variants
from ductcalc.catalog import fact
from ductcalc.errors import InputError, Problem
from ductcalc.model.model import Model
from ductcalc.shop.readings import Reading

PRESSURE_SCALE_PA, SPEED_SCALE_M_S = 20.0, 0.5
"""Below these a reading is compared by difference, above them by ratio."""

LEVEL = 1.0
"""Standard deviation, by ratio, of a tap's level where only changes count: as good as unknown."""


@dataclass(frozen=True)
class Observed:
    """Readings of one shop that a calculation can be held against.

    taps, choices: every place and every set of open gates that a reading names. tap, case: which of them (readings,).
    unused: readings that nothing is calculated for. by_change: where a tap was read in the same case when all was well,
    only what has changed since counts; the calculation is not held to the level.
    """

    model: Model
    readings: tuple[Reading, ...]
    unused: tuple[Reading, ...]
    taps: tuple[Tap, ...]
    choices: tuple[Choice, ...]
    tap: Places
    case: Places
    by_change: bool = False

    @classmethod
    def of(cls, model: Model, readings: Sequence[Reading]) -> Observed:
        """Lay out readings. Raises InputError when none can be used."""
        finder = Taps(model)
        found = [(reading, finder.find(reading.where)) for reading in readings]
        used = [(reading, tap) for reading, tap in found if tap is not None]
        if not used:
            hint = "read suction at a tap: port RUN, end RUN, collector inlet"
            raise InputError([Problem("no reading is of a kind that a calculation can be held against", hint)])
        taps = {tap.where: tap for _, tap in used}
        choices = {_key(reading): reading for reading, _ in used}
        places, cases = list(taps), list(choices)
        return cls(
            model,
            tuple(reading for reading, _ in used),
            tuple(reading for reading, tap in found if tap is None),
            tuple(taps.values()),
            tuple(_choice(model, reading) for reading in choices.values()),
            np.array([places.index(tap.where) for _, tap in used], dtype=np.intp),
            np.array([cases.index(_key(reading)) for reading, _ in used], dtype=np.intp),
        )

    @cached_property
    def healthy(self) -> Flags:
        """Readings (readings,) taken when all was well."""
        return np.array([reading.healthy for reading in self.readings], dtype=bool)

    @cached_property
    def scale(self) -> Floats:
        """Value (readings,) about which comparing by difference turns into comparing by ratio."""
        return np.array([SPEED_SCALE_M_S if r.kind == "speed" else PRESSURE_SCALE_PA for r in self.readings])

    @cached_property
    def value(self) -> Floats:
        """What was read (readings,), in SI."""
        return np.array([reading.value for reading in self.readings])

    @cached_property
    def measured(self) -> Floats:
        """What was read (readings,), as it is compared."""
        return self.compared(self.value)

    def compared(self, values: Floats) -> Floats:
        """Return values (readings, ...) in SI as they are compared: differences of large ones are ratios."""
        scale = self.scale.reshape(-1, *(1,) * (values.ndim - 1))
        return np.asarray(np.arcsinh(values / scale))

    @cached_property
    def noise(self) -> Floats:
        """Covariance (readings, readings) of what is compared: instrument, repeated reading, and calculation.

        What a calculation is off at a tap, it is off again the next time: it drops out of a comparison with a baseline.
        """
        own = np.array([reading.sigma for reading in self.readings]) / np.hypot(self.value, self.scale)
        large = np.abs(self.value) / np.hypot(self.value, self.scale)
        again = 0.5 * fact("measuring", "repeat").value / np.sqrt(2.0) * large
        model, kept = 0.5 * fact("measuring", "model").value, fact("measuring", "kept at a tap").value
        same_tap = self.tap[:, None] == self.tap[None, :]
        same_kind = self.scale[:, None] == self.scale[None, :]
        same_case = self.case[:, None] == self.case[None, :]
        again_there = same_tap & same_case & same_kind
        shared = model**2 * (kept * same_tap * same_kind + (1.0 - kept) * again_there)
        if self.by_change:
            baselined = (again_there & self.healthy).any(axis=1)
            shared += LEVEL**2 * (again_there & baselined)
        found: Floats = np.diag(own**2 + again**2) + shared * np.outer(large, large)
        return found

    @cached_property
    def answered(self) -> bool:
        """Whether the shop as it is written has an answer in every case that was read."""
        return bool(solve_choices(self.model, self.choices, ("clean",)).judged.solved.all())

    def read(self, variants: Sequence[Variant]) -> Floats:
        """Return what would be read (readings, variants) of each variant, as it is compared; nan without an answer.

        The filter is clean but for what a variant says of it.
        """
        values = np.full((len(self.readings), len(variants)), np.nan)
        tables: dict[int, TapTable | None] = {}
        for number, found in found_variants(variants, self.choices, "clean"):
            key = id(found.variant.model)
            if key not in tables:
                tables[key] = self._table(found.variant.model)
            table = tables[key]
            if table is not None:
                values[:, number] = self.picked(table.read(found))
        return self.compared(values)

    def _table(self, model: Model) -> TapTable | None:
        """Return this shop's taps on another model of it; None where one of them is missing."""
        if model is self.model:
            return TapTable(model, self.taps)
        finder, places = Taps(model), {tap: number for number, tap in enumerate(self.tap)}
        taps = [finder.find(self.readings[places[number]].where) for number in range(len(self.taps))]
        return None if None in taps else TapTable(model, tuple(tap for tap in taps if tap is not None))

    def picked(self, read: TapReadings) -> Floats:
        """Return of what is read at taps (taps, cases) what the readings are of (readings,)."""
        axis = fact("measuring", "centre").value
        kinds = {"speed": read.speed_m_s, "velocity pressure": read.vp_pa / axis**2}
        values = np.array([
            kinds.get(reading.kind, read.static_pa)[tap, case]
            for reading, tap, case in zip(self.readings, self.tap, self.case, strict=True)
        ])  # fmt: skip
        return np.where(read.settled[self.case], values, np.nan)


def found_once(variant: Variant, choices: Sequence[Choice]) -> Found:
    """Return what is found of one variant with a clean filter."""
    return next(found for _, found in found_variants([variant], choices, "clean"))


def _key(reading: Reading) -> tuple[object, ...]:
    return (reading.gate_set, frozenset(reading.open))


def _choice(model: Model, reading: Reading) -> Choice:
    return choose_set(model, reading.gate_set) if reading.gate_set else choose_open(model, reading.open)
