"""What may be open, in plain words, with the numbers that decide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.gates.cures import AirBleed, CureAnswer, SmallerPipe
from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.helpers import HelperAnswer, air_lost
from ductcalc.answers.gates.school import School
from ductcalc.answers.gates.sorting import sorted_singles
from ductcalc.cases.case import Case
from ductcalc.cases.judged import AirGrade
from ductcalc.report.blocks import glued
from ductcalc.report.check.sentences import settling_words
from ductcalc.report.display import Display
from ductcalc.report.grades import bracketed, weak_words
from ductcalc.report.sentences import capitalised, listed, several, the
from ductcalc.units.display import to_display

MOST_NAMES = 4
LACKING: dict[AirGrade, str] = {"ok": "", "just short": ", a little short", "short": ", too little"}


def verdict(gates: Gates, display: Display) -> str:
    """Return the first line of the report."""
    parts = [*_alone(gates, display), *_pairs(gates), *_sets(gates)]
    return " ".join(f"{capitalised(part)}." for part in parts)


def _alone(gates: Gates, display: Display) -> Iterator[str]:
    """Yield which machines may run alone, which with another gate, and which not, with the figure that decides."""
    found, count = sorted_singles(gates), len(gates.machines)
    allowed = len(found.may_run)
    if allowed == count:
        every = "both" if count == 2 else f"all {count}"
        yield "the machine may run" if count == 1 else f"{every} machines may run alone"
    else:
        some = f"{allowed} of {count} machines may run alone" if allowed else "no machine may run alone"
        yield some if count > 1 else "the machine may not run"
    yield from _weak(found.may_run)
    for case in found.short[:2]:
        yield f"{the(case.name)} may not: {_figures(case, display)}"
    if len(found.short) > 2:
        yield f"nor may {few([case.name for case in found.short[2:]])}: too little air"
    for helped in found.company[:2]:
        yield f"{the(helped.before.name)} may run with {gates_of(helped.helpers)} open too"
    if len(found.company) > 2:
        yield f"{few([h.before.name for h in found.company[2:]])} may run with another gate open too"
    if found.settling:
        names = few([case.name for case in found.settling])
        yield f"{names} may not: chips settle"
    if found.unanswered:
        yield f"no answer for {few([case.name for case in found.unanswered])}: {past_words(gates)}"


def _weak(may_run: Sequence[Case]) -> Iterator[str]:
    """Yield what is weak of the machines that may run alone."""
    short = [case.name for case in may_run if case.air == "just short"]
    slow = [case.name for case in may_run if case.chips == "slow"]
    if short:
        yield f"{few(short)} {'is' if len(short) == 1 else 'are'} a little short of air"
    if slow:
        yield f"chips move slowly with {few(slow)}"


def _figures(case: Case, display: Display) -> str:
    machine = case.asked_machines[0]
    port = machine.poorest
    at = f" at its port {port.run}" if len(machine.ports) > 1 else ""
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    return f"{got} of {display.flow(port.wanted_m3_s)}{at}"


def _pairs(gates: Gates) -> Iterator[str]:
    pairs = [number for number in gates.shown if gates.asked.opened[number].bit_count() == 2]
    allowed = [number for number in pairs if gates.asked.judged.may_run[number]]
    if not pairs:
        return
    weak = _how_many_weak([gates.asked.case(number) for number in allowed])
    if len(allowed) == len(pairs):
        yield f"{'the' if len(gates.machines) == 2 else 'any'} two may run together{weak}"
    elif not allowed:
        yield "the two may not run together" if len(gates.machines) == 2 else "no two may run together"
    elif len(allowed) == 1:
        one, other = map(the, gates.asked.case(allowed[0]).asked)
        yield f"of {len(pairs)} pairs only {one} and {other} may run together{weak}"
    else:
        yield f"{len(allowed)} of {len(pairs)} pairs may run together{weak}"


def _how_many_weak(may_run: Sequence[Case]) -> str:
    """Say what is weak of the only one of some sets that may run, or of how many of them something is."""
    weak = sum(case.word != "ok" for case in may_run)
    if len(may_run) == 1:
        return bracketed(weak_words(may_run[0]))
    return f", {weak} of them a little short of air or with slow chips" if weak else ""


def _sets(gates: Gates) -> Iterator[str]:
    refused = [f'"{case.name}"' for case in gates.named if not case.may_run]
    if refused:
        yield f"{few(refused)} may not"
    elif gates.named:
        sets = "the named set" if len(gates.named) == 1 else f"all {len(gates.named)} named sets"
        yield f"{sets} may run{_how_many_weak(gates.named)}"


def past_words(gates: Gates) -> str:
    """Say why nothing is known of some sets."""
    blown = gates.asked.store.blown_out
    reasons = ["past the end of the blower's points"] if gates.unsettled < gates.no_answer else []
    reasons += [f"air would blow OUT of {listed([name for name, _ in blown.most_common(MOST_NAMES)])}"] if blown else []
    if gates.unsettled > blown.total():
        reasons.append("no flow was found that passes the independent check")
    return ", or ".join(reasons)


def few(names: Sequence[str]) -> str:
    """Return names as a list in a sentence, the first few of many."""
    said = [name if name.startswith('"') else the(name) for name in names]
    if len(said) <= MOST_NAMES:
        return listed(said)
    return f"{', '.join(said[: MOST_NAMES - 1])} and {len(said) - MOST_NAMES + 1} more"


def exactness(gates: Gates) -> str:
    """Say what was solved and what therefore is exact."""
    if gates.exact and gates.solved_sets == 1:
        return "Exact: the one possible gate set was solved, with the dirty filter."
    if gates.exact:
        return (
            f"Exact: all {gates.solved_sets:,} possible sets were solved one by one, with the dirty filter; none is"
            " guessed from pairs. The air itself is an estimate: check lists what is assumed."
        )
    return (
        f"Exact for every set of up to {several(gates.most_together, 'machine')}: {gates.solved_sets:,} of"
        f" {gates.possible_sets:,} possible sets were solved, with the dirty filter. Larger ones are not judged (every"
        " set is solved up to 16 machines): ask for more with --together N, or name them in shop.toml."
    )


def set_title(answer: Case) -> str:
    """Return what is open: a named set in quotes, else the machines."""
    if answer.name != ", ".join(answer.asked):
        return f'"{answer.name}"'
    return listed(answer.asked)


def other_helpers(helped: HelperAnswer, display: Display, most: int) -> str:
    """Return what else would do, each with the air that it takes from the machine that loses most."""
    others = helped.every[1:]
    if not others:
        return ""
    said = [f"{gates_of(names)} ({loss_words(helped.before, after, display)})" for names, after in others[:most]]
    more = f"; {len(others) - most} more would" if len(others) > most else ""
    return f" Or {'; '.join(said)}{more}."


def loss_words(before: Case, after: Case, display: Display) -> str:
    """Say how much air helpers take from the running machine that loses most."""
    machine, lost = air_lost(before, after)
    whose = f" for {the(machine)}" if len(before.running) > 1 else ""
    return f"{display.flow_number(lost)} less{whose}"


def helper_words(helped: HelperAnswer, display: Display) -> str:
    """Return a helper with figures before and after."""
    before, after = helped.before, helped.after
    assert after is not None and before.slowest is not None
    also = f"open {gates_of(helped.helpers)} too{bracketed(weak_words(after))}"
    moved = ""
    if after.slowest is not None:
        moved = f"; then the slowest is {settling_words(after.slowest, display)}"
    change = _air_change(before, after, display)
    others = other_helpers(helped, display, len(helped.every))
    return f"{also}. Before, {settling_words(before.slowest, display)}{moved}. {change}{others}"


def pair_helper_words(helped: HelperAnswer, display: Display) -> str:
    """Return a pair's helper in short: the air of both with it and without."""
    assert helped.after is not None
    now = {m.machine: m for m in helped.after.asked_machines}
    air = [
        f"{the(m.machine)} {display.flow(now[m.machine].flow_m3_s)} ({display.flow_number(m.flow_m3_s)} without)"
        for m in helped.before.asked_machines
    ]
    weak = bracketed(weak_words(helped.after))
    return f"open {gates_of(helped.helpers)} too{weak}; they then get: {listed(air)}."


