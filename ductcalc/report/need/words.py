"""What a need is said with: the duty to buy by, what it hangs on, which candidate does it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf

from ductcalc.answers.need.candidates import CandidateCollector
from ductcalc.answers.need.need import CaseNeed, Need, NeedWorth, deciding_of
from ductcalc.answers.need.throttling import Balance
from ductcalc.cases.case import Case
from ductcalc.catalog import fact
from ductcalc.model.collector import CYCLONE, FILTER, LOADED
from ductcalc.report.check.sentences import case_title, settling_words, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.sentences import capitalised, listed, several

MOST_DUTIES = 3
"""Duties that are named in the first line; more are counted."""
MOST_NAMED = 2
"""Cases that are named behind a reason; more are counted."""
LEAST_SWING = 0.02
"""Share of the pressure asked for from which on an assumption is named: our judgement, no source."""
UNLIKE_AIR = 0.01
"""Share by which the shop's air may differ from a curve's without a word."""


def verdict(need: Need, display: Display) -> str:
    """Return the first line: what to buy, and the cases that decide it."""
    said: list[str] = [_no_answer(need, display)] if need.unanswered else []
    duties = [case for case in need.deciding if (case.fan_static_pa or 0.0) > 0.0]
    if duties:
        first, *more = duties[:MOST_DUTIES]
        named = f"{_duty(first, display)} of fan static pressure, {_included(first)} ({_title(first)})"
        parts = [f"Buy a collector that gives at least {named}"]
        parts += [f"{_duty(case, display)} for {_title(case)}" for case in more]
        hidden = len(duties) - len(duties[:MOST_DUTIES])
        rest = f"; {several(hidden, 'more duty', 'more duties')} below" if hidden else ""
        said.append("; ".join(parts) + rest + ".")
        said += _one_at_a_time(need, duties, display)
    elif need.deciding:
        said.append("The machines' own blowers push all of the air that is wanted; no collector has to pull.")
    if need.settling:
        slow = need.settling[0]
        or_gate = ", or open another gate with it" if slow.case.alone else ""
        also = f" and in {several(len(need.settling) - 1, 'more case')}" if len(need.settling) > 1 else ""
        said.append(
            f"At just the wanted air chips settle with {_title(slow)}{also}:"
            f" {settling_words(slow.case.settling[0], display)}. Ask for more air there{or_gate}."
        )
    return " ".join(said)


def _one_at_a_time(need: Need, duties: Sequence[CaseNeed], display: Display) -> Iterator[str]:
    """Yield what one machine at a time asks for, where all duties that are named are of several."""
    alone = deciding_of([case for case in need.cases if case.case.alone])
    if alone and not any(case.case.alone for case in duties):
        asked = "; ".join(f"{_duty(case, display)} ({_title(case)})" for case in alone[:MOST_DUTIES])
        yield f"For one machine at a time: {asked}."


def _duty(case: CaseNeed, display: Display) -> str:
    assert case.flow_m3_s is not None and case.rated_static_pa is not None
    return f"{display.flow(case.flow_m3_s)} at {display.pressure(case.rated_static_pa)}"


def _included(case: CaseNeed) -> str:
    parts = ["dirty filter"] if case.filter_pa is not None else []
    parts += ["cyclone"] if case.cyclone_pa is not None else []
    return f"{' and '.join(parts)} included" if parts else "no cyclone and no filter counted"


def _title(case: CaseNeed) -> str:
    return case_title(case.case)


def _no_answer(need: Need, display: Display) -> str:
    titles = listed([_title(case) for case in need.unanswered])
    why = why_no_answer(need.unanswered[0].case, display)
    return f"No suction was found that draws the wanted flows: {titles} ({why})."


def range_words(need: Need, display: Display) -> Iterator[str]:
    """Yield what the first duty is with everything assumed at its ends, and what of it moves it most."""
    if need.range_pa is None:
        return
    low, high = (display.pressure_number(end * rated_share(need)) for end in need.range_pa)
    unit = display.pressure(0.0).partition("\u00a0")[2]
    moved = [worth.assumption.key for worth in by_swing(need) if swing(worth) >= LEAST_SWING * _first_pa(need)]
    mostly = f"; {listed(moved[:3])} {'matter' if len(moved) > 1 else 'matters'} most" if moved else ""
    yield f"Assumptions put it between {low} and {high} {unit} with {_title(need.deciding[0])}{mostly}."


def _first_pa(need: Need) -> float:
    return need.deciding[0].fan_static_pa or 0.0


def rated_share(need: Need) -> float:
    """Return what a pressure on a curve's paper is of the same in the shop's air."""
    first = need.deciding[0]
    if not first.fan_static_pa or first.rated_static_pa is None:
        return 1.0
    return first.rated_static_pa / first.fan_static_pa


def thin_air(need: Need) -> bool:
    """Whether the shop's air is not that for which curves are given."""
    return bool(need.deciding) and abs(rated_share(need) - 1.0) > UNLIKE_AIR


def swing(worth: NeedWorth) -> float:
    """Return by how much [Pa] an assumption moves the pressure asked for; one without a band last."""
    if worth.low_pa is None or worth.high_pa is None:
        return -1.0
    return abs(worth.high_pa - worth.low_pa)


