"""The one further reading that would part two explanations best."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ductcalc.answers.diagnose.faults import Kit
from ductcalc.answers.diagnose.fitted import Fitted
from ductcalc.answers.diagnose.observed import PRESSURE_SCALE_PA, found_once
from ductcalc.cases.choices import every_machine_alone
from ductcalc.cases.taps import Tap, Taps, TapTable
from ductcalc.cases.variants import Variant
from ductcalc.catalog import fact
from ductcalc.model.model import Model


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
