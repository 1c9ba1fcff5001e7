"""What a sizing says, in sentences: the verdict, why a size, what stands against a set, one run's size."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.sizing import Beside, Collision, SizedStretch, Sizing
from ductcalc.answers.size.stretches import UNUSED
from ductcalc.cases.case import Case
from ductcalc.cases.figures import PortAnswer
from ductcalc.report.blocks import glued
from ductcalc.report.check.sentences import case_title, settling_words, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.grades import bracketed, weak_words
from ductcalc.report.sentences import capitalised, listed, several, the
from ductcalc.units.closed_list import POUND_KG

Why = Callable[[Sizing, SizedStretch, Display], str]
NOT_LIGHTER = "no others that were tried clearly let more sets run, or save what they cost to change"
SMALL = 10.0
"""Costs from this on are shown without decimals."""
NOTHING = 0.05
"""A difference of cost below this is shown as none."""
EXPLAINED = ("wide main", "thin hose")
"""Rules whose warnings the report answers with the reason for the size."""


def cost_value(sizing: Sizing, value: float, display: Display) -> float:
    """Return a cost in the unit in which it is shown: money as it is, duct [kg] in pounds or kilograms."""
    return value / POUND_KG if cost_unit(sizing, display) == "lb" else value


def cost_unit(sizing: Sizing, display: Display) -> str:
    """Return the unit of costs: none for money, which is in whatever money the prices are."""
    if sizing.cost_kind == "money":
        return ""
    return "lb" if display.system == "inch" else "kg"


def cost_number(sizing: Sizing, value: float | None, display: Display) -> str:
    """Show a cost without its unit."""
    if value is None:
        return "not known"
    shown = cost_value(sizing, value, display)
    return f"{shown:.{2 if sizing.cost_kind == 'money' else 1 if shown < SMALL else 0}f}"


def cost(sizing: Sizing, value: float | None, display: Display) -> str:
    """Show a cost: money as it is, duct in the display's unit of weight."""
    return glued(f"{cost_number(sizing, value, display)} {cost_unit(sizing, display)}".strip())


def verdict(sizing: Sizing, display: Display) -> str:
    """Return the first line of the report."""
    if sizing.why_not == "a set would be worse":
        said = "Keep the sizes as written: with every drop as wide as its port and no main that narrows a set is worse"
    elif sizing.why_not:
        short = sizing.why_not == "nothing to choose"
        said = f"Keep the sizes as written: {'no stretch may have another size' if short else NOT_LIGHTER}"
    else:
        said = f"Take these sizes: {_may_run(sizing.then)} (now {_now(sizing.now)})"
        name = "Cost" if sizing.cost_kind == "money" else "Duct"
        now = cost_number(sizing, sizing.cost_now, display)
        return f"{said}. {name} {cost(sizing, sizing.cost_then, display)}, now {now}."
    return f"{said}. {capitalised(_may_run(sizing.now))}."


def _may_run(cases: tuple[Case, ...]) -> str:
    may, count = sum(case.may_run for case in cases), len(cases)
    if count == 1:
        return f"{case_title(cases[0])} {'may run' if may else 'may not run'}"
    return f"{all_sets(count) if may == count else f'{may} of {count} sets'} may run"


def _now(cases: tuple[Case, ...]) -> str:
    may = sum(case.may_run for case in cases)
    return str(may) if len(cases) > 1 else "it may, too" if may else "it may not"


def all_sets(count: int) -> str:
    """Say that so many sets, two or more, are all of them."""
    return "both sets" if count == 2 else f"all {count} sets"


def why(sizing: Sizing, stretch: SizedStretch, display: Display) -> str:
    """Say what a stretch's next sizes down and up would do."""
    if stretch.held:
        return "left as written: no wanted set uses it" if stretch.held == UNUSED else stretch.held
    return "; ".join(_beside(sizing, side, display) for side in (stretch.down, stretch.up) if side) or "the only size"


