"""What a sizing says, in sentences: the verdict, why a size, which wish must give, what is proven."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.reasons import Neighbour, Verdict
from ductcalc.answers.size.sizing import SizedStretch, Sizing
from ductcalc.answers.size.wishes import Giving
from ductcalc.cases.case import Case
from ductcalc.report.blocks import glued
from ductcalc.report.check_sentences import case_title, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.grades import bracketed, weak_words
from ductcalc.report.sentences import capitalised, listed, several, the
from ductcalc.units.closed_list import POUND_KG

MONEY_DIGITS, WEIGHT_DIGITS = 2, 1
KEPT = {"kept as asked": "kept as asked", "no set uses it": "left as written: no wanted set uses it"}


def cost(sizing: Sizing, value: float | None, display: Display) -> str:
    """Show a cost: money as it is, sheet in the display's unit of weight."""
    if value is None:
        return "not known (some of it has no price)"
    number, unit = cost_number(sizing, value, display), cost_unit(sizing, display)
    return glued(f"{number} {unit}") if unit else number


def cost_number(sizing: Sizing, value: float, display: Display) -> str:
    """Show a cost without its unit."""
    return f"{cost_value(sizing, value, display):.{MONEY_DIGITS if sizing.cost_kind == 'money' else WEIGHT_DIGITS}f}"


def cost_value(sizing: Sizing, value: float, display: Display) -> float:
    """Return a cost in the unit in which it is shown: money as it is, sheet [kg] in pounds or kilograms."""
    return value / POUND_KG if cost_unit(sizing, display) == "lb" else value


def cost_unit(sizing: Sizing, display: Display) -> str:
    """Return the unit of costs: none for money, which is in whatever money the prices are."""
    if sizing.cost_kind == "money":
        return ""
    return "lb" if display.system == "inch" else "kg"


def cost_name(sizing: Sizing) -> str:
    """Say what is counted."""
    return "cost by your prices" if sizing.cost_kind == "money" else "sheet"


def verdict(sizing: Sizing, display: Display) -> str:
    """Return the first line of the report."""
    count = len(sizing.then)
    sets = all_sets(count) if count > 1 else case_title(sizing.then[0])
    if sizing.found:
        price = f"{cost_name(sizing)} {cost(sizing, sizing.cost_then, display)}"
        if sizing.cost_now is not None:
            price += f", as written {cost(sizing, sizing.cost_now, display)}"
        fine = f"with these sizes {sets} {'are' if count > 1 else 'is'} fine ({_fine_now(sizing)})"
        return f"Yes: {fine}; {price}. {_proven(sizing, display)}"
    bad = sum(not case.well for case in sizing.then)
    none = "No sizing out of those sold makes" if sizing.impossible else "No sizing was found that makes"
    but = f": with these sizes {bad} {_are(bad)} not ({_fine_now(sizing)})" if count > 1 else ""
    first = f"{none} {sets} fine{but}."
    return f"{first} {capitalised(giving_words(sizing.giving[0], display))}" if sizing.giving else first


def all_sets(count: int) -> str:
    """Say that so many sets, two or more, are all of them."""
    return "both sets" if count == 2 else f"all {count} sets"


def _are(count: int) -> str:
    return "is" if count == 1 else "are"


def _fine_now(sizing: Sizing) -> str:
    bad, count = sum(not case.well for case in sizing.now), len(sizing.now)
    if count == 1:
        return "as written it is not" if bad else "as written it is, too"
    return f"as written {bad} {_are(bad)} not" if bad else "as written they are, too"


def _proven(sizing: Sizing, display: Display) -> str:
    if sizing.proven:
        return "No other sizing that does so costs less: proven."
    if sizing.bound is None:
        return "Best found; not proven to be the cheapest."
    gap = 1.0 - sizing.bound / sizing.cost_then if sizing.cost_then > 0.0 else 0.0
    return (
        f"Best found: a cheaper one could exist, but none below {cost(sizing, sizing.bound, display)}"
        f" ({display.share(gap)} less)."
    )


