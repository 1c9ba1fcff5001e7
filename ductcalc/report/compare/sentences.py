"""What a comparison comes to, in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.compare.advice import Half, Halves, key_of_case
from ductcalc.answers.compare.compare import Comparison
from ductcalc.answers.verdict import PoorestPort
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.report.blocks import glued
from ductcalc.report.check.sentences import case_title, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.sentences import listed, several, the
from ductcalc.shop.names import key_of

LEAST_TOLD = 0.0005
"""Share below which a difference would be shown as 0.0 %."""
COUNTED: dict[Half, str] = {
    "no answer": "no answer",
    "settles": "chips settle",
    "short": "too little air",
    "lacking": "less air than wanted",
    "slow": "chips slow or settling",
}
ELSEWHERE = "as many cases fail, but not the same ones"


def verdict(comparison: Comparison, display: Display) -> str:
    """Return the first line of the report: which one is best, by what, and in what another one is ahead of it."""
    found = comparison.advice
    if not found.standings[0].cases:
        name = _name(comparison, "A")
        return f"Nothing to compare: no machine or set of {name} bears the same name in all the others."
    if all(standing.unanswered == standing.cases for standing in found.standings):
        first = comparison.variants[0].check.unanswered[0]
        return f"{_names(comparison)} have no answer: {case_title(first)}: {why_no_answer(first, display)}."
    if found.halves is None:
        return f"{_names(comparison)} {_alike(comparison, display)} (dirty filter). {_state(comparison)}"
    return " ".join([_contest(comparison, found.halves, display), *_near(comparison)])


def _contest(comparison: Comparison, halves: tuple[Halves, Halves], display: Display) -> str:
    """Say which one is best, or that none is; and in what each of the two is ahead."""
    ahead, behind = (_ahead(comparison, half, display) for half in halves)
    best, two = comparison.advice.best, len(comparison.variants) == 2
    if best is not None:
        word, better = "stays" if best == "A" else "is", "better one" if two else "best"
        but = f" But {halves[1].ahead}: {'; '.join(behind)}." if behind else ""
        alike = _settle_alike(comparison, halves[0])
        return f"{_name(comparison, best)} {word} the {better}: {'; '.join(ahead)} (dirty filter).{but}{alike}"
    none = f"None of {_names(comparison)} is the best"
    if two:
        none = f"Neither {_name(comparison, 'A')} nor {_name(comparison, 'B')} is the better one"
    if not ahead and not behind:
        standings = comparison.advice.standings
        level = f"what the poorest get is within the band of {display.share(comparison.advice.band)}"
        if all(standing.short == 0 for standing in standings):
            level = f"no machine is short in {'either' if two else 'any'}"
        return f"{none}: {level}, other figures differ (dirty filter). {_state(comparison)}"
    each = (f"{half.ahead}: {'; '.join(said)}." for half, said in zip(halves, (ahead, behind), strict=True) if said)
    return f"{none} (dirty filter). {' '.join(each)}"


def _settle_alike(comparison: Comparison, half: Halves) -> str:
    """Say that chips settle in both, where none is told to be ahead in that."""
    mine, its = (comparison.advice.standing(letter) for letter in (half.ahead, half.behind))
    if mine.settling != its.settling or not mine.settling:
        return ""
    return f" In both chips settle in {mine.settling} of {several(mine.cases, 'case')}."


def _ahead(comparison: Comparison, half: Halves, display: Display) -> list[str]:
    """Say in what one variant is ahead of another."""
    mine, its = (comparison.advice.standing(letter) for letter in (half.ahead, half.behind))
    of = several(mine.cases, "case")
    said = [
        f"{COUNTED[what]} in {mine.told(what)} of {of}, {its.letter} {its.told(what)}" if what in COUNTED else ELSEWHERE
        for what in half.counts
    ]
    return said if half.gain is None else [*said, _gains(*half.gain, its.letter, display)]


def _near(comparison: Comparison) -> Iterator[str]:
    """Yield which of several are alike with the first, or cannot be told apart from it."""
    found = comparison.advice
    if found.alike:
        yield f"A and {listed(found.alike)} are alike."
    if found.level:
        yield f"A and {listed(found.level)} cannot be told apart."


def _alike(comparison: Comparison, display: Display) -> str:
    """Say by how little all figures differ: alike, or within what the calculation leaves open."""
    found = comparison.advice
    if found.most_apart < LEAST_TOLD and not found.level:
        return "are alike: air and speeds are the same"
    apart = f"air and speeds differ by {display.share(found.most_apart)} at most"
    if not found.level:
        return f"are alike: {apart}"
    return f"cannot be told apart: {apart}, and the calculation leaves {display.share(found.band)} open"


def _state(comparison: Comparison) -> str:
    """Say in how many cases each is short and lets chips settle: what is alike may fail alike."""
    standings = comparison.advice.standings
    states = {(s.unanswered, s.short, s.settling) for s in standings}
    if len(states) > 1:
        said = (f"{s.letter} is short in {s.short} and lets chips settle in {s.settling}" for s in standings)
        return f"Of {several(standings[0].cases, 'case')} {listed(list(said))}."
    first, of = standings[0], several(standings[0].cases, "case")
    every = "both" if len(standings) == 2 else "all"
    if not (first.short or first.settling or first.unanswered):
        return f"In {every} no case is short and no chips settle."
    none = f"no answer for {first.unanswered}, " if first.unanswered else ""
    short = f"too little air in {first.short}" if first.short else "no case is short"
    return f"In {every}: {none}{short}, chips settle in {first.settling} of {of}."


def _names(comparison: Comparison) -> str:
    return listed([_name(comparison, variant.letter) for variant in comparison.variants])


def _gains(port: PoorestPort, twin: PoorestPort, letter: str, display: Display) -> str:
    """Say what a port gets in one shop and in another one."""
    got = display.got_number(twin.port.flow_m3_s, twin.port.wanted_m3_s, twin.port.enough)
    wanted, before = display.flow(port.port.wanted_m3_s), display.flow(twin.port.wanted_m3_s)
    of = "" if before == wanted else f" of {before}"
    return f"{_who(port)} gets {_of_wanted(port, display)}, {letter} {got}{of}"


def _who(port: PoorestPort) -> str:
    title = "alone" if port.case.alone else f"with {case_title(port.case)}"
    return f"{the(port.machine.machine)} {title}"


def _of_wanted(least: PoorestPort, display: Display) -> str:
    port = least.port
    at = f" at its port {port.run}" if len(least.machine.ports) > 1 else ""
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    return f"{got} of {display.flow(port.wanted_m3_s)} wanted{at}"


def _name(comparison: Comparison, letter: str) -> str:
    return glued(f"{letter} ") + f"({comparison.variant(letter).label})"


def legend(comparison: Comparison, display: Display) -> Iterator[tuple[str, str]]:
    """Yield each variant's letter, and what it is: its name, what was changed, and that it is provisional."""
    for variant in comparison.variants:
        said = variant.label
        if variant.check.changes:
            said += f": {'; '.join(variant.check.changes)}"
        if variant.letter == "A":
            said += ", the one the others are held against"
        if variant.check.provisional:
            said += "; PROVISIONAL: only the two advertised maxima of its blower are known"
        yield variant.letter, f"{said}."


def notes(comparison: Comparison, display: Display) -> Iterator[str]:
    """Yield what has to be known to read the figures."""
    yield (
        "More or less than A: the difference of two full calculations, rounded once, so that it may be 1 apart from"
        " that of the rounded figures."
    )
    band, least = (display.share(share) for share in (comparison.advice.band, LEAST_BAND))
    yield (
        "80 % band: by how much the air differs from A in eight of ten shops like these. What is not known of hose,"
        f" machines, filter and wyes is the same in both. For the worst off it leaves {band} open. In band: the"
        f" difference may as well be none. Differences under {least} are never told."
    )
    yield from _in_common(comparison)
    yield from _unlike_methods(comparison, display)
    if any(line.collector is not None and line.collector.power_w is not None for line in comparison.points):
        yield "Power is that of the collector's own points, motor or shaft as they say, in the shop's air."


def _in_common(comparison: Comparison) -> Iterator[str]:
    cases = comparison.advice.standings[0].cases
    if comparison.only_in:
        yield f"The first line judges the {several(cases, 'case')} that all have in common."


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