def why_changed(sizing: Sizing, stretch: SizedStretch, display: Display) -> str:
    """Say what a stretch that changes would do if it stayed as written."""
    kept = stretch.kept
    if kept is None:
        return "one size all along"
    saves = kept.lost is None and kept.kind == "no worse" and (kept.added_cost or 0.0) < 0.0
    return "goes with the other changes" if saves else _beside(sizing, kept, display)


def weightiest(stretches: Sequence[SizedStretch]) -> SizedStretch:
    """Return of stretches that change alike the one of which the size as written would cost most sets."""
    return max(stretches, key=lambda one: -1 if one.kept is None else one.kept.sets_lost)


def _beside(sizing: Sizing, side: Beside, display: Display) -> str:
    return f"{display.size(side.size_m)}: {_effect(sizing, side, display)}"


def _effect(sizing: Sizing, side: Beside, display: Display) -> str:
    if side.lost is not None:
        more = f" (and {several(side.sets_lost - 1, 'more set')})" if side.sets_lost > 1 else ""
        return f"{case_title(side.lost)}: {deciding(side.lost, side.kind, display)}{more}"
    if side.kind == "too fast":
        return "air too fast for a main"
    if side.added_cost is None or abs(cost_value(sizing, side.added_cost, display)) < NOTHING:
        return "no better"
    spent = cost(sizing, abs(side.added_cost), display)
    return f"no better, costs {spent} more" if side.added_cost > 0.0 else f"saves {spent}, not worth a change"


def deciding(case: Case, kind: str, display: Display) -> str:
    """Say what is weak of a case: its chips, where these decide, else its air."""
    slow = case.slowest
    if not case.solved:
        return f"no answer ({why_no_answer(case, display)})"
    if kind in ("settles", "slow") and slow is not None:
        return f"chips {'settle' if kind == 'settles' else 'slow'} in {settling_words(slow, display)}"
    return air_words(case, display)


def air_words(case: Case, display: Display) -> str:
    """Say what the poorest running port gets of the air it wants."""
    machine = min((m for m in case.asked_machines if m.runs), key=lambda m: m.least_share)
    return _air(machine.poorest, display, len(machine.ports) > 1)


def _air(port: PortAnswer, display: Display, several_ports: bool = False) -> str:
    where = f" at {port.run}" if several_ports else ""
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    return f"{the(port.machine)} gets {got} of {display.flow(port.wanted_m3_s)}{where}"


def collision_words(one: Collision, display: Display) -> str:
    """Say what stands against a set: which other set loses where, or what it lacks at its nearest."""
    name = capitalised(case_title(one.now))
    if one.loser is not None:
        lost = deciding(one.loser, one.kind, display)
        return f"{name} could run{_with_sizes(one, display)}, but {case_title(one.loser)} would lose: {lost}."
    if one.then.may_run:
        return f"{name} could run with other sizes, but they cost more than they gain."
    parts = [air_words(one.then, display)] if one.then.air == "short" else []
    if one.then.settling:
        parts.append(f"chips settle in {settling_words(one.then.settling[0], display)}")
    return f"{name} cannot run with any sizes tried; nearest: {', and '.join(parts)}."


def _with_sizes(one: Collision, display: Display) -> str:
    """Say with which other size, and where."""
    if not one.sizes:
        return ""
    title, size_m = one.sizes[0]
    more = f" and {several(len(one.sizes) - 1, 'more change')}" if len(one.sizes) > 1 else ""
    return f" with {title} at {display.size(size_m)}{more}"


def rather(sizing: Sizing, display: Display) -> Iterator[str]:
    """Say why a size up or down as a whole is not taken where it lets more sets run: a set would be worse than now."""
    chosen = sum(case.may_run for case in sizing.then)
    for way, option in (("smaller", sizing.down), ("larger", sizing.up)):
        if option is not None and option.worse is not None and option.may_run > chosen:
            sets = f"{option.may_run} of {len(option.cases)} sets may run"
            lost = f"{case_title(option.worse)} would be worse than as written"
            said = deciding(option.worse, option.kind, display)
            yield f"With the main one size {way} {sets}, but {lost}: {said}. Weigh that yourself."


