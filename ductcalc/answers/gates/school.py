"""What can be said of many gates without solving every set: each further gate takes air from the others and speeds up
what its air passes.

So a set that holds a short pair is short, and where some gates keep chips moving in a stretch, more of them do too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import comb

import numpy as np

from ductcalc.answers.gates.sets import AskedSets, GateSets, any_two_of, mask_of, possible
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import NOWHERE, SETTLES, SHORT, JudgedCases, limits
from ductcalc.cases.variants import outcomes
from ductcalc.catalog import sizes_sold
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import ModelSection, SectionCache
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.change import air_bleed, changed
from ductcalc.shop.hanging import hang, spelled_out
from ductcalc.shop.names import key_of

MOST_TRIED = 3000
"""Sets of one size that are solved for one stretch."""
MOST_FOR_TWO = 25
"""Machines of a shop in which two gates that are kept open are tried."""
MOST_PLACES = 6
"""Stretches at whose start a bleed gate is tried."""
MOST_CLASSES = 12
"""Named sets that are tried two at a time."""
Clash = Sequence[tuple[int, int]]
Places = tuple[int, ...]


@dataclass(frozen=True)
class StretchAnswer:
    """A stretch that the air of several machines passes, in which chips settle with one of them open alone.

    machines: whose air passes it. settles: those with which it settles, and the speed then [m/s], slowest first.
    least_m_s: below it their hardest chips settle. keep_open: with so many of their gates open and all others shut
    chips move in it, whichever gates these are and whichever machines run; None where not even all do, or it is not
    known. sets, may_run: how many sets of so many machines there are, and how many may run, for they may lack air or
    let chips settle in their own drops; 0 where they are too many to solve.
    """

    section: str
    title: str
    machines: tuple[str, ...]
    settles: tuple[tuple[str, float], ...]
    least_m_s: float
    keep_open: int | None
    sets: int
    may_run: int


@dataclass(frozen=True)
class BleedGate:
    """A gate without a machine that lets air in where a section begins, opened while only one of some machines runs.

    helped: these machines alone, without it and with it open: they then may run.
    """

    section: str
    title: str
    bore_m: float
    helped: tuple[tuple[Case, Case], ...]


@dataclass(frozen=True)
class KeepOpen:
    """Gates of which at least so many are kept open, their machines off, so that most machines may run alone.

    gates: any `least` of them do. now, then: machines that may run alone, without and with any of them.
    most_lost: the machine that loses most air by it, by share, and how much [m3/s].
    """

    least: int
    gates: tuple[str, ...]
    now: tuple[str, ...]
    then: tuple[str, ...]
    most_lost: tuple[str, float]


@dataclass(frozen=True)
class School:
    """What can be said without solving every set. stretches: in the order of the air.

    Of a shop with too many machines for every set also: one_of: groups of machines of which any two are short of air,
    so that no larger set may hold two of them. bleed: the gate that cures most machines alone, None where none cures
    one. keep_open: gates of which some are kept open. classes: named sets two at a time that share no machine.
    """

    stretches: tuple[StretchAnswer, ...]
    one_of: tuple[tuple[str, ...], ...] = ()
    bleed: BleedGate | None = None
    keep_open: KeepOpen | None = None
    classes: tuple[tuple[tuple[str, str], Case], ...] = ()


def school(asked: AskedSets, clash: Clash, named: Sequence[Case], exact: bool) -> School:
    """Return what follows of the sets that were solved; exact: every set was."""
    sets = asked.store
    told = tuple(stretches(sets, clash))
    if exact:
        return School(told)
    classes = tuple(_classes(sets, clash, named))
    return School(told, one_of(asked), bleed_gate(sets), keep_open(sets, clash), classes)


def one_of(asked: AskedSets) -> tuple[tuple[str, ...], ...]:
    """Return groups of machines of which any two are short of air."""
    judged, names = asked.judged, asked.store.machines
    short = judged.solved & (judged.case_air == SHORT)
    pairs = [mask for mask, bad in zip(asked.opened, short.tolist(), strict=True) if bad and mask.bit_count() == 2]
    both = [[name for place, name in enumerate(names) if mask >> place & 1] for mask in pairs]
    return any_two_of([(one, other) for one, other in both], names)


def keep_open(sets: GateSets, clash: Clash) -> KeepOpen | None:
    """Return of which gates one, or any two, should be kept open; None where that lets no more machines run alone."""
    everybody = range(len(sets.machines))
    alone = sets.ask([1 << place for place in everybody])
    now = frozenset(place for place in everybody if alone.judged.may_run[place])
    best: tuple[frozenset[int], int, list[Places]] = now, 0, []
    for least in (1, 2):
        if len(best[0]) == len(everybody) or (least > 1 and len(everybody) > MOST_FOR_TWO):
            break
        by_gates = _then(sets, clash, list(combinations(everybody, least)))
        for then in set(by_gates.values()):
            if len(then) > len(best[0]) and then >= now:
                best = then, least, [places for places, others in by_gates.items() if others >= then]
    then, least, groups = best
    if not least:
        return None
    gates = (group[0] for group in groups) if least == 1 else _any_two(groups)
    chosen = tuple(gates)
    lost = _most_lost(sets, alone, then, [chosen[:least]] if least > 1 else [(gate,) for gate in chosen])

    def named(places: Iterable[int]) -> tuple[str, ...]:
        return tuple(sets.machines[place] for place in sorted(places))

    return KeepOpen(least, named(chosen), named(now), named(then), lost)


def _then(sets: GateSets, clash: Clash, helpers: Sequence[Places]) -> dict[Places, frozenset[int]]:
    """Return for some gates kept open which machines may run alone beside them; one of these gates' own among them."""
    tries = [(gates, place) for gates in helpers for place in range(len(sets.machines))]
    masks = [mask_of({*gates, place}) for gates, place in tries]
    fine = set(possible(list(dict.fromkeys(masks)), clash))
    judged = sets.ask(masks, [1 << place for _, place in tries]).judged
    found: dict[Places, set[int]] = {gates: set() for gates in helpers}
    for (gates, place), mask, good in zip(tries, masks, judged.may_run.tolist(), strict=True):
        if good and mask in fine:
            found[gates].add(place)
    return {gates: frozenset(places) for gates, places in found.items()}


