"""What a comparison comes to, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.compare.advice import LEAST_BAND, Standing, key_of_case
from ductcalc.answers.compare.compare import Comparison
from ductcalc.answers.verdict import PoorestPort
from ductcalc.report.blocks import glued
from ductcalc.report.check.sentences import case_title, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.sentences import listed, several, the
from ductcalc.shop.names import key_of

LEAST_TOLD = 0.0005
"""Share below which a difference would be shown as 0.0 %."""


def verdict(comparison: Comparison, display: Display) -> str:
    """Return the first line of the report: which one is best, by what, and how the worst off fares."""
    found = comparison.advice
    if not found.standings[0].cases:
        name = _name(comparison, "A")
        return f"Nothing to compare: no machine or set of {name} bears the same name in all the others."
    if all(standing.unanswered == standing.cases for standing in found.standings):
        first = comparison.variants[0].check.unanswered[0]
        return f"{_names(comparison)} have no answer: {case_title(first)}: {why_no_answer(first, display)}."
    if found.best is not None:
        return _best(comparison, found.best, display)
    if len(found.alike) == len(comparison.variants) - 1:
        return f"{_names(comparison)} are alike: {_alike(comparison, display)} (dirty filter)."
    return (
        f"None of {_names(comparison)} stands out: {_counted(found.standings)}; {_worst_off(comparison, display)}. What"
        f" the poorest get is within the band of {display.share(found.band)} (dirty filter); other figures differ."
    )


def _alike(comparison: Comparison, display: Display) -> str:
    """Say by how little all figures differ; where a limit lies between them, counts differ all the same."""
    found = comparison.advice
    said = "air and speeds are the same"
    if found.most_apart >= LEAST_TOLD:
        said = (
            f"air and speeds differ by {display.share(found.most_apart)} at most, less than the band of"
            f" {display.share(found.band)}"
        )
    if len({standing.counts for standing in found.standings}) > 1:
        said += f", though a limit lies between them: {_counted(found.standings)}"
    return f"{said}; {_worst_off(comparison, display)}"


def _names(comparison: Comparison) -> str:
    return listed([_name(comparison, variant.letter) for variant in comparison.variants])


def _best(comparison: Comparison, best: str, display: Display) -> str:
    found = comparison.advice
    winner, other = found.standing(best), found.standing(found.against or "A")
    reasons = [_by_counts(winner, other)] if winner.counts != other.counts else []
    if found.telling is not None:
        reasons.append(_gains(*found.telling, other.letter, display))
    alike = f" A and {listed(found.alike)} are alike." if found.alike else ""
    word = "stays" if best == "A" else "is"
    better = "better one" if len(comparison.variants) == 2 else "best"
    return f"{_name(comparison, best)} {word} the {better}: {'; '.join(reasons)} (dirty filter).{alike}"


def _by_counts(winner: Standing, other: Standing) -> str:
    """Say the first count by which two differ."""
    of = several(winner.cases, "case")
    if winner.unanswered != other.unanswered:
        return f"no answer for {winner.unanswered} of {of}, with {other.letter} for {other.unanswered}"
    if winner.short != other.short:
        return f"too little air in {winner.short} of {of}, with {other.letter} in {other.short}"
    return f"chips settle in {winner.settling} of {of}, with {other.letter} in {other.settling}"


def _gains(port: PoorestPort, twin: PoorestPort, letter: str, display: Display) -> str:
    """Say what a port gets in the best shop and in the other one."""
    got = display.got_number(twin.port.flow_m3_s, twin.port.wanted_m3_s, twin.port.enough)
    wanted, before = display.flow(port.port.wanted_m3_s), display.flow(twin.port.wanted_m3_s)
    of = "" if before == wanted else f" of {before}"
    return f"{_who(port)} gets {_of_wanted(port, display)}, with {letter} {got}{of}"


def _who(port: PoorestPort) -> str:
    title = "alone" if port.case.alone else f"with {case_title(port.case)}"
    return f"{the(port.machine.machine)} {title}"


def _of_wanted(least: PoorestPort, display: Display) -> str:
    port = least.port
    at = f" at its port {port.run}" if len(least.machine.ports) > 1 else ""
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    return f"{got} of {display.flow(port.wanted_m3_s)} wanted{at}"


def _worst_off(comparison: Comparison, display: Display) -> str:
    """Say what the worst off of the first shop gets."""
    least = comparison.advice.standings[0].poorest
    if least is None:
        return "no machine gets air"
    return f"the worst off, {_who(least)}, gets {_of_wanted(least, display)}"


def _counted(standings: Sequence[Standing]) -> str:
    """Say of each in how many cases it is short, and in how many chips settle."""
    said = (f"{s.letter} is short in {s.short} and lets chips settle in {s.settling} of {s.cases}" for s in standings)
    return listed(list(said))


def _name(comparison: Comparison, letter: str) -> str:
    return glued(f"{letter} ") + f"({comparison.variant(letter).label})"


def legend(comparison: Comparison, display: Display) -> Iterator[tuple[str, str]]:
    """Yield each variant's letter, and what it is: its name, what was changed, and that it is provisional."""
    for variant in comparison.variants:
        said = variant.label
        if variant.check.changes:
            said += f": {'; '.join(variant.check.changes)}"
        if variant.letter == "A":
            said += ", against which the others are compared"
        if variant.check.provisional:
            said += "; PROVISIONAL: only two advertised maxima of the blower are known, the low curve is counted on"
        yield variant.letter, f"{said}."


