"""What may be open, in plain words, with the numbers that decide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.gates.cures import AirBleed, CureAnswer, SmallerPipe
from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.answers.gates.sorting import Sorted, poorest_fine, sorted_singles
from ductcalc.answers.gates.verdicts import MachineInSet, SetAnswer, SlowestSection
from ductcalc.report.blocks import glued
from ductcalc.report.display import Display
from ductcalc.report.sentences import capitalised, listed, several, the
from ductcalc.units.display import to_display

MOST_NAMES = 4


def verdict(gates: Gates, display: Display) -> str:
    """Return the first line of the report."""
    found = sorted_singles(gates)
    parts = [_alone(gates, found, display), *_not_alone(gates, found, display), *_named(gates)]
    return capitalised("; ".join(part for part in parts if part)) + "."


def _alone(gates: Gates, found: Sorted, display: Display) -> str:
    fine, count = len(found.fine), len(gates.machines)
    if not fine:
        return "" if count == 1 else "no machine may run alone with only its own gate open"
    least = poorest_fine(found.fine)
    assert least is not None
    spare = f" (least to spare: {the(least.name)} gets {_got(least.machines[0], display)})"
    if fine < count:
        return f"{fine} of {count} machines may run alone with only their own gate open"
    if count == 1:
        return f"{the(least.name)} may run with its gate open{spare}"
    return f"all {count} machines may run alone with only their own gate open{spare}"


def _not_alone(gates: Gates, found: Sorted, display: Display) -> Iterator[str]:
    if found.company:
        yield _company(found.company, display)
    if found.settling:
        names = [answer.name for answer in found.settling]
        slow = found.settling[0].slowest
        assert slow is not None
        many = len(names) > 1
        where = f"{the(names[0])}: " if many else ""
        yield (
            f"{few(names)} {'let' if many else 'lets'} chips settle past the help of any gate"
            f" ({where}{slow_words(slow, display)})"
        )
    if found.short:
        yield _short(gates, found.short, display)
    if found.unanswered:
        yield f"no answer for {few([a.name for a in found.unanswered])}: past the end of the blower's points"


def _company(company: Sequence[HelperAnswer], display: Display) -> str:
    names = [answer.before.name for answer in company]
    first = company[0]
    assert first.before.slowest is not None
    slow = slow_words(first.before.slowest, display)
    if len(names) == 1:
        return f"{the(names[0])} needs company: alone, {slow}; open {_gates_of(first.helpers)} with it"
    return f"{few(names)} need company (alone, with {the(names[0])}, {slow})"


def _short(gates: Gates, short: Sequence[SetAnswer], display: Display) -> str:
    never = {name for name in gates.never_served if gates.exact}
    poorest = poorest_fine(short)
    assert poorest is not None
    names = [answer.name for answer in short]
    figures = f"{the(poorest.name)}: " if len(names) > 1 else ""
    figures += f"alone {_got(poorest.machines[0], display)}"
    one = len(names) == 1
    said = "never gets its air" if one else "never get their air"
    if not set(names) <= never:
        said = "gets too little air alone" if one else "get too little air alone"
    return f"{few(names)} {said} ({figures})"


def _named(gates: Gates) -> Iterator[str]:
    bad = [answer for answer in gates.named if answer.word != "fine"]
    if not gates.named:
        return
    if not bad:
        yield "the named set is fine" if len(gates.named) == 1 else f"all {len(gates.named)} named sets are fine"
        return
    quoted = [f'"{answer.name}"' for answer in bad]
    yield f"{len(bad)} of {several(len(gates.named), 'named set')} {'is' if len(bad) == 1 else 'are'} not fine: " + few(
        quoted
    )


def few(names: Sequence[str]) -> str:
    """Return names as a list in a sentence, the first few of many."""
    said = [name if name.startswith('"') else the(name) for name in names]
    if len(said) <= MOST_NAMES:
        return listed(said)
    return f"{', '.join(said[: MOST_NAMES - 1])} and {len(said) - MOST_NAMES + 1} more"


def exactness(gates: Gates) -> str:
    """Say what was solved and what therefore is exact."""
    if gates.exact:
        one = gates.solved_sets == 1
        sets = "the one possible gate set was" if one else f"all {gates.solved_sets:,} possible sets were"
        return f"Exact: {sets} solved, with the loaded filter."
    return (
        f"Exact for every set of up to {several(gates.most_together, 'machine')}: {gates.solved_sets:,} of"
        f" {gates.possible_sets:,} possible sets were solved, with the loaded filter. Larger ones are not judged (every"
        " set is solved up to 16 machines): ask for more with --together N, or name them in shop.toml."
    )


def slow_words(slow: SlowestSection, display: Display) -> str:
    """Return a slow section with its speed and what its chips need."""
    how, need = "rises" if slow.rises else "moves", "need" if slow.material.endswith("s") else "needs"
    return (
        f"{slow.section} {how} at {display.speed(slow.velocity_m_s)} where {slow.material} {need}"
        f" {display.speed(slow.needed_velocity_m_s)}"
    )


def set_title(answer: SetAnswer) -> str:
    """Return what is open: a named set in quotes, else the machines."""
    if answer.name != ", ".join(answer.open):
        return f'"{answer.name}"'
    return listed(answer.open)


def helper_words(helped: HelperAnswer, display: Display) -> str:
    """Return a helper with figures before and after."""
    before, after = helped.before, helped.after
    assert after is not None and before.slowest is not None
    also = f"open {_gates_of(helped.helpers)} too"
    moved = ""
    if after.slowest is not None:
        needed = display.speed_number(after.slowest.needed_velocity_m_s)
        speed = display.speed(after.slowest.velocity_m_s)
        moved = f"; then the slowest, {after.slowest.section}, is at {speed} and needs {needed}"
    return f"{also}. Before, {slow_words(before.slowest, display)}{moved}. {_air_change(before, after, display)}"


def pair_helper_words(helped: HelperAnswer, display: Display) -> str:
    """Return a pair's helper in short: the air of both with it and without."""
    assert helped.after is not None
    now = {m.machine: m for m in helped.after.machines}
    air = [
        f"{display.flow_number(now[m.machine].flow_m3_s)} in place of {display.flow(m.flow_m3_s)}"
        for m in helped.before.machines
    ]
    return f"open {_gates_of(helped.helpers)} too; they then get {listed(air)}."