def _any_two(pairs: Sequence[Places]) -> tuple[int, ...]:
    """Return the largest group of gates of which any two will do."""
    names = sorted({str(place) for pair in pairs for place in pair}, key=int)
    groups = any_two_of([(str(one), str(other)) for one, other in pairs], names)
    return tuple(int(name) for name in max(groups, key=len))


def _most_lost(
    sets: GateSets, alone: AskedSets, then: frozenset[int], groups: Sequence[Places]
) -> tuple[str, float]:
    """Return the machine that loses most of its air when some of these gates are kept open, and how much [m3/s]."""
    tries = [(place, gates) for gates in groups for place in sorted(then) if place not in gates]
    after = sets.ask([mask_of({*gates, place}) for place, gates in tries], [1 << place for place, _ in tries]).judged
    lost = []
    for number, (place, _) in enumerate(tries):
        before = float(alone.judged.machine_flow_m3_s[sets.row[place], place])
        flow = before - float(after.machine_flow_m3_s[sets.row[place], number])
        lost.append((flow / before, sets.machines[place], flow))
    return max(lost)[1:] if lost else ("", 0.0)


def stretches(sets: GateSets, clash: Clash) -> Iterator[StretchAnswer]:
    """Yield the shared stretches in which chips settle with some machine alone."""
    alone = sets.ask([1 << place for place in range(len(sets.machines))]).judged
    for number, places in _passing(sets).items():
        settles = [p for p in places if alone.solved[p] and alone.chips[number, p] == SETTLES]
        if len(places) > 1 and settles:
            yield _Stretch(sets, number, places, clash).answer(alone, settles)


def _passing(sets: GateSets) -> dict[int, Places]:
    """Return for each section with length the machines (by place) whose air passes it, in the order of the air."""
    model, found = sets.model, dict[int, set[int]]()
    for port_number, port in enumerate(model.ports):
        for section in () if port.off else model.path(port_number):
            found.setdefault(section, set()).add(sets.place[key_of(port.machine)])
    has_length = sets.yardstick.duct_area[:, 0] > NOWHERE
    return {section: tuple(sorted(places)) for section, places in sorted(found.items()) if has_length[section]}


