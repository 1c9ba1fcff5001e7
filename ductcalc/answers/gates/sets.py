"""Gate sets as bit patterns: which are possible, solved in blocks when first asked for, audited, kept, judged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ductcalc.arrays import Flags, Floats, Masks
from ductcalc.audit import Asked, Audit, PieceTable, audit
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice, usable_machines
from ductcalc.cases.figures import AuditAnswer
from ductcalc.cases.judged import NOT_CONVERGED, JudgedCases, Yardstick, joined, status_of
from ductcalc.cases.solving import collector_of, end_flow, judged_cases
from ductcalc.cases.unsolved import outlet_of
from ductcalc.model.model import Model
from ductcalc.model.numbers import numbers_of
from ductcalc.shop.names import key_of
from ductcalc.solve.operating import operating_point

Progress = Callable[[int, int], None]
MOST_FOR_ALL = 16
SETS_AT_ONCE = 2048
LEAST_GROUP = 3
"""Machines from which on a group is told as such."""


def clashes(model: Model) -> tuple[tuple[int, int], ...]:
    """Return pairs of machines (by their place among the usable ones) that share a hose."""
    machines = usable_machines(model)
    sections = [{model.ports[p].section for p in model.ports_of[key_of(m)] if not model.ports[p].off} for m in machines]
    return tuple((a, b) for a, b in combinations(range(len(machines)), 2) if sections[a] & sections[b])


def mask_of(places: Iterable[int]) -> int:
    """Return the bit pattern of a set of machines given by their places."""
    return sum(1 << place for place in places)


def places_of(mask: int) -> tuple[int, ...]:
    """Return the places of the machines in a bit pattern."""
    return tuple(place for place in range(mask.bit_length()) if mask >> place & 1)


def bits(masks: Sequence[int], machines: int) -> Flags:
    """Return which machines are in each pattern (machines, patterns); of any number of machines."""
    if machines < 63:
        return np.asarray(np.array(masks, dtype=np.int64) >> np.arange(machines)[:, None] & 1, dtype=bool)
    return np.array([[mask >> place & 1 for mask in masks] for place in range(machines)], dtype=bool)


def possible(masks: Sequence[int], pairs: Sequence[tuple[int, int]]) -> list[int]:
    """Return those patterns in which no two machines share a hose."""
    clash = [mask_of(pair) for pair in pairs]
    return [mask for mask in masks if not any(mask & pair == pair for pair in clash)]


def count_possible(machines: int, pairs: Sequence[tuple[int, int]]) -> int:
    """Return how many patterns but the empty one hold no two machines that share a hose."""
    apart = {place: {b for a, b in (*pairs, *((b, a) for a, b in pairs)) if a == place} for place in range(machines)}

    def count(places: frozenset[int]) -> int:
        """Count the patterns within some places, the empty one included."""
        busy = next((place for place in sorted(places) if apart[place] & places), None)
        if busy is None:
            return 1 << len(places)
        rest = places - {busy}
        return count(rest) + count(rest - apart[busy])

    return count(frozenset(range(machines))) - 1


def every_mask(machines: int) -> list[int]:
    """Return every pattern but the empty one, in the order of numbers."""
    return list(range(1, 1 << machines))


def masks_up_to(machines: int, most: int) -> list[int]:
    """Return every pattern of one to `most` machines, small ones first."""
    return [mask_of(places) for size in range(1, most + 1) for places in combinations(range(machines), size)]


def has_proper_superset(flags: Flags) -> Flags:
    """Return for each pattern (2^n,) whether a larger pattern that holds it is flagged."""
    found, machines = flags.copy(), len(flags).bit_length() - 1
    proper = np.zeros_like(flags)
    for bit in range(machines):
        without = np.arange(len(flags)) >> bit & 1 == 0
        index = np.flatnonzero(without)
        above = index | (1 << bit)
        proper[index] |= found[above]
        found[index] |= found[above]
        proper[index] |= proper[above]
    return proper


def has_proper_subset(flags: Flags) -> Flags:
    """Return for each pattern (2^n,) whether a smaller pattern within it is flagged."""
    return has_proper_superset(flags[::-1])[::-1]


def maximal(flags: Flags) -> Masks:
    """Return flagged patterns of (2^n,) that no larger flagged one holds."""
    return np.flatnonzero(flags & ~has_proper_superset(flags))


def minimal(flags: Flags) -> Masks:
    """Return flagged patterns of (2^n,) that hold no smaller flagged one."""
    return np.flatnonzero(flags & ~has_proper_subset(flags))


def any_two_of(pairs: Sequence[tuple[str, str]], machines: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Return groups of which any two are a pair, so that every pair stands in a group; groups of two come last.

    >>> any_two_of([("a", "b"), ("a", "c"), ("b", "c"), ("c", "d")], "abcd")
    (('a', 'b', 'c'), ('c', 'd'))
    """
    place = {machine: number for number, machine in enumerate(machines)}
    untold = {frozenset((place[one], place[other])) for one, other in pairs}
    beside = {n: {m for pair in untold if n in pair for m in pair if m != n} for n in range(len(machines))}
    groups: list[list[int]] = []
    while untold:
        found = max((_grown(seed, beside, untold) for seed in sorted(beside)), key=lambda g: _told(g, untold))
        if len(found) < LEAST_GROUP or _told(found, untold) < LEAST_GROUP:
            break
        groups.append(sorted(found))
        untold -= {pair for pair in untold if pair <= set(found)}
    rest = sorted(tuple(sorted(pair)) for pair in untold)
    return tuple(tuple(machines[n] for n in group) for group in [*groups, *rest])


