"""What a verdict is said with: counts, the number that decides, where chips settle, what assumptions are worth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from ductcalc.answers.check import Check
from ductcalc.answers.losses import Losses, LossGroup
from ductcalc.cases.case import CaseAnswer, MachineAnswer, PathAnswer, PortAnswer, SectionAnswer
from ductcalc.cases.key_machines import KeyMachine
from ductcalc.cases.worth import WorthAnswer
from ductcalc.shop.names import key_of

if TYPE_CHECKING:
    from ductcalc.answers.losses import Losses, LossGroup

ALL_WELL, NOT_WELL, NO_ANSWER = 0, 1, 3


class CasePair(NamedTuple):
    """A case with the loaded filter, which decides, and the same with the clean one."""

    loaded: CaseAnswer
    clean: CaseAnswer

    @property
    def alone(self) -> bool:
        """Whether it is one machine on its own."""
        return len(self.loaded.asked) == 1 and key_of(self.loaded.asked[0]) == key_of(self.loaded.name)


class PoorestPort(NamedTuple):
    """A machine in a case, and its port that gets least of what it wants."""

    case: CaseAnswer
    machine: MachineAnswer
    port: PortAnswer

    @property
    def share(self) -> float:
        """Air over wanted."""
        return self.port.flow_m3_s / self.port.wanted_m3_s


class SettlingPlace(NamedTuple):
    """A section in which chips settle: the case where it is slowest, and in how many cases it happens."""

    case: CaseAnswer
    section: SectionAnswer
    times: int


class Counts(NamedTuple):
    """How many of what was asked for are short. `alone`: machines one at a time; `sets`: other cases."""

    alone: int
    alone_short: int
    sets: int
    sets_short: int
    unanswered: int
    settling_sections: int
    settling_cases: int


class KeyFigures(NamedTuple):
    """A machine that the verdict names: its flows, and the suction [Pa] that it needs and finds at the wanted flows.

    needed_pa is None when no suction was found that draws the wanted flows; available_pa and margin_pa are None when
    these lie beyond the blower's curve.
    """

    machine: str
    case: CaseAnswer
    length_m: float
    wanted_m3_s: float | None
    loaded: MachineAnswer | None
    clean: MachineAnswer | None
    needed_pa: float | None
    available_pa: float | None
    margin_pa: float | None


def exit_code(check: Check) -> int:
    """Return 0 when all asked for is served and nothing settles, 1 when not, 3 when a case has no answer."""
    if check.unanswered:
        return NO_ANSWER
    return ALL_WELL if check.all_well else NOT_WELL


def pairs(check: Check) -> tuple[CasePair, ...]:
    """Return the cases two by two."""
    return tuple(map(CasePair, check.cases[0::2], check.cases[1::2]))


def counts(check: Check) -> Counts:
    """Count what is served and what is not, with the loaded filter."""
    alone = [pair.loaded for pair in pairs(check) if pair.alone]
    others = [pair.loaded for pair in pairs(check) if not pair.alone]
    return Counts(
        alone=len(alone),
        alone_short=sum(bool(case.short) for case in alone),
        sets=len(others),
        sets_short=sum(bool(case.short) for case in others),
        unanswered=len(check.unanswered),
        settling_sections=len(settling_places(check)),
        settling_cases=sum(bool(case.settling) for case in check.loaded),
    )


def settling_places(check: Check) -> tuple[SettlingPlace, ...]:
    """Return every section in which chips settle in some case, the one with the smallest share of its need first."""
    found: dict[str, list[tuple[CaseAnswer, SectionAnswer]]] = {}
    for case in check.loaded:
        for section in case.settling:
            found.setdefault(section.section, []).append((case, section))
    places = [
        SettlingPlace(*min(cases, key=lambda pair: moving_share(pair[1])), len(cases)) for cases in found.values()
    ]
    return tuple(sorted(places, key=lambda place: moving_share(place.section)))


def moving_share(section: SectionAnswer) -> float:
    """Return a section's speed over the speed that its material needs; infinite when no chips pass."""
    return section.velocity_m_s / section.needed_velocity_m_s if section.needed_velocity_m_s else float("inf")


def slowest(case: CaseAnswer) -> SectionAnswer | None:
    """Return the section where chips are nearest to settling: settling ones first, then by share of the need."""
    moving = [s for s in case.sections if s.needed_velocity_m_s]
    return min(moving, key=lambda s: (s.word != "settles", moving_share(s)), default=None)


def poorest(cases: Sequence[CaseAnswer]) -> PoorestPort | None:
    """Return the running machine and port that get the smallest share of what they want, over several cases."""
    found = [
        PoorestPort(case, machine, port)
        for case in cases
        for machine in case.machines
        if machine.asked and machine.runs
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
    return KeyFigures(
        key.machine, pair.loaded, key.length_m, key.wanted_m3_s, key.answer, clean, needed, available, key.margin_pa
    )


def hardest_path(case: CaseAnswer, machine: str) -> PathAnswer | None:
    """Return a machine's path that needs the most suction at the wanted flows."""
    paths = [path for path in case.wanted.paths if path.machine == machine]
    return max(paths, key=lambda path: path.suction_total_pa, default=None)


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


def leak_share(case: CaseAnswer, leak_m3_s: float | None) -> float:
    """Return a leak as a share of the collector's flow."""
    return leak_m3_s / case.collector.flow_m3_s if case.collector and leak_m3_s else 0.0


def joint_leak_on_way(losses: Losses) -> float:
    """Return the air [m3/s] that joints let in on a machine's way to the collector."""
    names = {row.section for row in losses.rows}
    return sum(section.joint_leak_m3_s for section in losses.case.sections if section.section in names)


class GroupShare(NamedTuple):
    """Kinds of pieces that take most of the pressure on a way, and their share together."""

    groups: tuple[LossGroup, ...]
    share: float


def heaviest_groups(losses: Losses) -> GroupShare:
    """Return the kind that takes the most, with the next one when the first alone takes less than half."""
    groups = losses.by_group()
    taken = groups[:1] if groups[0][2] >= 0.5 else groups[:2]
    return GroupShare(tuple(group for group, _, _ in taken), sum(share for _, _, share in taken))
