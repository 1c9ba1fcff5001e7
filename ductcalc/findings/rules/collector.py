"""The collector: what is known of it, what it really pulls, what it cannot stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from ductcalc.cases.case import Case
from ductcalc.catalog import fact
from ductcalc.errors import Place
from ductcalc.findings.changes import collector_changed
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import cloth, flow, power, pressure, say
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject, case_words
from ductcalc.model.collector import usual_part
from ductcalc.physics.curve import evaluate
from ductcalc.shop.change import Change
from ductcalc.shop.shop import FILTER_PARTS, CurveBasis, FlowPressure

ENDS = "its two points look like the two figures on the box; no blower gives both at once"
FLAT = "its curve has the whole pressure at the largest flow; no blower gives both at once"
POINTS = 9
"""Points that stand for a smooth curve when it is written out."""


def _changed(subject: Subject, label: str, **fields: Any) -> Change:
    """Change fields of the collector in use."""
    return collector_changed(subject, label, lambda collector: replace(collector, **fields))


def advertised(subject: Subject) -> Iterator[Observation]:
    """See a blower of which only the two advertised maxima are known."""
    known = subject.collector
    if not known.provisional:
        return
    curve = known.blower_curve("high")
    flows = np.linspace(0.0, float(curve.breaks[-1]), POINTS)
    points = tuple(FlowPressure(float(q), float(evaluate(curve, float(q))[0])) for q in flows)
    yield Observation(
        known.collector.place,
        known.name,
        say(
            "only the two figures on the box are known; no blower gives both at once. A cautious curve is counted,"
            " a hopeful one would go through both"
        ),
        say("get the blower's curve, or measure suction and flow at one setting"),
        _changed(subject, "the hopeful curve through both maxima", blower=points, advertised=None),
        "otherwise",
        subject.watch_worst(),
    )


def two_points(subject: Subject) -> Iterator[Observation]:
    """See a curve of two points that look like the advertised maxima."""
    points = subject.collector.collector.blower
    if len(points) != 2 or points[0].flow_m3_s > 0.0:
        return
    flat = points[1].pressure_pa >= fact("findings", "flat curve").value * points[0].pressure_pa
    if points[1].pressure_pa > 0.0 and not flat:
        return
    both = FlowPressure(points[1].flow_m3_s, points[0].pressure_pa)
    yield Observation(
        subject.collector.collector.place,
        subject.collector.name,
        say(FLAT if flat else ENDS),
        say("get the curve, or write both in one row as advertised"),
        _changed(subject, "the points read as advertised", blower=(), advertised=both),
        "otherwise",
        subject.watch_worst(),
    )


def no_filter(subject: Subject) -> Iterator[Observation]:
    """See a collector that blows into the room and is said to have no filter."""
    found = subject.collector.collector
    none = subject.collector.filter_clean is None and subject.collector.filter_loaded is None
    if not none or subject.shop.settings.room.exhaust == "outdoors" or found.contains & FILTER_PARTS:
        return
    usual = usual_part(found, "filter clean")
    yield Observation(
        found.place,
        subject.collector.name,
        say("it has no filter, and its air is not said to go outdoors"),
        say('write the filter\'s clean and loaded pressure, or exhaust = "outdoors" under [room] in shop.toml'),
        _changed(subject, "a usual filter counted", absent=found.absent - FILTER_PARTS, filter_clean=usual),
        "counts",
        subject.watch_worst(),
    )


def never_loaded(subject: Subject) -> Iterator[Observation]:
    """See a filter that is said to take no more when it is loaded."""
    clean, loaded = subject.collector.filter_clean, subject.collector.filter_loaded
    found = subject.collector.collector
    if clean is None or loaded is None or found.filter_loaded is None:
        return
    at = loaded.rated_flow_m3_s
    air, rated = subject.collector.air, subject.collector.rated
    if loaded.term(air, rated).at(at) > fact("findings", "hardly loaded").value * clean.term(air, rated).at(at):
        return
    yield Observation(
        found.place,
        subject.collector.name,
        say("the loaded filter takes no more than the clean one: {}", pressure(loaded.pressure_pa.value)),
        say("write the reading at which you clean it, or leave the loaded row out"),
        _changed(subject, "a usual loaded filter", filter_loaded=None),
        "counts",
        subject.watch_worst(),
    )


def basis_unknown(subject: Subject) -> Iterator[Observation]:
    """See a blower curve of which it is not said what pressure it is, though a size is given that one kind needs."""
    found = subject.collector.collector
    if found.basis is not None or not found.blower:
        return
    if found.test_pipe_m is not None:
        yield _read_as(
            subject,
            "inlet suction",
            "a test pipe is given, but not what its curve is",
            "the curve read as suction in the test pipe",
        )
    elif found.outlet_size_m is not None:
        yield _read_as(
            subject,
            "fan total",
            "the outlet's size is given, but not what its curve is",
            "the curve read as total pressure",
        )


def _read_as(subject: Subject, basis: CurveBasis, what: str, label: str) -> Observation:
    return Observation(
        Place("shop.toml", key="collector.curve"),
        subject.collector.name,
        say(what),
        say('write curve = "{}" or curve = "fan static" in shop.toml', basis),
        _changed(subject, label, basis=basis),
        "otherwise",
        subject.watch_worst(),
    )


def far_too_strong(subject: Subject) -> Iterator[Observation]:
    """See a blower that would do for all branches one after the other, where each needs it alone."""
    single = [case for case in subject.cases if case.single]
    alone = [case for case in single if None not in (case.wanted.suction_total_pa, case.wanted.margin_pa)]
    if len(alone) < fact("findings", "many machines").value or len(alone) != len(subject.model.machines):
        return
    needs = [case.wanted.suction_total_pa or 0.0 for case in alone]
    spares = [case.wanted.margin_pa or 0.0 for case in alone]
    most = max(range(len(alone)), key=lambda n: needs[n])
    offers = [need + spare for need, spare in zip(needs, spares, strict=True)]
    left = min(spare / offer if offer > 0.0 else 0.0 for spare, offer in zip(spares, offers, strict=True))
    if left < fact("findings", "far too strong").value or min(offers) < sum(needs):
        return
    if any(not case.single for case in subject.cases):
        return
    yield Observation(
        subject.collector.collector.place,
        subject.collector.name,
        say(
            "the hardest branch ({}) needs {} of suction. The collector has {} there, enough for all branches added up"
            " ({})",
            alone[most].asked[0], pressure(needs[most]), pressure(offers[most]), pressure(sum(needs)),
        ),
        say("a smaller blower would do: branches side by side are never added"),
        amount=pressure(spares[most]),
        share=left,
    )  # fmt: skip


def overload(subject: Subject) -> Iterator[Observation]:
    """See a blower whose motor may be overloaded: beyond its power, or far right on its curve."""
    if not subject.cases or subject.collector.provisional:
        return
    points, motor = subject.collector.collector.blower, subject.shop.settings.running.motor_w
    case = max(subject.cases, key=lambda c: c.collector_flow_m3_s)
    stated = [p.power_w for p in points if p.power_w is not None]
    if motor is not None and stated and max(stated) > motor:
        yield _over_its_power(subject, case, motor, max(stated))
    elif not stated and case.collector_flow_m3_s > fact("findings", "far right").value * points[-1].flow_m3_s:
        yield _far_right(subject, case)
    elif motor is not None and not stated and (least := _least_power(subject, case)) > motor:
        yield _too_small(subject, case, motor, least)


def _least_power(subject: Subject, case: Case) -> float:
    """Return what the blower takes at least in a case [W]: power in the air over the best fan efficiency."""
    best = subject.shop.settings.running.fan_efficiency or fact("running", "fan efficiency").high
    pressure_pa = float(evaluate(subject.collector.blower_curve(), case.collector_flow_m3_s)[0])
    thinner = subject.collector.air.density_kg_m3 / subject.collector.rated.density_kg_m3
    return case.collector_flow_m3_s * pressure_pa * thinner / best


def _too_small(subject: Subject, case: Case, motor_w: float, least_w: float) -> Observation:
    return Observation(
        subject.collector.collector.place,
        subject.collector.name,
        say(
            "with {} open the air alone takes {} of the motor at least, and it gives {}",
            case_words(case), power(least_w), power(motor_w),
        ),
        say("look at curve and motor again; {}, and let a licensed electrician measure the current", _less_air(case)),
        amount=power(least_w - motor_w),
        share=least_w / motor_w - 1.0,
    )  # fmt: skip


def _over_its_power(subject: Subject, case: Case, motor_w: float, most_w: float) -> Observation:
    """Return what is seen where the blower asks for more than the motor gives: at work, or with more air than that."""
    at_work = subject.collector.power_w(case.collector_flow_m3_s)
    over = at_work is not None and at_work > motor_w
    takes = at_work if at_work is not None and over else most_w
    when = f"with {case_words(case)} open" if over else "with a bare inlet or many gates open"
    cure = _less_air(case) if over else "never run it without its ducts"
    return Observation(
        subject.collector.collector.place,
        subject.collector.name,
        say("{} the blower takes {}, the motor gives {}", when, power(takes), power(motor_w)),
        say("{}, and let a licensed electrician measure the current", cure),
        amount=power(takes - motor_w),
        share=takes / motor_w - 1.0,
    )


def _far_right(subject: Subject, case: Case) -> Observation:
    last = subject.collector.collector.blower[-1].flow_m3_s
    return Observation(
        subject.collector.collector.place,
        subject.collector.name,
        say(
            "with {} open it moves {}, near the end of its curve at {}, where a radial blower loads its motor most",
            case_words(case), flow(case.collector_flow_m3_s), flow(last),
        ),
        say(
            "{}, and let a licensed electrician measure the motor's current; power on the blower's rows and motor under"
            " [running] in shop.toml tell more",
            _less_air(case),
        ),
        amount=flow(case.collector_flow_m3_s),
        share=case.collector_flow_m3_s / last - fact("findings", "far right").value,
    )  # fmt: skip


def _less_air(case: Case) -> str:
    """Return what takes load off the motor in a case."""
    return "throttle it with a gate" if case.single else "open fewer gates"


def small_filter(subject: Subject) -> Iterator[Observation]:
    """See a filter with too little cloth for its air."""
    media = subject.shop.settings.running.filter_m2
    if media is None or not subject.cases:
        return
    usual, most = fact("running", "filter rate").value, fact("running", "filter rate, air returned").value
    case = max(subject.cases, key=lambda c: c.collector_flow_m3_s)
    if case.collector_flow_m3_s / media <= most:
        return
    needs = case.collector_flow_m3_s / usual
    yield Observation(
        Place("shop.toml", key="running.filter_area"),
        "filter",
        say(
            "{} of filter for {} of air; an official guide asks for {} at least where the air comes back",
            cloth(media), flow(case.collector_flow_m3_s), cloth(case.collector_flow_m3_s / most),
        ),
        say("take more cloth, {} is usual: a small filter clogs soon", cloth(needs)),
        amount=cloth(needs),
        share=case.collector_flow_m3_s / media / most - 1.0,
    )  # fmt: skip


RULES = (
    Rule(
        "advertised figures",
        "only two advertised maxima are known",
        "the blower's curve",
        "practice",
        advertised,
        moves_all=True,
    ),
    Rule(
        "two end points",
        "a curve of its two ends only",
        "the word advertised, or a curve",
        "practice",
        two_points,
        moves_all=True,
    ),
    Rule(
        "no filter",
        "a filter written as none while the air stays in the room",
        "its rows",
        "practice",
        no_filter,
        moves_all=True,
    ),
    Rule(
        "filter never loaded",
        "a loaded filter that takes no more than the clean one",
        "the reading at which it is cleaned",
        "practice",
        never_loaded,
        moves_all=True,
    ),
    Rule(
        "basis of the curve",
        "a test pipe or an outlet size without the word what the curve is",
        "curve = ... in shop.toml",
        "practice",
        basis_unknown,
        moves_all=True,
    ),
    Rule(
        "blower for the sum",
        "a blower that would do for all branches added up, where each runs alone",
        "a smaller blower",
        "practice",
        far_too_strong,
    ),
    Rule("motor load", "a motor near or over its load at large flows", "fewer gates open", "practice", overload, True),
    Rule("small filter", "too little filter for the air", "more cloth", "practice", small_filter),
)