def notes(comparison: Comparison, display: Display) -> Iterator[str]:
    """Yield what has to be known to read the figures."""
    yield (
        "More or less than A: the difference of two full calculations, rounded once, so that it may be 1 apart from"
        " that of the rounded figures."
    )
    band, least = (display.share(share) for share in (comparison.advice.band, LEAST_BAND))
    yield (
        "The band is what the assumptions, the wye methods and advertised curves leave open of a difference for"
        f" the worst off, taken in both at once: here {band}; it is never taken below {least}."
    )
    yield from _in_common(comparison)
    yield from _unlike_methods(comparison, display)
    if any(line.collector is not None and line.collector.power_w is not None for line in comparison.points):
        yield "Power is that of the collector's own points, motor or shaft as they say, in the shop's air."


def _in_common(comparison: Comparison) -> Iterator[str]:
    cases = comparison.advice.standings[0].cases
    if comparison.only_in:
        yield f"The first line judges the {several(cases, 'case')} that all have in common."
    for variant in comparison.variants:
        names = [name for letter, name in comparison.only_in if letter == variant.letter]
        if names:
            yield f"Not everywhere: {variant.letter} has {listed(names)}, another one lacks it."


def _unlike_methods(comparison: Comparison, display: Display) -> Iterator[str]:
    checks = [variant.check for variant in comparison.variants]
    if len({check.junction for check in checks}) > 1:
        said = listed([f"{v.letter} by {v.check.junction}" for v in comparison.variants])
        yield f"Wye methods differ: {said}. Part of the difference is the method; --junction makes them one."
    if len({check.air.density_kg_m3 for check in checks}) > 1:
        said = listed([f"{v.letter} {display.density(v.check.air.density_kg_m3)}" for v in comparison.variants])
        yield f"The air is not the same: {said}."
    for always in dict.fromkeys(check.always_open for check in checks if check.always_open):
        where = listed([v.letter for v in comparison.variants if v.check.always_open == always])
        yield f"Always open in {where}, as no gate is on the way: {listed(always)}."


def title_of(comparison: Comparison, name: str, alone: bool) -> str:
    """Return in a few words what is open in a case of some variant."""
    cases = (case for variant in comparison.variants for case in variant.check.loaded)
    return next(case_title(case) for case in cases if key_of_case(case) == (alone, key_of(name)))
