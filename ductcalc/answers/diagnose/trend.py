"""The log over its dates: how the filter loads, what else grows, when the cleaning line is crossed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.diagnose.faults import Kit
from ductcalc.answers.diagnose.fitted import Fitted, fitted_to_healthy
from ductcalc.answers.diagnose.observed import Observed, found_once
from ductcalc.answers.diagnose.weighed import NINE_TENTHS, SUSPECTS, Looked, Suspect
from ductcalc.answers.tune import untuned
from ductcalc.arrays import Floats
from ductcalc.cases.solving import collector_of, end_flow
from ductcalc.model.model import build_model
from ductcalc.shop.readings import Reading
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

TIMES = (0.1, 0.3, 0.6, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0)
MOST_DAYS = 24
"""Days, the latest ones, of which each is diagnosed."""

LONGEST_LOOK = 3
"""How many times the log's own length ahead a crossing is told."""


@dataclass(frozen=True)
class Day:
    """What the readings of a day say. times, low, high: the filter's loss over its clean one, with the 80 % band, None
    where it was not read. suspect: the likeliest fault, None on a healthy day; last: the one that is likeliest on the
    last day, as large as it was on this one, None where it could not be seen yet.
    """

    when: str
    times: float | None
    low: float | None
    high: float | None
    suspect: Suspect | None
    last: Suspect | None = None


DAYS: Columns[Day] = (
    Column("when", lambda day: day.when),
    Column("times", lambda day: day.times),
    Column("low", lambda day: day.low),
    Column("high", lambda day: day.high),
    *within(Day, lambda day: day.suspect, SUSPECTS[:4]),
)


@dataclass(frozen=True)
class Trend:
    """The log day by day. line: the filter's loss over its clean one at which it is to be cleaned, None where none is
    known. crossed: the day on which it came to that; ahead: the day on which it will, at the rate so far. by_change:
    the healthy readings contradict the shop as it is written, so that loads are held against what was read then.
    """

    shop: str
    days: tuple[Day, ...]
    line: float | None
    crossed: str | None
    ahead: str | None
    by_change: bool = False
    changes: tuple[str, ...] = ()


def trend(shop: Shop, readings: Sequence[Reading], junction: Junction | None = None) -> Trend:
    """Return what a log says over its dates.

    Raises InputError when no reading can be used, NoAnswerError when the healthy shop has no answer.
    """
    healthy = [reading for reading in readings if reading.healthy]
    if healthy:
        shop = untuned(shop)
    model = build_model(shop, junction)
    collector_of(model)
    observed = Observed.of(model, readings)
    fit = fitted_to_healthy(observed)
    days = sorted({reading.when[:10] for reading in observed.readings})
    looked = dict(zip(days, _filter(fit, days), strict=True))
    suspects = {day: _suspects(observed, healthy, day) for day in days[-MOST_DAYS:]}
    last = next(iter(suspects[days[-1]]), None)
    found = [Day(day, *looked[day], next(iter(every), None), _same(every, last)) for day, every in suspects.items()]
    line = _line(fit)
    crossed, ahead = crossing(found, line)
    return Trend(shop.name, tuple(found), line, crossed, ahead, fit.observed.by_change, shop.changes)


def _same(suspects: Sequence[Suspect], last: Suspect | None) -> Suspect | None:
    """Return the fault of the last day among those of another one."""
    if last is None or last.second:
        return None
    same = (s for s in suspects if (s.kind, s.where) == (last.kind, last.where) and s.second is None)
    return next(same, None)


def _suspects(observed: Observed, healthy: Sequence[Reading], day: str) -> list[Suspect]:
    """Return what a day's readings may say, likeliest first; a healthy day says nothing."""
    sick = [reading for reading in observed.readings if reading.when[:10] == day and not reading.healthy]
    if not sick:
        return []
    before = [reading for reading in healthy if reading.when[:10] <= day]
    return Looked.at(Observed.of(observed.model, [*before, *sick])).suspects()