def _air_change(before: SetAnswer, after: SetAnswer, display: Display) -> str:
    said = []
    for machine in before.machines:
        if machine.helper:
            continue
        now = next(m for m in after.machines if m.machine == machine.machine)
        short = "" if now.served else ", too little"
        wanted = f"wants {display.flow_number(now.wanted_m3_s)}"
        got = display.got_number(now.flow_m3_s, now.wanted_m3_s, now.served)
        had = display.flow(machine.flow_m3_s)
        said.append(f"{the(machine.machine)} gets {got} with it, {had} without, and {wanted}{short}")
    return capitalised("; ".join(said)) + "."


def cure_words(cure: CureAnswer, display: Display) -> str:
    """Return what would cure a set that no gate does."""
    slow = cure.before.slowest
    assert slow is not None
    said = f"{slow_words(slow, display)}, and no other gate cures it."
    ways = [*_smaller(cure, cure.smaller, display), *_bleed(cure, cure.bleed, display)]
    if not ways:
        return said + " Neither a smaller pipe nor a steady opening for air that was tried cures it either."
    return " ".join([said, *ways])


def _smaller(cure: CureAnswer, smaller: SmallerPipe | None, display: Display) -> Iterator[str]:
    if smaller is not None:
        parts = [f"{name} from {display.size(now)} to {display.size(then)}" for name, now, then in smaller.sections]
        yield f"A smaller pipe would: {'; '.join(parts)}. {_air_change(cure.before, smaller.after, display)}"


def _bleed(cure: CureAnswer, bleed: AirBleed | None, display: Display) -> Iterator[str]:
    if bleed is not None:
        yield (
            f"An opening that always lets air in where {bleed.section} begins would: {area(bleed.area_m2, display)}"
            f" free. {_air_change(cure.before, bleed.after, display)}"
        )


def area(area_m2: float, display: Display) -> str:
    """Show a free area to two digits."""
    number, unit = to_display(area_m2, "area", display.system)
    return glued(f"{float(f'{number:.2g}'):g} {unit}")


def _got(machine: MachineInSet, display: Display) -> str:
    got = display.got_number(machine.flow_m3_s, machine.wanted_m3_s, machine.served)
    return f"{got} of {display.flow(machine.wanted_m3_s)} wanted"


def _gates_of(helpers: Sequence[str]) -> str:
    owners = [f"{the(name)}'s" for name in helpers]
    return f"{listed(owners)} gate" + ("s" if len(owners) > 1 else "")
