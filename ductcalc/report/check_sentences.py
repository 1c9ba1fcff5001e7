"""The verdict in plain words, with the number that decides."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import CasePair, Counts, PoorestPort, counts, pairs, poorest, settling_places
from ductcalc.cases.case import TOLD_M3_S, CaseAnswer, SectionAnswer
from ductcalc.report.display import Display
from ductcalc.report.sentences import capitalised, listed, several, the


def verdict(check: Check, display: Display) -> str:
    """Return the first line of the report."""
    found = counts(check)
    parts = [_no_answer(check, display)] if found.unanswered else []
    if not any(case.asked for case in check.loaded):
        parts.append("no machine is open, so none takes air and no chips move.")
    elif found.unanswered < found.alone + found.sets:
        served = _served_besides(check) if found.unanswered else _served(check, found)
        parts.append(served + _settles(check, found) + _deciding(check, found, display))
    return " ".join(map(capitalised, parts))


def case_title(case: CaseAnswer) -> str:
    """Return in a few words what is open in a case."""
    if CasePair(case, case).alone:
        return f"{the(case.name)} alone"
    if not case.asked:
        return "every gate shut"
    if case.name == ", ".join(case.asked):
        return f"{listed(case.asked)} open"
    return case.name if case.name.startswith(("all open", "all but ")) else f'"{case.name}"'


def _no_answer(check: Check, display: Display) -> str:
    """Say which cases have no answer, and why."""
    missing = check.unanswered
    of = f"{len(missing)} of {several(len(check.loaded), 'case')}" if len(check.loaded) > 1 else "this case"
    titles: dict[str, list[str]] = {}
    for case in missing:
        titles.setdefault(why_no_answer(case, display), []).append(case_title(case))
    reasons = "; ".join(f"{listed(of_reason)}: {reason}" for reason, of_reason in titles.items())
    return f"no answer for {of}: {reasons}."


def why_no_answer(case: CaseAnswer, display: Display) -> str:
    """Return why a case has no answer, in words."""
    if case.status != "beyond the curve":
        return case.why or "the calculation did not settle on one flow"
    left = "" if case.surplus_pa is None else f", where {display.pressure(case.surplus_pa)} of suction are left over"
    return f"the blower's points end at {display.flow(case.last_flow_m3_s)}{left}; add points further right"


def _served_besides(check: Check) -> str:
    """Say of the cases that have an answer, where others have none, whether somebody is short."""
    cases = [case for case in check.loaded if case.solved]
    short = sum(bool(case.short) for case in cases)
    if len(cases) == 1:
        return f"{case_title(cases[0])}: {'too little air' if short else 'air enough'}"
    if not short:
        return f"in the other {len(cases)} cases the air is enough"
    return f"in {short} of the other {len(cases)} cases a machine gets too little air"


def _served(check: Check, found: Counts) -> str:
    return "; ".join(_served_clauses(found)) if check.by_default else _served_chosen(check)


def _served_clauses(found: Counts) -> Iterator[str]:
    if found.alone:
        yield _machines_alone(found)
    if found.sets_short and found.sets == 1:
        yield "the named set falls short"
    elif found.sets_short:
        yield f"{found.sets_short} of {several(found.sets, 'named set')} {_fall(found.sets_short)} short"
    elif found.sets:
        yield "the named set is served" if found.sets == 1 else f"all {found.sets} named sets are served"


def _machines_alone(found: Counts) -> str:
    if not found.alone_short:
        if found.alone == 1:
            return "the machine gets the air it wants"
        return f"all {found.alone} machines get the air they want, one at a time"
    if found.alone == 1:
        return "the machine gets too little air"
    one = found.alone_short == 1
    return (
        f"{found.alone_short} of {found.alone} machines {'gets' if one else 'get'} too little air even on"
        f" {'its' if one else 'their'} own"
    )


def _served_chosen(check: Check) -> str:
    """Say how many of the machines of the choices asked for are short."""
    cases = [case for case in check.loaded if case.solved]
    if len(cases) == 1 and CasePair(cases[0], cases[0]).alone:
        return f"{case_title(cases[0])} gets {'too little air' if cases[0].short else 'the air it wants'}"
    asked = sum(machine.asked and machine.runs for case in cases for machine in case.machines)
    short = sum(len(case.short) for case in cases)
    where = f"with {case_title(cases[0])}, " if len(cases) == 1 else f"over {len(cases)} choices, "
    if short:
        return f"{where}{short} of {several(asked, 'machine')} {'gets' if short == 1 else 'get'} too little air"
    return f"{where}{'the machine gets' if asked == 1 else f'all {asked} machines get'} the air wanted"


def _fall(count: int) -> str:
    return "falls" if count == 1 else "fall"


def _settles(check: Check, found: Counts) -> str:
    short = bool(found.alone_short or found.sets_short)
    if not found.settling_cases:
        return ", and chips keep moving everywhere" if not short else ", chips keep moving"
    where = several(found.settling_sections, "section") + " of duct"
    if len(check.loaded) > 1:
        where = f"{found.settling_cases} of {len(check.loaded)} cases"
    return f"{', and' if short else ', but'} chips settle in {where}"


def _deciding(check: Check, found: Counts, display: Display) -> str:
    """Return the number that decides: the poorest machine, else where chips settle most, else the least to spare."""
    if not (found.alone_short or found.sets_short) and found.settling_cases:
        place = settling_places(check)[0]
        return f": with {case_title(place.case)}, {settling_words(place.section, display)} (loaded filter)."
    alone = [pair.loaded for pair in pairs(check) if pair.alone and pair.loaded.short]
    chosen = alone or [case for case in check.loaded if case.short] or list(check.loaded)
    least = poorest(chosen)
    if least is None:
        return "."
    short = bool(found.alone_short or found.sets_short)
    return f"{':' if short else '; least to spare:'} {_gets(least, display)} (loaded filter)."


def _gets(least: PoorestPort, display: Display) -> str:
    port = least.port
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    at = f" at its port {port.run}" if len(least.machine.ports) > 1 else ""
    alone = CasePair(least.case, least.case).alone
    if port.flow_m3_s < -TOLD_M3_S:
        who = f"with {case_title(least.case)}, "
        wants = f"where it wants {display.flow(port.wanted_m3_s)}"
        return f"{who}air blows OUT of {the(least.machine.machine)}{at}, {display.flow(-port.flow_m3_s)}, {wants}"
    where = "alone, " if alone else f"with {case_title(least.case)}, "
    return f"{where}{the(least.machine.machine)} gets {got} of {display.flow(port.wanted_m3_s)} wanted{at}"


def settling_words(section: SectionAnswer, display: Display) -> str:
    """Return a settling section with its speed and the speed that its chips need."""
    assert section.needed_velocity_m_s is not None
    needed = display.speed(section.needed_velocity_m_s)
    who = f"{section.material} need{'' if (section.material or '').endswith('s') else 's'}"
    if section.velocity_m_s < 0.0:
        return f"air flows backwards in {section.section}, where {who} {needed}"
    riser, full = section.riser_velocity_m_s, section.needed_velocity_m_s
    if riser is not None and riser < full and section.velocity_m_s >= (section.settling_velocity_m_s or 0.0):
        return f"{section.section} rises at {display.speed(riser)} where {who} {needed} upwards"
    return f"{section.section} moves at {display.speed(section.velocity_m_s)} where {who} {needed}"