def sureness(sizing: Sizing) -> str:
    """Say what was tried and what is proven."""
    tried = f"{sizing.possible:,} sizings are possible; {sizing.solved:,} cases were solved to find this one."
    if sizing.proven and sizing.found:
        return tried + " Every sizing that might cost less was tried, or ruled out by its cost or the blower's power."
    if sizing.proven:
        unknown = any(one.unanswered is not None for one in sizing.giving)
        return (
            tried
            + " Every sizing there is was tried: none leaves fewer sets that are not fine, or a smaller lack."
            + (" What has no answer counts as not fine, whatever it would get." if unknown else "")
        )
    if sizing.found:
        return (
            tried + " The bound: in no set may the wanted air use up more power than the blower can give; within that"
            " limit nothing costs less."
        )
    said = ""
    if sizing.impossible:
        said = " That none makes all of them fine is proven: each was tried, or is ruled out by the blower's power."
    return tried + said + " Whether another one comes nearer is not proven."


def why(sizing: Sizing, stretch: SizedStretch, display: Display) -> str:
    """Say what a stretch's next sizes down and up would do."""
    if stretch.held:
        return KEPT.get(stretch.held, stretch.held)
    parts = [_beside(sizing, side, display) for side in (stretch.down, stretch.up) if side is not None]
    return "; ".join(parts) or "the only size sold"


def _beside(sizing: Sizing, side: Neighbour, display: Display) -> str:
    return f"{display.size(side.size_m)}: {_effect(sizing, side, display)}"


def _effect(sizing: Sizing, side: Neighbour, display: Display) -> str:
    if side.worst.kind == "no worse":
        if side.added_cost > 0.0:
            return f"does as well, costs {cost(sizing, side.added_cost, display)} more"
        if side.added_cost < 0.0:
            return f"lacks a little more, costs {cost(sizing, -side.added_cost, display)} less"
        return "does as well"
    more = f" (and {several(side.sets_lost - 1, 'more set')})" if side.sets_lost > 1 else ""
    return decided(side.worst, display) + more


def decided(one: Verdict, display: Display) -> str:
    """Say what decides a set, with the set."""
    if one.kind == "no answer":
        return f"no answer for {set_title(one)}"
    if one.kind == "short":
        return f"{air_words(one, display)}{_with(one)}"
    return f"{settling_words(one, display)}{_with(one)}"


def air_words(one: Verdict, display: Display) -> str:
    """Say what a port gets of the air it wants."""
    where = f" at {one.run}" if one.several else ""
    got = display.got_number(one.flow_m3_s, one.wanted_m3_s, False)
    return f"{the(str(one.machine))} gets {got} of {display.flow(one.wanted_m3_s)}{where}"


def settling_words(one: Verdict, display: Display) -> str:
    """Say where chips settle and at which speed."""
    return f"chips settle in {one.section}, {_speeds(one, display)}"


def _speeds(one: Verdict, display: Display) -> str:
    got, settling = display.speed_number(one.velocity_m_s), display.speed_number(one.settling_velocity_m_s)
    return f"{'<' + settling if got == settling else got} of {display.speed(one.needed_m_s)}"


def _with(one: Verdict) -> str:
    if one.alone and one.machine is not None:
        return " alone"
    return f" with {set_title(one)}"


def set_title(one: Verdict) -> str:
    """Name a set: a machine alone or a set's own name."""
    return f"{the(one.case)} alone" if one.alone else f'"{one.case}"'


def state_words(case: Case, display: Display) -> str:
    """Say how a set stands: fine, or who is short and where chips settle."""
    if not case.solved:
        return f"no answer: {why_no_answer(case, display)}"
    return "; ".join(_faults(case, display)) or f"fine{bracketed(weak_words(case))}"


def _faults(case: Case, display: Display) -> Iterator[str]:
    for machine in case.lacking:
        port = machine.poorest
        where = f" at {port.run}" if len(machine.ports) > 1 else ""
        got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
        yield f"{machine.machine} {machine.grade}, {got} of {display.flow(port.wanted_m3_s)}{where}"
    if case.settling:
        slow = case.settling[0]
        more = f" and {several(len(case.settling) - 1, 'more section')}" if len(case.settling) > 1 else ""
        yield f"chips settle in {slow.section} ({display.speed(slow.deciding_velocity_m_s)}){more}"