def _filter(fit: Fitted, days: Sequence[str]) -> list[tuple[float | None, float | None, float | None]]:
    """Return for each day how many times its clean loss the filter takes, with the 80 % band, from its drop.

    A loaded filter lets less air through: what its drop says is read off the shop solved at several loads.
    """
    observed = fit.observed
    made = observed.model.collector
    places = [n for n, reading in enumerate(observed.readings) if reading.where.word == "filter"]
    if made is None or made.filter_clean is None or not places:
        return [(None, None, None)] * len(days)
    kit, pressure = Kit.like(observed.model, fit), made.filter_clean.pressure_pa
    now = kit.value(id(pressure), pressure.value)
    read = observed.read([kit.off({id(pressure): now * times}) for times in TIMES])
    logs = np.log(TIMES)
    found: list[tuple[float | None, float | None, float | None]] = []
    for day in days:
        mine = [place for place in places if observed.readings[place].when[:10] == day]
        if not mine:
            found.append((None, None, None))
            continue
        ends = [_load(fit, read, mine, logs, sign) for sign in (0.0, -NINE_TENTHS, NINE_TENTHS)]
        found.append((ends[0], ends[1], ends[2]))
    return found


def _load(fit: Fitted, read: Floats, places: Sequence[int], logs: Floats, sign: float) -> float:
    """Return the mean load (geometric) that some drops say, so many standard deviations off what was read."""
    observed, off = fit.observed, sign / len(places) ** 0.5
    spread = np.sqrt(np.diag(replace(observed, by_change=False).noise))
    each = [np.interp(observed.measured[p] - _level(fit, p) + off * spread[p], read[p], logs) for p in places]
    return float(np.exp(np.mean(each)))


def _level(fit: Fitted, place: int) -> float:
    """Return by how much (as compared) a drop was off calculation when all was well, where only changes count."""
    observed = fit.observed
    same = observed.healthy & (observed.tap == observed.tap[place]) & (observed.case == observed.case[place])
    return float((observed.measured - fit.read)[same].mean()) if observed.by_change and same.any() else 0.0


def _line(fit: Fitted) -> float | None:
    """Return the loaded filter's loss over the clean one's, at the flow of the healthy shop."""
    observed = fit.observed
    made = observed.model.collector
    if made is None or made.filter_clean is None or made.filter_loaded is None:
        return None
    variant = Kit.like(observed.model, fit).off()
    flow = float(np.median(end_flow(observed.model, found_once(variant, observed.choices).solved)))
    clean, loaded = (
        part.term(made.air, made.rated, pick).at(flow)
        for part, pick in ((made.filter_clean, variant.pick), (made.filter_loaded, variant.pick))
    )
    return loaded / clean if loaded > clean else None


def crossing(days: Sequence[Day], line: float | None) -> tuple[str | None, str | None]:
    """Return the day on which the filter came to its line, or the one on which it will; by straight lines."""
    known = [(date.fromisoformat(day.when).toordinal(), day.times) for day in days if day.times is not None]
    if line is None or not known:
        return None, None
    if known[0][1] >= line:
        return days[0].when, None
    for (first, low), (second, high) in pairwise(known):
        if low < line <= high:
            return date.fromordinal(round(first + (line - low) / (high - low) * (second - first))).isoformat(), None
    return None, _ahead(known, line)


def _ahead(known: Sequence[tuple[int, float]], line: float) -> str | None:
    """Return the day on which a straight line through the loads since the last cleaning reaches the line."""
    start = max((n for n in range(1, len(known)) if known[n][1] < 0.8 * known[n - 1][1]), default=0)
    days, loads = (np.array(part, dtype=float) for part in zip(*known[start:], strict=True))
    if len(days) < 2 or days[-1] == days[0]:
        return None
    rate = float(np.polyfit(days - days[-1], loads, 1)[0])
    if rate <= 0.0:
        return None
    left = (line - float(loads[-1])) / rate
    if left > LONGEST_LOOK * (days[-1] - days[0]):
        return None
    return (date.fromordinal(int(days[-1])) + timedelta(days=round(left))).isoformat()
