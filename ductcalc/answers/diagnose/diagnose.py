"""Readings against calculation: which single fault explains them best, how sure, what to read next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ductcalc.answers.diagnose.further import Further, further_reading
from ductcalc.answers.diagnose.observed import Observed
from ductcalc.answers.diagnose.weighed import Looked, Suspect
from ductcalc.answers.tune import untuned
from ductcalc.cases.solving import collector_of
from ductcalc.catalog import fact
from ductcalc.errors import InputError, Problem
from ductcalc.model.model import build_model
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
