"""What a verdict is said with: counts, the number that decides, where chips settle, what assumptions are worth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from ductcalc.answers.check import Check
from ductcalc.cases.case import Case, hardest_path
from ductcalc.cases.figures import MachineAnswer, PortAnswer, SectionAnswer
from ductcalc.cases.judged import limits
from ductcalc.cases.key_machines import KeyMachine
from ductcalc.cases.worth import WorthAnswer

if TYPE_CHECKING:
    from ductcalc.answers.losses import Losses, LossGroup

WayOut = Literal["gates", "size", "improve"]
ALL_WELL, NOT_WELL, NO_ANSWER = 0, 1, 3


class CasePair(NamedTuple):
    """A case with the loaded filter, which decides, and the same with the clean one."""

    loaded: Case
    clean: Case

    @property
    def alone(self) -> bool:
        """Whether it is one machine on its own."""
        return self.loaded.alone


class PoorestPort(NamedTuple):
    """A machine in a case, and its port that gets least of what it wants."""

    case: Case
    machine: MachineAnswer
    port: PortAnswer

    @property
    def share(self) -> float:
        """Air over wanted."""
        return self.port.share


class SettlingPlace(NamedTuple):
    """A section in which chips settle: the case where it is slowest, and in how many cases it happens."""

    case: Case
    section: SectionAnswer
    times: int


class Counts(NamedTuple):
    """What of the cases asked for may run. alone: machines one at a time; sets: other cases, all with an answer.

    slow: cases in which chips move slowly at the worst. close: cases whose verdict lies within reach of a limit, or
    that another wye method or advertised curve turns round.
    """

    alone: int
    alone_may_run: int
    sets: int
    sets_that_may_not: tuple[Case, ...]
    slow: tuple[Case, ...]
    close: tuple[CloseCase, ...]


class CloseCase(NamedTuple):
    """A case whose verdict the calculation cannot be sure of: near a limit, or turned round by other ways (named)."""

    case: Case
    turned_by: tuple[str, ...]


class KeyFigures(NamedTuple):
    """A machine that the verdict names: its flows, and the suction [Pa] that it needs and finds at the wanted flows.

    Both are total suctions at the collector's inlet; static_pa is what a water tube there reads more, its VP.
    needed_pa is None when no suction was found that draws the wanted flows; available_pa and margin_pa are None when
    these lie beyond the blower's curve.
    """

    machine: str
    case: Case
    length_m: float
    wanted_m3_s: float | None
    loaded: MachineAnswer | None
    clean: MachineAnswer | None
    needed_pa: float | None
    available_pa: float | None
    margin_pa: float | None
    static_pa: float = 0.0


def exit_code(check: Check) -> int:
    """Return 0 when all asked for is served and nothing settles, 1 when not, 3 when a case has no answer."""
    if check.unanswered:
        return NO_ANSWER
    return ALL_WELL if check.well else NOT_WELL


def pairs(check: Check) -> tuple[CasePair, ...]:
    """Return the cases two by two."""
    return tuple(map(CasePair, check.cases[0::2], check.cases[1::2]))


def counts(check: Check) -> Counts:
    """Count what may run, with the loaded filter."""
    solved = [case for case in check.loaded if case.solved and case.asked]
    alone = [case for case in solved if case.alone]
    others = [case for case in solved if not case.alone]
    turned = dict(zip((case.name for case in check.loaded), check.turned_by, strict=True))
    return Counts(
        alone=len(alone),
        alone_may_run=sum(case.may_run for case in alone),
        sets=len(others),
        sets_that_may_not=tuple(case for case in others if not case.may_run),
        slow=tuple(case for case in solved if case.chips == "slow"),
        close=tuple(CloseCase(c, turned[c.name]) for c in solved if c.close or turned[c.name]),
    )


def deciding_case(cases: Iterable[Case]) -> Case | None:
    """Return the case that decides a verdict: of the worst grade, and of these the one farthest below its limit."""
    solved = [case for case in cases if case.solved and case.running]
    return min(solved, key=_badness, default=None)


def first_to_mend(check: Check) -> Case | None:
    """Return the case to mend first: the deciding one, but of a set the worst machine that may not run even alone."""
    case = deciding_case(check.loaded)
    asked = () if case is None or case.may_run else case.running
    alone = [one for one in check.loaded if one.alone and one.asked[0] in asked and not one.may_run]
    return deciding_case(alone) or case


def _badness(case: Case) -> tuple[int, float]:
    """Return a case's rank, the worst first: may not run, just short, the rest; then how far it is below its limit."""
    share, speed = float(case.judged.case_share[case.column]), float(case.judged.case_settling_share[case.column])
    if case.may_run:
        return (1 if case.air == "just short" else 2), share
    return 0, min(share / limits().just_short if case.air == "short" else 1.0, speed)