def _grown(seed: int, beside: dict[int, set[int]], untold: set[frozenset[int]]) -> list[int]:
    """Grow a group from a machine by the one that tells most pairs, while any two of it are a pair."""
    group, open_ones = [seed], set(beside[seed])
    while open_ones:
        best = max(sorted(open_ones), key=lambda n: sum(frozenset((n, m)) in untold for m in group))
        group.append(best)
        open_ones &= beside[best]
    return group


def _told(group: Sequence[int], untold: set[frozenset[int]]) -> int:
    members = set(group)
    return sum(pair <= members for pair in untold)


class GateSets:
    """The gate sets of one model with the loaded filter; machines by place among the usable ones.

    A set's key is its pattern, above it the pattern of those whose own blower stands still because they only help.
    unsettled: sets for which no flow was found that passes the audit, not counting those past the blower's points;
    blown_out: of how many of them air would blow out of what.
    audit: the greatest residuals of all sets that have an answer.
    """

    def __init__(self, model: Model, progress: Progress | None = None) -> None:
        """Prepare what all blocks share."""
        self.model, self.progress = model, progress
        self.machines = usable_machines(model)
        self.yardstick = Yardstick(model)
        self.place = {key_of(machine): place for place, machine in enumerate(self.machines)}
        self.row = np.array([model.machines.index(machine) for machine in self.machines], dtype=np.intp)
        """Row of each usable machine among all machines."""
        self.wanted = np.array([[port.wanted_m3_s] for port in model.ports])
        self.unsettled, self.audit = 0, AuditAnswer(0.0, 0.0, 0.0)
        self.blown_out: Counter[str] = Counter()
        self.table, self._supply = PieceTable.of(model), collector_of(model).supply("loaded")
        pushing = {key_of(m.name) for m in model.shop.settings.machines if m.own_blower_pa is not None}
        self._own_blowers = sum(1 << place for machine, place in self.place.items() if machine in pushing)
        self._column: dict[int, int] = {}
        self._blocks: list[JudgedCases] = []

    def ask(
        self,
        opened: Sequence[int],
        running: Sequence[int] | None = None,
        wanted: Sequence[Mapping[int, float]] | None = None,
    ) -> AskedSets:
        """Return sets judged (solving those not yet known).

        running: patterns of the machines that make chips, all open ones when left out. wanted: for each set the
        machines (by place) whose wanted air [m3/s] differs in it.
        """
        running = opened if running is None else running
        keys = opened if running is opened else [self._key(o, r) for o, r in zip(opened, running, strict=True)]
        self._add(keys)
        if len(self._blocks) > 1:
            self._blocks[:] = [joined(self._blocks)]
        known = self._blocks[0].take(np.array([self._column[key] for key in keys], dtype=np.intp))
        judged = known.asked_as(self._flags(opened), self._flags(running), self._wanted(len(keys), wanted))
        return AskedSets(self, tuple(opened), tuple(running), tuple(wanted or ({},) * len(keys)), judged)

    def ask_choices(self, choices: Sequence[Choice]) -> AskedSets:
        """Return choices judged, each by the wanted flows of its own where it has some."""
        place = self.place
        opened = [mask_of(place[key_of(m)] for m in choice.machines) for choice in choices]
        running = [mask_of(place[key_of(m)] for m in choice.machines if choice.runs(m)) for choice in choices]
        return self.ask(opened, running, [{place[k]: f for k, f in choice.wanted_m3_s.items()} for choice in choices])

    def wanted_of(self, place: int) -> float:
        """Return the air that a machine wants by the table [m3/s]."""
        return float(self.wanted[self.yardstick.port_machine == self.row[place]].sum())

    def _key(self, opened: int, running: int) -> int:
        """Return the key of a set in which some of the open machines only help; one with a blower then stands still."""
        return opened | (opened & ~running & self._own_blowers) << len(self.machines)

    def _flags(self, masks: Sequence[int]) -> Flags:
        """Return which of all machines are in each pattern (machines, sets)."""
        flags = np.zeros((len(self.model.machines), len(masks)), dtype=bool)
        flags[self.row] = bits(masks, len(self.machines))
        return flags

    def _wanted(self, count: int, own: Sequence[Mapping[int, float]] | None) -> Floats:
        """Return what each port wants in each set (ports, sets) [m3/s]."""
        wanted = np.broadcast_to(self.wanted, (len(self.wanted), count))
        if not any(own or ()):
            return wanted
        wanted = wanted.copy()
        for column, flows in enumerate(own or ()):
            for place, flow in flows.items():
                wanted[self.yardstick.port_machine == self.row[place], column] *= flow / self.wanted_of(place)
        return wanted

    def _add(self, keys: Sequence[int]) -> None:
        """Solve the sets, given by their keys, that are not yet known."""
        new = [key for key in dict.fromkeys(keys) if key not in self._column]
        for first in range(0, len(new), SETS_AT_ONCE):
            block = new[first : first + SETS_AT_ONCE]
            start = len(self._column)
            self._blocks.append(self._solve(block))
            self._column.update({key: start + number for number, key in enumerate(block)})
            if self.progress is not None:
                self.progress(first + len(block), len(new))

    def named_ports(self, asked: Flags) -> Flags:
        """Return which ports are asked for (ports, sets); of a machine's ports on one hose the first."""
        seen: set[tuple[int, int]] = set()
        first = np.zeros((len(self.model.ports), 1), dtype=bool)
        for number, port in enumerate(self.model.ports):
            hose = (int(self.yardstick.port_machine[number]), port.section)
            first[number] = not port.off and hose not in seen
            seen.add(hose)
        return self.yardstick.by_machine(asked) & first

    def _solve(self, keys: Sequence[int]) -> JudgedCases:
        model = self.model
        opened = [key & (1 << len(self.machines)) - 1 for key in keys]
        still = [key >> len(self.machines) for key in keys]
        asked, stopped = self._flags(opened), self._flags(still)
        state = model.opening.state(self.named_ports(asked), self.named_ports(asked & ~stopped))
        index = np.zeros(len(keys), dtype=np.intp)
        solved = operating_point(model.tree, numbers_of(model, state), model.junction, [self._supply], index)
        checked = audit(self.table, Asked(asked, asked & ~stopped, np.ones(len(keys), dtype=bool)), state, solved)
        last = np.full(len(keys), self._supply.last_flow_m3_s)
        status = status_of(solved.converged, checked.passed, end_flow(model, solved), last)
        found = judged_cases(
            model, (asked, asked), self._wanted(len(keys), None), state, solved, status, self.yardstick
        )
        self._audited(checked, found.solved)
        self.unsettled += int(np.count_nonzero(status == NOT_CONVERGED))
        self.blown_out.update(outlet_of(model, section) for section in solved.outward[solved.outward >= 0].tolist())
        return found

    def _audited(self, checked: Audit, good: Flags) -> None:
        if good.any():
            worst = (float(part[good].max()) for part in (checked.pressure, checked.mass, checked.blower))
            known = (self.audit.pressure, self.audit.mass, self.audit.blower)
            self.audit = AuditAnswer(*map(max, worst, known))


@dataclass(frozen=True, eq=False)
class AskedSets:
    """Some sets of a store, judged. opened, running: their patterns; wanted: own wishes of machines (by place)."""

    store: GateSets
    opened: tuple[int, ...]
    running: tuple[int, ...]
    wanted: tuple[Mapping[int, float], ...]
    judged: JudgedCases

    def case(self, number: int, name: str | None = None) -> Case:
        """Return one set as a person asks about it; without a name of its own by its machines."""
        machines = (self.store.machines[place] for place in places_of(self.opened[number]))
        return Case(self.judged, number, name or ", ".join(machines))