def giving_words(one: Giving, display: Display) -> str:
    """Say which wish of a set must give; where sizes have no answer, that too."""
    name, unanswered = set_title(one.now), one.unanswered
    if one.fine:
        return f"{name} could be fine by itself, but not with these others: it must give, or one of them."
    if one.air.kind == "no answer" and unanswered is not None:
        tried = "" if one.most else " that was tried"
        return f"no sizing{tried} gives {name} an answer: {why_no_answer(unanswered, display)}."
    said = _no_both(one, display) if one.has_air else _no_air(one, display)
    if unanswered is None:
        return said
    return f"{said} Some other sizes have no answer: {why_no_answer(unanswered, display)}."


def _no_both(one: Giving, display: Display) -> str:
    name, best = set_title(one.now), one.best
    both = "its air, or keep its chips moving, but no sizing" + ("" if one.sure else " that was found") + " does both"
    if best.kind == "settles":
        return f"{name} can have {both}: at best {settling_words(best, display)}. A helper gate may carry the chips."
    return f"{name} can have {both}: at best {air_words(best, display)}."


def _no_air(one: Giving, display: Display) -> str:
    """Say that the air cannot be had: of the only port the most, of several what the poorest gets at best."""
    air, name = one.air, set_title(one.now)
    if one.ports > 1:
        sizes = "any sizes sold" if one.sure else "any sizes that were tried"
        whom = f"{name} does not get its air at every port" if one.now.alone else f"in {name} not all get their air"
        others = "port" if one.now.alone else "machine"
        return f"{whom} with {sizes}: at best {air_words(air, display)}, and no other {others} a smaller share."
    most = f"{display.flow(air.flow_m3_s)} is the most" + ("" if one.sure else " that was found")
    where = "" if one.now.alone else f" in {name}"
    wish = f"{the(str(air.machine))}'s {display.flow(air.wanted_m3_s)}{where}"
    return f"{wish} cannot be had: {most}." if one.proven or one.sure else f"{wish} was not reached: {most}."


def drop_verdict(drop: DropSizing, display: Display) -> str:
    """Return the one sentence about a run's size."""
    several_sets = len(drop.sets) > 1
    sets = f"{all_sets(len(drop.sets))} that use it" if several_sets else f'the one set that uses it, "{drop.sets[0]}",'
    are = "are" if several_sets else "is"
    best = drop.best
    if best is not None:
        also = [size for size in drop.sizes if size.all_fine and size is not best]
        more = f" ({listed([display.size(size.size_m) for size in also])} would do as well)" if also else ""
        now = ", as it is now" if best.now else ""
        take = f"Take {display.size(best.size_m)} for {drop.run}{now}"
        return f"{take}: the smallest size with which {sets} {are} fine{more}."
    near = drop.nearest
    if near is None:
        return f"No size of {drop.run} alone gives {sets} an answer: {why_no_answer(_as_now(drop), display)}."
    return (
        f"No size of {drop.run} alone makes {sets} fine; {display.size(near.size_m)} comes nearest, where"
        f" {_lack(near, display)}."
    )


def _as_now(drop: DropSizing) -> Case:
    """Return a case without an answer, where there is one at the size as written."""
    return min(drop.sizes, key=lambda size: (not size.unanswered, not size.now)).unanswered[0]


def _lack(size: DropSize, display: Display) -> str:
    said = []
    if size.poorest is not None and size.air != "ok":
        said.append(decided(size.poorest, display))
    if size.slowest is not None and size.chips == "settles":
        said.append(decided(size.slowest, display))
    if size.unanswered:
        first = size.unanswered[0]
        more = f" and {several(len(size.unanswered) - 1, 'more set')} have" if len(size.unanswered) > 1 else " has"
        said.append(f"{case_title(first)}{more} no answer ({why_no_answer(first, display)})")
    return " and ".join(said)