def _air_change(before: Case, after: Case, display: Display) -> str:
    return capitalised(_change_of_air(before, after, display)) + "."


def _change_of_air(before: Case, after: Case, display: Display) -> str:
    said = []
    for machine in before.asked_machines:
        if machine.helper:
            continue
        now = next(m for m in after.machines if m.machine == machine.machine)
        wanted = f"wants {display.flow_number(now.wanted_m3_s)}"
        got = display.got_number(now.flow_m3_s, now.wanted_m3_s, now.served)
        had = display.flow(machine.flow_m3_s)
        said.append(f"{the(machine.machine)} gets {got} with it, {had} without, and {wanted}{LACKING[now.grade]}")
    return "; ".join(said)


def kept_open_words(school: School, machines: int, display: Display) -> str:
    """Say of which gates some are kept open, who may then run alone, and what it costs; empty where none helps."""
    kept = school.keep_open
    if kept is None:
        return ""
    some = f"at least {kept.least} of " if len(kept.gates) > kept.least else ""
    which = some + gates_of(kept.gates)
    loser, lost = kept.most_lost
    return (
        f"Keep {which} open: {len(kept.then)} of {machines} machines may then run alone ({len(kept.now)} now)."
        f" {capitalised(the(loser))} loses most, {display.flow(lost)}."
    )


