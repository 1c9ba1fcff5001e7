"""What was read where in a shop, by which instrument, when, with which gates open; a log that only grows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ductcalc.errors import Place

FILE = "readings.csv"
COLUMNS = ("when", "open", "where", "kind", "value", "instrument", "uncertainty", "healthy", "note")
ReadingKind = Literal["static", "velocity pressure", "speed", "drop", "current"]
TapWord = Literal["port", "gate", "end", "at", "collector inlet", "filter", "blower outlet", "motor"]


@dataclass(frozen=True)
class Where:
    """A tap: behind a run's machine (`port`), behind its gate, at its end, at a distance [m] from its start; or a place
    at the collector. written: as the table writes it.
    """

    word: TapWord
    written: str
    run: str | None = None
    distance_m: float | None = None


@dataclass(frozen=True)
class Reading:
    """One reading in SI: a suction, drop or velocity pressure [Pa], a speed [m/s], a current [A].

    when: date and time in ISO form. open: machines whose gates were open; gate_set: the set they were named by.
    sigma: one standard deviation, in the unit of the value. healthy: taken when all was well.
    """

    when: str
    open: tuple[str, ...]
    where: Where
    kind: ReadingKind
    value: float
    instrument: str
    sigma: float
    healthy: bool = False
    gate_set: str | None = None
    note: str | None = None
    place: Place | None = None