def chips_decide(case: Case) -> bool:
    """Whether a case stands on its chips: they settle, and it is farther below that limit than below that of air."""
    share = float(case.judged.case_share[case.column]) / limits().just_short
    return case.chips == "settles" and (case.air != "short" or case.judged.case_settling_share[case.column] < share)


def way_out(check: Check, case: Case) -> WayOut:
    """Return which question to ask first where the chips of a case settle: the one that knows how it may run.

    gates: with another gate open, or its machines one after the other; size: in the smaller pipe of a wide main's cure.
    """
    from ductcalc.answers.gates.helpers import gate_helps

    alone = {one.asked[0] for one in check.loaded if one.alone and one.may_run}
    in_turn = len(case.running) > 1 and set(case.running) <= alone
    choice = next(choice for choice in check.asked if choice.name == case.name)
    if in_turn or gate_helps(case.judged.model, choice):
        return "gates"
    effects = (found.effect for found in check.findings.all if found.rule == "wide main")
    resized = any(one.case == case.name and one.after is not None and one.cured for one in effects)
    return "size" if resized and case.air != "short" else "improve"


def settling_places(check: Check) -> tuple[SettlingPlace, ...]:
    """Return every section in which chips settle in some case, the one with the smallest share of its need first."""
    found: dict[str, list[tuple[Case, SectionAnswer]]] = {}
    for case in check.loaded:
        for section in case.settling:
            found.setdefault(section.section, []).append((case, section))
    places = [
        SettlingPlace(*min(cases, key=lambda pair: pair[1].settling_share), len(cases)) for cases in found.values()
    ]
    return tuple(sorted(places, key=lambda place: place.section.settling_share))


def poorest(cases: Sequence[Case]) -> PoorestPort | None:
    """Return the running machine and port that get the smallest share of what they want, over several cases."""
    found = [
        PoorestPort(case, machine, port)
        for case in cases
        for machine in case.machines
        if machine.runs
        for port in machine.ports
    ]
    return min(found, key=lambda one: one.share, default=None)


def key_figures(check: Check, key: KeyMachine) -> KeyFigures:
    """Return the figures of a machine that the verdict names."""
    pair = next(pair for pair in pairs(check) if pair.loaded.name == key.case)
    clean = next((m for m in pair.clean.machines if m.machine == key.machine), None)
    path = hardest_path(pair.loaded, key.machine)
    needed = None if path is None else path.suction_total_pa
    available = None if needed is None or key.margin_pa is None else needed + key.margin_pa
    wanted = pair.loaded.wanted
    static = (wanted.suction_static_pa or 0.0) - (wanted.suction_total_pa or 0.0)
    return KeyFigures(
        key.machine,
        pair.loaded,
        key.length_m,
        key.wanted_m3_s,
        key.answer,
        clean,
        needed,
        available,
        key.margin_pa,
        static,
    )


def by_effect(check: Check) -> tuple[WorthAnswer, ...]:
    """Return the assumptions, the one that moves the subject's air most first, those without a band last."""
    return tuple(sorted(check.assumptions, key=lambda worth: -effect(worth)))


def effect(worth: WorthAnswer) -> float:
    """Return how much air [m3/s] an assumption is worth; without an end it comes first, without a band last."""
    if not worth.assumption.banded:
        return -1.0
    if worth.low_m3_s is None or worth.high_m3_s is None:
        return float("inf")
    return abs(worth.high_m3_s - worth.low_m3_s)


def leak_share(case: Case, leak_m3_s: float | None) -> float:
    """Return a leak as a share of the collector's flow."""
    return leak_m3_s / case.collector.flow_m3_s if case.collector and leak_m3_s else 0.0


def joint_leak_on_way(losses: Losses) -> float:
    """Return the air [m3/s] that joints let in on a machine's way to the collector."""
    names = {row.section for row in losses.rows}
    return sum(section.joint_leak_m3_s or 0.0 for section in losses.case.sections if section.section in names)


class GroupShare(NamedTuple):
    """Kinds of pieces that take most of the pressure on a way, and their share together."""

    groups: tuple[LossGroup, ...]
    share: float


def heaviest_groups(losses: Losses) -> GroupShare:
    """Return the kind that takes the most, with the next one when the first alone takes less than half."""
    groups = losses.by_group()
    taken = groups[:1] if groups[0][2] >= 0.5 else groups[:2]
    return GroupShare(tuple(group for group, _, _ in taken), sum(share for _, _, share in taken))