def bleed_words(school: School, display: Display) -> str:
    """Return the gate without a machine that holds speed in the main, and what it costs; empty without one."""
    if school.bleed is None:
        return ""
    names = few([before.name for before, _ in school.bleed.helped])
    lost = [air_lost(before, after)[1] for before, after in school.bleed.helped]
    numbers = dict.fromkeys(display.flow_number(flow) for flow in (min(lost), max(lost)))
    cost = glued(f"{' to '.join(numbers)} {display.unit('flow')}")
    return (
        f"A bleed gate of {display.size(school.bleed.bore_m)} where {school.bleed.title} begins keeps chips moving with"
        f" only one of these open: {names}. It costs {cost}."
    )


def classes_words(school: School) -> str:
    """Say which named sets may be open two at a time; empty where there are none to try."""
    if not school.classes:
        return ""
    allowed = [(names, case) for names, case in school.classes if case.may_run]
    may = [f'"{one}" with "{other}"{bracketed(weak_words(case))}' for (one, other), case in allowed]
    count = len(school.classes)
    if not may:
        return f"Two named sets at once: {f'none of {count} pairs may' if count > 1 else 'they may not'} run."
    return f"Two named sets at once: {listed(may)} may run{f', of {count} pairs' if count > len(may) else ''}."


def cure_words(cure: CureAnswer, display: Display) -> str:
    """Return what would cure a set that no gate does."""
    slow = cure.before.slowest
    assert slow is not None
    said = f"{settling_words(slow, display)}, and no other gate opened fully cures it."
    if cure.helped is not None and cure.helped.after is not None:
        change = _change_of_air(cure.before, cure.helped.after, display)
        said = f"{settling_words(slow, display)}. With {gates_of(cure.helped.helpers)} open chips move, but {change}."
    ways = [*_smaller(cure, cure.smaller, display), *_bleed(cure, cure.bleed, display)]
    return " ".join([said, *(ways or [_nothing_else(cure)])])


def _nothing_else(cure: CureAnswer) -> str:
    running = len(cure.before.running)
    if cure.before.air == "short" and running > 1 and cure.alone_fine:
        return "There is not enough air for all of them: run them one after the other."
    if cure.before.air == "short":
        return "It is short of air as well, which comes first: no smaller pipe or steady opening cures it."
    return "Neither a smaller pipe nor a steady opening for air that was tried cures it either."


def _smaller(cure: CureAnswer, smaller: SmallerPipe | None, display: Display) -> Iterator[str]:
    if smaller is not None:
        yield (
            f"A smaller pipe would: {'; '.join(_stretches(smaller, display))}."
            f" {_air_change(cure.before, smaller.after, display)}{_spoils(smaller.spoils)}"
        )


def _stretches(smaller: SmallerPipe, display: Display) -> Iterator[str]:
    """Yield what becomes smaller, neighbours of one run that change alike together."""
    alike: dict[tuple[str, float, float], list[int]] = {}
    for name, now, then in smaller.sections:
        run, number = name.rsplit(" ", 1)
        alike.setdefault((run, now, then), []).append(int(number))
    for (run, now, then), numbers in alike.items():
        whole = len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1
        which = f"{numbers[0]} to {numbers[-1]}" if whole else listed([str(number) for number in numbers])
        yield f"{run} {which} from {display.size(now)} to {display.size(then)}"


def _bleed(cure: CureAnswer, bleed: AirBleed | None, display: Display) -> Iterator[str]:
    if bleed is not None:
        yield (
            f"A round hole of {display.size(bleed.bore_m)} that always lets air in where {bleed.section} begins would"
            f" ({area(bleed.area_m2, display)} free). {_air_change(cure.before, bleed.after, display)}"
            f"{_spoils(bleed.spoils)}"
        )


def _spoils(machines: Sequence[str]) -> str:
    return "" if not machines else f" But then {few(machines)} could no longer run alone."


def area(area_m2: float, display: Display) -> str:
    """Show a free area to two digits."""
    number, unit = to_display(area_m2, "area", display.system)
    return glued(f"{float(f'{number:.2g}'):g} {unit}")


def gates_of(helpers: Sequence[str]) -> str:
    """Return whose gates are opened for their air."""
    owners = [f"{the(name)}'s" for name in helpers]
    return f"{listed(owners)} gate" + ("s" if len(owners) > 1 else "")