def by_swing(need: Need) -> tuple[NeedWorth, ...]:
    """Return the assumptions, the one that moves the pressure asked for most first."""
    return tuple(sorted(need.assumptions, key=lambda worth: -swing(worth)))


def parts_words(need: Need, display: Display) -> str:
    """Say what cyclone, filter and outlet take in the first duty, and what of it nobody wrote."""
    first, assumed = need.deciding[0], {worth.assumption.key for worth in need.assumptions}
    parts = [
        _part("cyclone", first.cyclone_pa, CYCLONE in assumed, display),
        _part("dirty filter", first.filter_pa, bool({FILTER, LOADED} & assumed), display),
        _part("outlet duct", first.outlet_pa or None, False, display),
    ]
    return f"Of it, with {_title(first)}: {', '.join(parts)}."


def _part(name: str, taken_pa: float | None, assumed: bool, display: Display) -> str:
    if taken_pa is None:
        return f"no {name}"
    return f"{name} {display.pressure(taken_pa)}{' (assumed)' if assumed else ''}"


def speed_words(need: Need, display: Display) -> Iterator[str]:
    """Yield that the hardest case asks for so much because its air runs too fast somewhere."""
    fast = need.deciding[0].too_fast if need.deciding else None
    if fast is not None:
        most = fact("parts", "main speed").high
        yield (
            f"Air runs at {display.speed(fast.velocity_m_s)} in {fast.title}, {display.speed(most)} is plenty: a larger"
            " size there asks for much less pressure."
        )


def air_words(need: Need, display: Display) -> Iterator[str]:
    """Yield that curves are given for other air than the shop's, where it matters."""
    if thin_air(need):
        here = display.pressure(_first_pa(need))
        density = display.density(need.air.density_kg_m3)
        yield (
            f"Curves are given for standard air. The shop's is {density}, in which the same blower gives {here}: the"
            " pressures to ask for are those on the curve's paper."
        )


def candidate_words(need: Need, display: Display) -> Iterator[str]:
    """Yield which candidates do it, and what the best of the others lack."""
    if not need.candidates:
        return
    good = [one.name for one in need.candidates if one.exit_code == 0]
    airy = [one.name for one in need.candidates if len(one.served) == len(one.cases)]
    if good:
        yield f"Everything asked for is served by {listed(good)}, dirty filter."
    elif airy:
        yield (
            f"Air enough for every machine with {listed(airy)}, but chips settle: pipe that wide needs more air, or"
            " another gate open (`ductcalc size`, `ductcalc gates`)."
        )
    else:
        if len(need.candidates) == 1:
            yield f"Not everything asked for is served by {need.candidates[0].name}."
        else:
            best = max(need.candidates, key=_nearness)
            near = f"; {best.name} comes nearest" if best.served else ""
            yield f"Not everything asked for is served by any of these collectors{near}."
    for one in need.candidates:
        missing = [case for case in one.cases if not case.solved]
        if missing:
            yield f"With {one.name}: no answer for {_few(missing)} ({why_no_answer(missing[0], display)})."
    box = [one.name for one in need.candidates if one.provisional]
    if box:
        yield f"Provisional, counted cautiously: of {listed(box)} only the two figures on the box are known."


def _nearness(one: CandidateCollector) -> tuple[int, float]:
    """Return in how many cases a candidate gives air enough, and what it has to spare in the tightest one [Pa]."""
    margin = one.tightest.wanted.margin_pa
    return len(one.served), -inf if margin is None else margin


def margin_words(case: Case, display: Display) -> str:
    """Say what a candidate has to spare in a case at the wanted flows."""
    margin = case.wanted.margin_pa
    if margin is None:
        return "curve ends"
    return ("+" if margin >= 0.0 else "") + display.pressure_number(margin)


def lacking_words(candidate: CandidateCollector) -> str:
    """Say which cases a candidate does not do, and why."""
    reasons = (
        ("no answer", [case for case in candidate.cases if not case.solved]),
        ("short of air", [case for case in candidate.cases if case.solved and case.air == "short"]),
        ("just short", [case for case in candidate.cases if case.solved and not case.served and case.air != "short"]),
        ("chips settle", [case for case in candidate.cases if case.chips == "settles"]),
    )
    one = len(candidate.cases) == 1
    said = [reason if one else f"{reason}: {_few(cases)}" for reason, cases in reasons if cases]
    return "; ".join(said) or "all served"


def _few(cases: Sequence[Case]) -> str:
    names = [case_name(case) for case in cases[:MOST_NAMED]]
    more = len(cases) - len(names)
    return ", ".join(names) + (f" and {more} more" if more else "")


def case_name(case: Case) -> str:
    """Return a case as the tables name it: a machine alone by its own name."""
    return case.name if case.alone and not case.opened_with else case_title(case)


def balance_words(balance: Balance, display: Display) -> str:
    """Say what a set gets with its gates set."""
    case = balance.case
    on = "on the shop's own curve" if balance.own_curve else "with a blower that gives just that"
    if not case.solved:
        return f"{capitalised(case_title(case))}: no answer {on}."
    least = min(case.asked_machines, key=lambda machine: machine.least_share)
    return (
        f"{capitalised(case_title(case))}, gates set, {on}: every machine gets at least"
        f" {display.share(least.least_share)} of its air ({least.machine})."
    )