def state_words(case: Case, display: Display) -> str:
    """Say how a set stands: fine, or who is short and where chips settle."""
    if not case.solved:
        return f"no answer: {why_no_answer(case, display)}"
    return "; ".join(_faults(case, display)) or f"fine{bracketed(weak_words(case))}"


def _faults(case: Case, display: Display) -> Iterator[str]:
    for machine in case.lacking:
        yield f"{machine.grade}: {_air(machine.poorest, display, len(machine.ports) > 1)}"
    if case.settling:
        more = len(case.settling) - 1
        yield f"chips settle in {settling_words(case.settling[0], display)}" + (
            f" and {several(more, 'more section')}" if more else ""
        )


def explanations(sizing: Sizing, display: Display) -> Iterator[str]:
    """Yield which reducers go, and why a size stays that a warning calls too wide, or too thin for its hose."""
    if sizing.idle_reducers:
        rows = ("row " if len(sizing.idle_reducers) == 1 else "rows ") + listed(list(map(str, sizing.idle_reducers)))
        yield f"Leave out the reducer of {rows}: it would change nothing."
    for found in sizing.findings.all:
        mine = [s for s in sizing.stretches if found.name in (s.stretch, f"hose in {s.run}")]
        if found.rule not in EXPLAINED or not mine:
            continue
        stretch, wide = mine[0], found.rule == "wide main"
        side = stretch.down if wide else stretch.up
        size = display.size(max(stretch.chosen_m))
        if side is None:
            bound = "its port and what flows in are as wide" if wide else "the port is no wider"
            yield f"{capitalised(stretch.title)} keeps {size}: {stretch.held or bound}."
        else:
            yield f"{capitalised(stretch.title)} keeps {size}. {_beside(sizing, side, display)}."


def drop_verdict(drop: DropSizing, display: Display) -> str:
    """Return the one sentence about a run's size."""
    many = len(drop.sets) > 1
    sets = f"{all_sets(len(drop.sets))} that use it" if many else f'the one set that uses it, "{drop.sets[0]}",'
    are, best, near = "are" if many else "is", drop.best, drop.nearest
    if best is not None:
        also = [display.size(s.size_m) for s in drop.sizes if s.all_fine and s is not best and not s.under_port]
        more = f" ({listed(also)} would do as well)" if also else ""
        now = ", as it is now" if best.now else ""
        take = f"Take {display.size(best.size_m)} for {drop.run}{now}"
        return f"{take}: the smallest size with which {sets} {are} fine{more}."
    if near is None:
        first = min(drop.sizes, key=lambda size: not size.now).unanswered[0]
        return f"No size of {drop.run} alone gives {sets} an answer: {why_no_answer(first, display)}."
    lack = " and ".join(_lack(near, display))
    return f"No size of {drop.run} alone makes {sets} fine; {display.size(near.size_m)} comes nearest, where {lack}."


def _lack(size: DropSize, display: Display) -> Iterator[str]:
    poor, slow = size.poorest, size.slowest
    if poor is not None and size.air != "ok":
        yield f"{the(poor[1].machine)} gets {_air(poor[1], display).split(' gets ')[-1]} ({case_title(poor[0])})"
    if slow is not None and size.chips == "settles":
        yield f"chips settle in {settling_words(slow[1], display)} ({case_title(slow[0])})"
    if size.unanswered:
        first, more = size.unanswered[0], len(size.unanswered) - 1
        also = f" and {several(more, 'more set')} have" if more else " has"
        yield f"{case_title(first)}{also} no answer ({why_no_answer(first, display)})"
