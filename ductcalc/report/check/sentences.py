"""The verdict in plain words, with the number that decides."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import Counts, PoorestPort, chips_decide, counts, deciding_case, poorest
from ductcalc.cases.case import Case
from ductcalc.cases.figures import SectionAnswer
from ductcalc.cases.judged import limits
from ductcalc.report.blocks import glued
from ductcalc.report.display import Display
from ductcalc.report.sentences import capitalised, listed, several, the

MOST_SETS = 3
"""Sets that are named in the first line; more are counted."""
WAYS = {
    "momentum": "the momentum wyes",
    "handbook": "the handbook wyes",
    "factored": "the factored wyes",
    "low": "the cautious curve",
    "middle": "the middle curve",
    "high": "a hopeful curve",
}


def verdict(check: Check, display: Display) -> str:
    """Return the first line of the report."""
    found = counts(check)
    parts = [_no_answer(check, display)] if check.unanswered else []
    if not any(case.asked for case in check.loaded):
        parts.append("no machine is open, so none takes air and no chips move.")
    elif found.alone + found.sets:
        parts += [*_deciding(check, display), *_may_run(check, found), *_slow(found), *_close(check, found)]
    return " ".join(map(capitalised, parts))


def case_title(case: Case) -> str:
    """Return in a few words what is open in a case."""
    if case.alone:
        beside = f" ({listed(case.opened_with)} open as well)" if case.opened_with else ""
        return f"{the(case.name)} alone{beside}"
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


def why_no_answer(case: Case, display: Display) -> str:
    """Return why a case has no answer, in words."""
    if case.status != "beyond the curve":
        return case.why or "the calculation did not settle on one flow"
    left = "" if case.surplus_pa is None else f", where {display.pressure(case.surplus_pa)} of suction are left over"
    return f"the blower's points end at {display.flow(case.last_flow_m3_s)}{left}; add points further right"


def _deciding(check: Check, display: Display) -> Iterator[str]:
    """Yield the number that decides: who is short, where chips settle, or who has least to spare."""
    case = deciding_case(check.loaded)
    if case is None:
        return
    least = poorest([case])
    if chips_decide(case) and case.settling:
        yield f"chips settle with {case_title(case)} in {settling_words(case.settling[0], display)}."
    elif least is not None and case.air == "ok":
        least = poorest([one for one in check.loaded if one.solved]) or least
        one = sum(len(case.running) for case in check.loaded if case.solved) == 1
        subject = f"{the(least.machine.machine)} gets its air:"
        if not one:
            subject = f"every machine gets its air. Least to spare: {_who(least)},"
        yield f"{subject} {_figures(least, display)}."
    elif least is not None:
        yield f"{_who(least)} is {_how_short(case)} of air: {_figures(least, display)}."


def _how_short(case: Case) -> str:
    return "just short" if case.air == "just short" else "short"


def _who(least: PoorestPort) -> str:
    where = "" if least.case.alone else f"with {case_title(least.case)} "
    return f"{where}{the(least.machine.machine)}"


def _figures(least: PoorestPort, display: Display) -> str:
    """Return air of wanted air at the poorest port, with the dirty filter."""
    port = least.port
    at = f" at its port {port.run}" if len(least.machine.ports) > 1 else ""
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    return f"{got} of {display.flow(port.wanted_m3_s)}{at}, dirty filter"


def _may_run(check: Check, found: Counts) -> Iterator[str]:
    """Yield what may run."""
    refused = found.sets_that_may_not
    if not check.by_default and found.alone + found.sets == 1:
        yield "it may run." if not refused and found.alone_may_run == found.alone else "it may not run."
        return
    said = [_alone(found)] if found.alone else []
    if refused and len(refused) <= MOST_SETS:
        said.append(f"{listed([case_title(case) for case in refused])} may not")
    elif refused:
        may = found.sets - len(refused)
        said.append(f"{may or 'none'} of {found.sets} sets may")
    elif found.sets:
        said.append("the set may" if found.sets == 1 else f"all {found.sets} sets may")
    yield "; ".join(said) + "."


def _alone(found: Counts) -> str:
    if found.alone == 1:
        return "the machine may run" if found.alone_may_run else "the machine may not run"
    if found.alone_may_run == found.alone:
        return f"{'both' if found.alone == 2 else f'all {found.alone}'} machines may run alone"
    if not found.alone_may_run:
        return "no machine may run alone"
    return f"{found.alone_may_run} of {found.alone} machines may run alone"


def _slow(found: Counts) -> Iterator[str]:
    """Yield where chips move slowly."""
    total = found.alone + found.sets
    if found.slow and len(found.slow) == total:
        yield "chips move slowly in every case." if total > 1 else "chips move slowly."
    elif found.slow:
        few = len(found.slow) <= MOST_SETS
        where = f"with {listed(list(map(case_title, found.slow)))}" if few else f"in {len(found.slow)} of {total} cases"
        yield f"chips move slowly {where}."


def _close(check: Check, found: Counts) -> Iterator[str]:
    """Yield which verdicts the calculation cannot be sure of."""
    if not found.close:
        return
    first = found.close[0]
    near = [f"within {glued(f'{100 * limits().near:.0f} %')} of a limit"] if first.case.close else []
    ways = [WAYS[way] for way in first.turned_by]
    say = "says" if len(ways) == 1 and ways[0].endswith("curve") else "say"
    turned = [f"{listed(ways)} {say} otherwise"] if ways else []
    more = f"; {several(len(found.close) - 1, 'more close call')}" if len(found.close) > 1 else ""
    where = "" if len(check.loaded) == 1 else f"{case_title(first.case)}, "
    yield f"close call: {where}{', '.join([*near, *turned])}{more}."


def thin_air(check: Check, display: Display) -> Iterator[str]:
    """Yield what thin air takes from the blower, where it is plain to see."""
    if check.thin_air:
        high, less = check.air.altitude_m, display.share(check.thin_air)
        where = "Here" if check.air.stated or not high else f"At {display.altitude(high)}"
        seen = f"{where} the air is thin: the blower pulls {less} less than its papers say."
        yield f"{seen} Already counted; nothing to fix."


def settling_words(section: SectionAnswer, display: Display) -> str:
    """Return a section with its speed, and the speed below which its chips settle."""
    rising = ", where it rises" if section.decides == "riser" else ""
    least = display.speed(section.settling_velocity_m_s or 0.0)
    return f"{section.title}{rising}: {display.speed(section.deciding_velocity_m_s)}, least {least}"
