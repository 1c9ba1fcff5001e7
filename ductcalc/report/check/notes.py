"""The foot of a verdict: remarks, air, units, limits, cautions."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.check import Check
from ductcalc.report.blocks import Block, Heading
from ductcalc.report.check.sentences import case_title, thin_air
from ductcalc.report.closing import caution_lines, noted
from ductcalc.report.display import Display
from ductcalc.report.grades import grade_note
from ductcalc.report.sentences import listed

LIMITS = (
    "Loss coefficients are rounded judgement as much as measurement: a real system agrees with a good calculation"
    " within 10 to 25 % (from memory).",
    "Density is held constant along the path. Dilute wood dust and chips only: no sparks, no metal, no fumes.",
)


def foot_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield remarks, what is not used yet, and the air."""
    own = [*_crossings(check, display), *_case_notes(check)]
    if own or check.remarks or check.unused:
        yield Heading("Remarks")
    for remark in own:
        yield noted(remark)
    for remark in check.remarks:
        yield noted(remark)
    for unused in check.unused:
        yield noted(f"read, but not used in any figure yet: {unused}")
    yield Heading("Notes")
    yield noted(grade_note())
    yield noted(_air_words(check, display))
    yield from map(noted, thin_air(check, display))
    yield from map(noted, _readings(check, display))
    yield noted(_unit_words(display))
    yield noted(
        f"With every gate shut and a clean filter the collector can pull {display.pressure(check.shut_off_pa)}:"
        " thin pipe must stand that."
    )


def _crossings(check: Check, display: Display) -> Iterator[str]:
    """Say where ducts and a humped curve agree at several flows."""
    for case in check.cases:
        if case.collector is not None and case.other_crossings_m3_s:
            flows = sorted([*case.other_crossings_m3_s, case.collector.flow_m3_s])
            yield (
                f"{case_title(case)}, {case.filter} filter: ducts and blower agree at"
                f" {listed([display.flow(flow) for flow in flows])}; the largest steady one is taken. Doubt the"
                " blower's points: a curve that falls and rises again is rare."
            )


def _case_notes(check: Check) -> Iterator[str]:
    return (f"{case_title(case)}: {case.note}." for case in check.loaded if case.note)


def limit_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield limits and cautions; what leaves the room first."""
    for limit in LIMITS:
        yield noted(limit)
    flows = [case.collector.flow_m3_s for case in check.cases if case.collector is not None]
    if check.room.exhaust == "outdoors" and flows and not check.room.heater:
        yield noted(f"Exhausts outdoors: up to {display.flow(max(flows))} leave the room and come back in.")
    yield from caution_lines()


def _air_words(check: Check, display: Display) -> str:
    air = check.air
    said = f"Air: {display.density(air.density_kg_m3)}, {air.says}"
    if air.stated:
        return f"{said}."
    return (
        f"{said} ({display.altitude(air.altitude_m)}, {display.temperature(air.temperature_k)}, humidity"
        f" {display.share(air.humidity)})."
    )


def _readings(check: Check, display: Display) -> Iterator[str]:
    """Say how readings must be taken in thin air."""
    if check.thin_air:
        slow = display.share(1.0 - (1.0 - check.thin_air) ** 0.5)
        yield f"A Pitot tube read by the sea-level constant shows {slow} too little speed here."


def _unit_words(display: Display) -> str:
    if display.system == "metric":
        return "Pressures in pascal; 1 inch of water is 249.0889 Pa."
    return "inwg is inches of water; 1 inch of water is 249.0889 Pa."
