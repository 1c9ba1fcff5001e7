"""Points of the blower's curve that a slip of the pen has put where no curve goes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ductcalc.catalog import fact
from ductcalc.findings.changes import collector_changed
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import flow, pressure, say
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject
from ductcalc.shop.change import Change
from ductcalc.shop.shop import Collector, FlowPressure

TENFOLD, NEARLY = 10.0, 1.1
"""What a slip of the decimal point makes of a pressure; how far beyond its neighbours the right one may lie."""
NO_PRESSURE_PA = 1e-9
FEW = 5
"""Points below which nobody can say which of them is off the line."""
Points = Sequence[FlowPressure]


def stray_points(subject: Subject) -> Iterator[Observation]:
    """See a point of the blower's curve far off the ones beside it, as a slip of the pen makes it."""
    for point, beside in _stray(subject.collector.collector.blower):
        least, most = (pick(one.pressure_pa for one in beside) for pick in (min, max))
        tenfold = (point.pressure_pa / TENFOLD, point.pressure_pa * TENFOLD)
        close = [meant for meant in tenfold if least / NEARLY <= meant <= NEARLY * most]
        meant = close[0] if close else 0.5 * (least + most)
        their = "neighbours, {} and {}" if len(beside) > 1 else "neighbour, {}"
        yield Observation(
            point.place or subject.collector.collector.place,
            subject.collector.name,
            say(
                f"{{}} at {{}} is off the line of its {their}",
                pressure(point.pressure_pa), flow(point.flow_m3_s), *(pressure(one.pressure_pa) for one in beside),
            ),
            say("is it {}? Look that point up" if close else "look that point up: about {} would fit", pressure(meant)),
            _point_changed(subject, point, meant),
            "otherwise",
            subject.watch_worst(),
            pressure(point.pressure_pa),
        )  # fmt: skip


def _stray(points: Points) -> list[tuple[FlowPressure, Points]]:
    """Return points many times over or under those beside them, with these; the farthest off first, then without it."""
    times, left = fact("findings", "stray point").value, list(points)
    found: list[tuple[FlowPressure, Points]] = []
    while len(left) > 2:
        place = max(range(1, len(left) - 1), key=lambda n: _off(left[n], (left[n - 1], left[n + 1])))
        beside = (left[place - 1], left[place + 1])
        if _off(left[place], beside) <= times:
            break
        found.append((left.pop(place), beside))
    if len(left) > 2 and _off(left[0], (left[1], _line_back(*left[:3]))) > times:
        found.append((left[0], (left[1],)))
    return found or _off_the_line(points)


def _off_the_line(points: Points) -> list[tuple[FlowPressure, Points]]:
    """Return the one point without which a sagging curve bulges everywhere, as fans' curves do, with its neighbours."""
    places = range(1, len(points) - 1)
    if len(points) < FEW or _sag(points) <= fact("findings", "off the line").value:
        return []
    place = min(places, key=lambda n: _sag([*points[:n], *points[n + 1 :]]))
    if _sag([*points[:place], *points[place + 1 :]]) > fact("findings", "even curve").value:
        return []
    return [(points[place], (points[place - 1], points[place + 1]))]


def _sag(points: Points) -> float:
    """Return how far a point lies below the line through its neighbours at most, over the largest pressure."""
    most = max(point.pressure_pa for point in points)
    places = range(1, len(points) - 1)
    sags = (_between(points[n], points[n - 1], points[n + 1]) - points[n].pressure_pa for n in places)
    return max(sags, default=0.0) / most if most > 0.0 else 0.0


def _between(point: FlowPressure, before: FlowPressure, after: FlowPressure) -> float:
    """Return the pressure [Pa] at a point's flow on the line through its neighbours."""
    share = (point.flow_m3_s - before.flow_m3_s) / (after.flow_m3_s - before.flow_m3_s)
    return before.pressure_pa + share * (after.pressure_pa - before.pressure_pa)


def _off(point: FlowPressure, beside: Points) -> float:
    """Return how many times a point's pressure is over all those beside it, or under all of them."""
    here, pressures = max(point.pressure_pa, NO_PRESSURE_PA), [max(p.pressure_pa, NO_PRESSURE_PA) for p in beside]
    return max(here / max(pressures), min(pressures) / here)


def _line_back(first: FlowPressure, second: FlowPressure, third: FlowPressure) -> FlowPressure:
    """Return the point at the first one's flow on the line through the other two: real curves hardly go higher."""
    steepness = (second.pressure_pa - third.pressure_pa) / (third.flow_m3_s - second.flow_m3_s)
    higher = steepness * (second.flow_m3_s - first.flow_m3_s)
    return FlowPressure(first.flow_m3_s, second.pressure_pa + max(higher, 0.0))


def _point_changed(subject: Subject, point: FlowPressure, pressure_pa: float) -> Change:
    def change(collector: Collector) -> Collector:
        right = replace(point, pressure_pa=pressure_pa)
        return replace(collector, blower=tuple(right if one == point else one for one in collector.blower))

    return collector_changed(subject, "another pressure of one point of the blower's curve", change)


def rising_curve(subject: Subject) -> Iterator[Observation]:
    """See a blower's curve that rises more than the small hump which real ones have, stray points left out."""
    points = subject.collector.collector.blower
    stray = [point for point, _ in _stray(points)]
    left = [point for point in points if point not in stray]
    pairs = [(one, other) for number, one in enumerate(left) for other in left[number + 1 :] if one.pressure_pa > 0.0]
    if not pairs:
        return
    low, high = max(pairs, key=lambda pair: pair[1].pressure_pa / pair[0].pressure_pa)
    times = high.pressure_pa / low.pressure_pa
    if times <= fact("findings", "rising curve").value:
        return
    yield Observation(
        high.place or subject.collector.collector.place,
        subject.collector.name,
        say(
            "its pressure rises with the flow, from {} at {} to {} at {}",
            pressure(low.pressure_pa), flow(low.flow_m3_s), pressure(high.pressure_pa), flow(high.flow_m3_s),
        ),
        say("look both points up: beyond a small hump a blower has less pressure the more air it moves"),
        amount=pressure(high.pressure_pa - low.pressure_pa),
        share=times - 1.0,
    )  # fmt: skip


RULES = (
    Rule(
        "stray point",
        "a point of the blower's curve far off its neighbours",
        "the right pressure",
        "practice",
        stray_points,
        always=True,
        moves_all=True,
    ),
    Rule(
        "rising curve",
        "a blower's pressure that rises with the flow, beyond a small hump",
        "the right points",
        "practice",
        rising_curve,
        always=True,
        moves_all=True,
    ),
)
