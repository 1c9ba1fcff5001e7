"""Readings against calculation: which single fault explains them best, how sure, what to read next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ductcalc.answers.diagnose.faults import Kit
from ductcalc.answers.diagnose.fitted import Fitted
from ductcalc.answers.diagnose.observed import PRESSURE_SCALE_PA, Observed, found_once
from ductcalc.answers.diagnose.weighed import Looked, Suspect
from ductcalc.answers.tune import untuned
from ductcalc.cases.choices import every_machine_alone
from ductcalc.cases.solving import collector_of
from ductcalc.cases.taps import Tap, Taps, TapTable
from ductcalc.cases.variants import Variant
from ductcalc.catalog import fact
from ductcalc.errors import InputError, Problem
from ductcalc.model.model import Model, build_model
from ductcalc.shop.readings import Reading
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop


@dataclass(frozen=True)
class Diagnosis:
    """What readings say. when: of the readings looked at; baseline: of the healthy ones they are held against.

    suspects: likeliest first, `no fault` and two faults at once among them. healthy_now: what a healthy shop would
    read. further: the one further reading that would part the best two. unseen: how many faults cannot show in these
    readings. by_change: the healthy readings contradict the shop as it is written; only what has changed since counts.
    """

    shop: str
    when: str
    baseline: str | None
    now: tuple[Reading, ...]
    unused: tuple[Reading, ...]
    healthy_now: tuple[float, ...]
    suspects: tuple[Suspect, ...]
    further: Further | None
    unseen: int
    by_change: bool = False
    changes: tuple[str, ...] = ()

    @property
    def first(self) -> Suspect:
        """The likeliest."""
        return self.suspects[0]

    @property
    def rival(self) -> Suspect | None:
        """The likeliest other one that the further reading is to part from the first."""
        return rival_of(self.suspects)

    @property
    def unexplained(self) -> bool:
        """Whether even the likeliest misses the readings by more than chance allows."""
        return self.first.misfit > fact("measuring", "contradicted").value

    @property
    def alike(self) -> tuple[Suspect, ...]:
        """Those that cannot be told from the likeliest."""
        return tuple(suspect for suspect in self.suspects[1:] if suspect.alike)


def diagnose(shop: Shop, readings: Sequence[Reading], junction: Junction | None = None) -> Diagnosis:
    """Return what the latest readings say of a shop, held against those of a healthy time where there are any.

    These are fitted here: what was tuned to them before counts only without them.

    Raises InputError when there is nothing to look at, NoAnswerError when the healthy shop has no answer.
    """
    now, before = _parted(readings)
    if before:
        shop = untuned(shop)
    model = build_model(shop, junction)
    collector_of(model)
    observed = Observed.of(model, [*before, *now])
    looked = Looked.at(observed)
    found = looked.suspects()
    first, rival = found[0], rival_of(found)
    further = further_reading(looked.fit, *looked.nearest(first, rival)) if rival and first.told else None
    return Diagnosis(
        shop.name,
        now[0].when,
        before[-1].when if before else None,
        tuple(reading for reading in observed.readings if not reading.healthy),
        observed.unused,
        looked.in_units(looked.healthy),
        tuple(found),
        further,
        looked.unseen,
        looked.fit.observed.by_change,
        shop.changes,
    )


def rival_of(suspects: Sequence[Suspect]) -> Suspect | None:
    """Return the likeliest behind the first of which a reading can be foretold."""
    return next((suspect for suspect in suspects[1:] if suspect.told), None)


def _parted(readings: Sequence[Reading]) -> tuple[list[Reading], list[Reading]]:
    """Return the readings of the latest day that are not marked healthy, and all that are."""
    sick = [reading for reading in readings if not reading.healthy]
    if not sick:
        hint = "leave healthy blank in the rows to be looked at; ductcalc tune takes the healthy ones"
        raise InputError([Problem("every reading is marked healthy: there is nothing to diagnose", hint)])
    day = max(reading.when[:10] for reading in sick)
    well = [reading for reading in readings if reading.healthy]
    return [reading for reading in sick if reading.when[:10] == day], well


@dataclass(frozen=True)
class Further:
    """A reading that was not taken: where, with what open, and what it would show in the one case and in the other.

    apart: by how many standard deviations of a U-tube and of the calculation these differ.
    """

    where: str
    open: tuple[str, ...]
    first_pa: float
    second_pa: float
    apart: float


def further_reading(fit: Fitted, first: Variant | None, second: Variant | None) -> Further | None:
    """Return the reading that parts two changed shops best (None: the healthy one); None where none would."""
    observed = fit.observed
    known = {frozenset(choice.machines) for choice in observed.choices}
    alone = [choice for choice in every_machine_alone(observed.model) if frozenset(choice.machines) not in known]
    choices = (*observed.choices, *alone)
    healthy = Kit.like(observed.model, fit).off()
    reads = []
    where = [tap.where for tap in _worth_drilling(observed.model)]
    for variant in (first or healthy, second or healthy):
        finder = {tap.where: tap for tap in _worth_drilling(variant.model)}
        if not all(name in finder for name in where):
            return None
        table = TapTable(variant.model, tuple(finder[name] for name in where))
        reads.append(table.read(found_once(variant, choices)).static_pa)
    taken = {(reading.where.written, int(case)) for reading, case in zip(observed.readings, observed.case, strict=True)
             if not reading.healthy}  # fmt: skip
    one, other = reads
    size = np.hypot(0.5 * (np.abs(one) + np.abs(other)), PRESSURE_SCALE_PA)
    own = np.hypot(0.5 * fact("measuring", "u-tube").value, 0.5 * fact("measuring", "repeat").value * size)
    apart = np.nan_to_num(np.abs(one - other) / np.hypot(own, 0.5 * fact("measuring", "model").value * size))
    for tap, name in enumerate(where):
        for case in range(len(choices)):
            if (name, case) in taken:
                apart[tap, case] = 0.0
    tap, case = divmod(int(np.argmax(apart)), len(choices))
    if apart[tap, case] < fact("measuring", "told apart").value:
        return None
    return Further(
        where[tap], choices[case].machines, float(one[tap, case]), float(other[tap, case]), float(apart[tap, case])
    )


def _worth_drilling(model: Model) -> tuple[Tap, ...]:
    finder = Taps(model)
    return (*finder.of_runs(), *finder.ahead_of_wyes())