@dataclass(frozen=True)
class _Stretch:
    """A section (by number) and the machines (by place) whose air passes it."""

    sets: GateSets
    number: int
    places: Places
    clash: Clash

    @cached_property
    def area_m2(self) -> float:
        return float(self.sets.yardstick.deciding_area[self.number, 0])

    @cached_property
    def least_m_s(self) -> float:
        """Speed [m/s] below which the hardest chips of these machines settle in it."""
        yardstick, model = self.sets.yardstick, self.sets.model
        share = limits().riser if yardstick.riser_decides[self.number, 0] else limits().level
        mine = {key_of(self.sets.machines[place]) for place in self.places}
        return share * max(model.needed_speed(port.material) for port in model.ports if key_of(port.machine) in mine)

    def answer(self, alone: JudgedCases, settles: Sequence[int]) -> StretchAnswer:
        sets, model = self.sets, self.sets.model
        keep_open = self._keep_open()
        speeds = [(sets.machines[p], float(alone.section_flow_m3_s[self.number, p]) / self.area_m2) for p in settles]
        return StretchAnswer(
            model.sections[self.number].name,
            model.titles[self.number],
            tuple(sets.machines[place] for place in self.places),
            tuple(sorted(speeds, key=lambda pair: pair[1])),
            self.least_m_s,
            keep_open,
            *self._may_run(keep_open),
        )

    def _may_run(self, size: int | None) -> tuple[int, int]:
        """Return how many sets of so many of its machines there are, and may run; nothing of too many."""
        if size is None or comb(len(self.places), size) > MOST_TRIED:
            return 0, 0
        masks = possible([mask_of(places) for places in combinations(self.places, size)], self.clash)
        return len(masks), int(self.sets.ask(masks).judged.may_run.sum())

    def _keep_open(self) -> int | None:
        """Return from how many gates on chips move; a set that holds a smaller one in which they do needs no try."""
        size = 1
        tried: list[Places] = [(place,) for place in self.places]
        while tried and len(tried) <= MOST_TRIED:
            weak = self._weak(tried)
            if not weak:
                return size
            size, tried = size + 1, list(self._larger(weak))
        return size if not tried and size <= len(self.places) else None

    def _weak(self, tried: Sequence[Places]) -> set[Places]:
        """Return the sets with which chips settle in it, or nothing is known."""
        judged = self.sets.ask([mask_of(places) for places in tried]).judged
        moves = judged.solved & (judged.section_flow_m3_s[self.number] >= self.least_m_s * self.area_m2)
        return {places for places, good in zip(tried, moves.tolist(), strict=True) if not good}

    def _larger(self, weak: set[Places]) -> Iterator[Places]:
        """Yield the sets of one gate more all of whose parts are weak, and that can be open together."""
        for places in sorted(weak):
            for more in (place for place in self.places if place > places[-1]):
                wider = (*places, more)
                parts = all(part in weak for part in combinations(wider, len(places)))
                if parts and possible([mask_of(wider)], self.clash):
                    yield wider


def bleed_gate(sets: GateSets) -> BleedGate | None:
    """Return the bleed gate after which most machines may run alone that let chips settle, with most air left.

    It stands where a stretch begins in which they settle, and has one of the sizes in which holes are usually cut.
    """
    alone = sets.ask([1 << place for place in range(len(sets.machines))])
    weak = [p for p in range(len(sets.machines)) if alone.judged.solved[p] and alone.judged.settling[p]]
    tries = list(_bleeds(sets, alone.judged, weak))
    if not tries:
        return None
    choices = [Choice(sets.machines[place], (sets.machines[place],)) for place in weak]
    found = outcomes([model for _, _, model in tries], choices)
    best = max(range(len(tries)), key=lambda number: _rank(found[number]))
    section, bore, model = tries[best]
    store = GateSets(model)
    after = store.ask([1 << store.place[key_of(sets.machines[place])] for place in weak])
    cured = [n for n in range(len(weak)) if after.judged.may_run[n]]
    if not cured:
        return None
    helped = tuple((alone.case(weak[n]), after.case(n)) for n in cured)
    title = sets.model.titles[sets.model.sections.index(section)]
    return BleedGate(section.name, title, bore, helped)


def _rank(judged: JudgedCases) -> tuple[int, float]:
    """Return how many cases may run, and what the poorest of these gets of its wish."""
    shares = judged.case_share[judged.may_run]
    return len(shares), float(shares.min(initial=np.inf))


def _bleeds(sets: GateSets, alone: JudgedCases, weak: Sequence[int]) -> Iterator[tuple[ModelSection, float, Model]]:
    """Yield the section, the bore [m] and the changed shop of every bleed gate that is tried."""
    model, made = sets.model, SectionCache()
    plain = spelled_out(model.shop)
    unit = "in" if plain.first_units == "inch" else "mm"
    slow = np.flatnonzero((alone.chips[:, list(weak)] == SETTLES).sum(axis=1)).tolist() if weak else []
    places = [number for number in slow if model.tree.wye_above[number] >= 0][:MOST_PLACES]
    for section in (model.sections[number] for number in places):
        for bore in (b for b in sizes_sold("air hole", unit) if b <= section.start_bore_m):
            number = int(section.name.rsplit(" ", 1)[1])
            shop = changed(plain, [air_bleed(section.run, number, float(bore_area(bore)))])
            hanging = hang(shop, sound=True)
            yield section, bore, build_model(shop, model.junction, loading=model.loading, hanging=hanging, made=made)


def _classes(sets: GateSets, clash: Clash, named: Sequence[Case]) -> Iterator[tuple[tuple[str, str], Case]]:
    """Yield the named sets two at a time that share no machine and no hose, judged by the air of the table."""
    pairs, opened, running = [], [], []
    for one, other in combinations(named[:MOST_CLASSES], 2):
        masks = [mask_of(sets.place[key_of(name)] for name in case.asked) for case in (one, other)]
        if masks[0] & masks[1] or not possible([masks[0] | masks[1]], clash):
            continue
        pairs.append((one.name, other.name))
        opened.append(masks[0] | masks[1])
        running.append(mask_of(sets.place[key_of(name)] for case in (one, other) for name in case.running))
    if pairs:
        asked = sets.ask(opened, running)
        yield from ((pair, asked.case(n, " and ".join(pair))) for n, pair in enumerate(pairs))
