"""How sure a verdict is: each machine's 80 % band of air, the chances that it is served and that its chips move.

Every number with a band is drawn, what is one fact in the shop once for all that hang on it; the wye method and an
advertised curve are choices. The sample is stratified, its facts uncorrelated, always the same, and solved in one call
for each wye method. A second shop is drawn like a first one, fact by fact, so that their difference has a band too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import sqrt
from statistics import NormalDist
from typing import Literal, NamedTuple
from zlib import crc32

import numpy as np

from ductcalc.arrays import Flags, Floats, Places
from ductcalc.cases.bands import FARTHEST, Spread, Unknown, Unknowns, unknowns_of
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import BEYOND, SOLVED, JudgedCases, joined
from ductcalc.cases.solving import collector_of
from ductcalc.cases.variants import Variant, judged_groups
from ductcalc.cases.worth import CURVE_ENDS, JUNCTIONS
from ductcalc.catalog import fact
from ductcalc.model.collector import LOADED, CurveEnd
from ductcalc.model.model import Model, build_model
from ductcalc.model.tuned import FILTER, RESISTANCE
from ductcalc.shop.kinds import LossKind
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction

COUNT, LEAST_COUNT = 32, 16
"""Shops drawn, and the fewest in a large shop: powers of two."""
NUMBERS = 40_000
"""Sections times cases up to which so many are drawn: an answer must not wait for its band."""
SEED = 16
BAND_DEVIATIONS = NormalDist().inv_cdf(0.9)
"""Standard deviations from the middle to the ends of an 80 % band."""
WYE_METHOD, CURVE, CALCULATION = "wye method", "advertised curve", "the calculation itself"
FLOW_PER_PRESSURE = 0.5
"""Share of a pressure's error that an air flow has: it goes with the root."""
LEAST_BAND = 0.01
"""Share of the air below which a difference is never told: density is held constant along the path, which is worth
about one per cent of the flow (our judgement, no source)."""
TOLD_SHARE = 0.05
"""Share of the variance from which on a fact counts among those that widen a band; our judgement."""
LOCAL: dict[LossKind, str] = {
    "machine": RESISTANCE, "hose": "hose bends", "elbow": "elbows", "reducer": "tapers", "gate": "open gates",
    "other": "other pieces", "pipe": "pipe",
}  # fmt: skip


@dataclass(frozen=True)
class Chance:
    """A machine in a case: its 80 % band of air [m3/s], the chances that it is served and that its chips move."""

    machine: str
    case: str
    low_m3_s: float
    high_m3_s: float
    served: float
    moves: float


@dataclass(frozen=True)
class Widening:
    """A fact that widens a band: its name, the machine it belongs to ("": the shop), its share of the variance."""

    name: str
    machine: str
    share: float


class Apart(NamedTuple):
    """The 80 % band of one figure over another, both drawn with the same facts: what the two share cancels."""

    low: float
    high: float

    @property
    def inside(self) -> bool:
        """Whether the difference lies inside the common band: the sign of it is not known."""
        return self.low <= 1.0 <= self.high

    @property
    def share(self) -> float:
        """What is left open of the difference, either way, as a share; the least one at the least."""
        return max(LEAST_BAND, sqrt(self.high / self.low) - 1.0)

    def times(self, ratio: float) -> Apart:
        """Return the band of a figure that is so many times as much, for sure."""
        return Apart(self.low * ratio, self.high * ratio)


Name = tuple[str, str]
Figure = Literal["air", "speed", "slowest"]


@dataclass(frozen=True, eq=False)
class Sample:
    """Drawn shops in some choices, solved. draws: standard deviations (shops,) of each fact by name.

    judged: every choice of the first drawn shop, then of the second... error: what the calculation itself is off by in
    each (shops,), as a ratio.
    """

    model: Model
    choices: tuple[Choice, ...]
    draws: dict[Name, Floats]
    judged: JudgedCases
    error: Floats

    @cached_property
    def flow_m3_s(self) -> Floats:
        """Air (shops, machines, choices)."""
        return self._stacked(self.judged.machine_flow_m3_s)

    @cached_property
    def share(self) -> Floats:
        """Air over wanted at each machine's poorest port (shops, machines, choices)."""
        return self._stacked(self.judged.share)

    @cached_property
    def settling(self) -> Floats:
        """The least speed over the settling one on each machine's way (shops, machines, choices)."""
        return self._stacked(_settling(self.judged))

    @cached_property
    def found(self) -> Flags:
        """Which have an answer (shops, choices)."""
        found = (self.judged.status == SOLVED) | (self.judged.status == BEYOND)
        return np.asarray(found.reshape(len(self.error), len(self.choices)))

    def _stacked(self, figure: Floats) -> Floats:
        """Return a figure of rows (rows, shops times choices) as drawn (shops, rows, choices), times the error."""
        parted = figure.reshape(len(figure), len(self.error), len(self.choices))
        return parted.transpose(1, 0, 2) * self.error[:, None, None]

    def chance(self, machine: str, column: int) -> Chance | None:
        """Return the band and the chances of a machine in a choice; None where most shops have no answer."""
        place, found = self._place(machine), self.found[:, column]
        if 2 * found.sum() <= len(found):
            return None
        low, high = _band(self.flow_m3_s[found, place, column])
        served, moves = (_chance_over_one(array[found, place, column]) for array in (self.share, self.settling))
        return Chance(self.model.machines[place], self.choices[column].name, low, high, served, moves)

    def widest(self, machine: str, column: int, most: int = 2) -> tuple[Widening, ...]:
        """Return the facts that widen a machine's band most, by the share of the variance that goes with each."""
        found = self.found[:, column]
        air = np.log(np.maximum(self.flow_m3_s[found, self._place(machine), column], 1e-9))
        open_ones = {"", *(name for name in self.model.machines if self.choices[column].asks(name))}
        facts = ((name, draw) for name, draw in self.draws.items() if name[0] != CALCULATION and name[1] in open_ones)
        shares = ((name, _shared(draw[found], air)) for name, draw in facts)
        ranked = sorted(shares, key=lambda pair: -pair[1])[:most]
        return tuple(Widening(*name, share) for name, share in ranked if share >= TOLD_SHARE)

    def apart(
        self, other: Sample, machine: str, columns: tuple[int, int], of: Figure = "air"
    ) -> Apart:
        """Return the band of another sample's figure over this one's: a machine's air, the speed on its way, or the
        slowest of all that run. columns: the choice in each.
        """
        pairs = ((self, columns[0]), (other, columns[1]))
        both = np.logical_and(*(one.found[:, column] for one, column in pairs))
        mine, its = (one._figure(machine, column, of)[both] for one, column in pairs)
        return Apart(*_band(its / mine)) if both.any() else Apart(0.0, np.inf)

    def has(self, machine: str) -> bool:
        """Whether the shop has a machine of a name."""
        return any(key_of(name) == key_of(machine) for name in self.model.machines)

    def _figure(self, machine: str, column: int, of: Figure) -> Floats:
        if of == "slowest":
            running = [n for n, name in enumerate(self.model.machines) if self.choices[column].runs(name)]
            return np.asarray(self.settling[:, running, column].min(axis=1))
        return (self.flow_m3_s if of == "air" else self.settling)[:, self._place(machine), column]

    def _place(self, machine: str) -> int:
        return next(n for n, name in enumerate(self.model.machines) if key_of(name) == key_of(machine))


def _band(values: Floats) -> tuple[float, float]:
    """Return the 80 % band of drawn values above nothing (shops,): of their logarithms, with their skew.

    The third moment moves both ends by the expansion of Cornish and Fisher (1937), from memory.
    """
    logs = np.log(np.maximum(values, 1e-9))
    middle, deviation = float(logs.mean()), float(logs.std())
    if deviation < 1e-12:
        return float(np.exp(middle)), float(np.exp(middle))
    skew = float((((logs - middle) / deviation) ** 3).mean())
    moved = (BAND_DEVIATIONS**2 - 1.0) * skew / 6.0
    low, high = (middle + deviation * (moved + end * BAND_DEVIATIONS) for end in (-1.0, 1.0))
    return float(np.exp(low)), float(np.exp(high))


def _chance_over_one(ratio: Floats) -> float:
    """Return the chance that a ratio is at least one: the drawn ones smoothed by a normal kernel."""
    logs = np.log(np.clip(ratio, 1e-6, 1e6))
    width = max(float(logs.std()) * len(logs) ** -0.2, 1e-9)
    normal = NormalDist()
    return float(np.mean([normal.cdf(min(max(one / width, -40.0), 40.0)) for one in logs]))


def _shared(draw: Floats, air: Floats) -> float:
    """Return the share of the variance of one that goes with the other."""
    if draw.std() == 0.0 or air.std() == 0.0:
        return 0.0
    return float(np.corrcoef(draw, air)[0, 1] ** 2)


def drawn(model: Model, choices: Sequence[Choice], least: bool = False) -> Sample:
    """Draw shops and solve some choices in each, loaded filter; of a large shop, or where least is asked for, fewer."""
    large = COUNT * len(model.sections) * len(choices) > NUMBERS
    return _drawn([model], choices, LEAST_COUNT if large or least else COUNT, {})[0]


def drawn_like(sample: Sample, models: Sequence[Model], choices: Sequence[Choice]) -> list[Sample]:
    """Draw other shops with the facts of a sample, all in one call; facts that it lacks are drawn besides."""
    return _drawn(models, choices, len(sample.error), sample.draws)


def _drawn(
    models: Sequence[Model], choices: Sequence[Choice], count: int, known: Mapping[Name, Floats]
) -> list[Sample]:
    every = [_Shops(model, count, known) for model in models]
    judged = iter(judged_groups([group for shops in every for group in shops.variants()], choices))
    return [
        Sample(
            shops.model,
            tuple(choices),
            shops.draws,
            joined([next(judged) for _ in shops.of_method]).take(shops.places(len(choices))),
            shops.error,
        )
        for shops in every
    ]


def _settling(judged: JudgedCases) -> Floats:
    """Return the least speed over the settling one on each machine's way (machines, cases)."""
    model = judged.model
    ways = [sorted({s for port in model.ports_of[key_of(name)] for s in model.path(port)}) for name in model.machines]
    return np.array([judged.settling_share[way].min(axis=0, initial=np.inf) for way in ways])


def orthogonal(count: int) -> Floats:
    """Return an orthogonal Latin hypercube (count, count / 2): every column has each of so many levels once.

    count: a power of two. Source: Sun, Liu and Lin, Construction of orthogonal Latin hypercube designs, Biometrika 96
    (2009) 971, from memory; a test holds that its columns are orthogonal.
    """
    signs, steps = np.array([[1.0, 1.0], [1.0, -1.0]]), np.array([[1.0, 2.0], [2.0, -1.0]])
    while 2 * len(signs) < count:
        half, size = np.where(np.arange(len(signs)) < len(signs) // 2, -1.0, 1.0)[:, None], float(len(signs))
        turned, moved = half * signs, half * steps
        steps = np.block([[steps, -(moved + size * turned)], [steps + size * signs, moved]])
        signs = np.block([[signs, -turned], [signs, turned]])
    levels = steps - signs / 2.0
    return np.vstack([levels, -levels])


class _Shops:
    """Draws standard deviations of every fact, and makes a variant of each drawn shop."""

    def __init__(self, model: Model, count: int, known: Mapping[Name, Floats]) -> None:
        """Take the model, how many shops, and facts that were drawn for another one."""
        self.model, self.count = model, count
        others = [junction for junction in JUNCTIONS if junction != model.junction]
        self.methods: tuple[Junction, ...] = (model.junction, model.junction, *others)
        self.ends: tuple[CurveEnd, ...] = CURVE_ENDS if collector_of(model).provisional else ("low",)
        self.draws = dict(known)
        self._free = iter(orthogonal(count).T[len(self.draws) :])
        names = sorted(fact_names(of_loaded(unknowns_of(model))), key=lambda name: bool(name[1]))
        for name in ((CALCULATION, ""), (WYE_METHOD, ""), *([(CURVE, "")] if len(self.ends) > 1 else []), *names):
            self.draw(name)
        sigma = FLOW_PER_PRESSURE * fact("measuring", "model").value / 2.0
        self.error = np.exp(sigma * self.draw((CALCULATION, "")))

    def draw(self, name: Name) -> Floats:
        """Return standard deviations of a fact (shops,), each part of its chances taken once.

        Facts beyond the orthogonal ones, a single machine's in a large shop, are in any order.
        """
        if name not in self.draws:
            levels = next(self._free, None)
            if levels is None:
                levels = np.random.default_rng([SEED, crc32(repr(name).encode())]).permutation(self.count)
            shares = (levels.argsort().argsort() + 0.5) / self.count
            parts = np.clip([NormalDist().inv_cdf(share) for share in shares], -FARTHEST, FARTHEST)
            self.draws[name] = parts / parts.std()
        return self.draws[name]

    def chosen(self, name: str, among: int) -> Places:
        """Return which of some equal choices stands in each shop (shops,)."""
        if among == 1:
            return np.zeros(self.count, dtype=np.intp)
        ranks = self.draw((name, "")).argsort().argsort()
        return np.asarray(ranks * among // self.count, dtype=np.intp)

    @cached_property
    def of_method(self) -> dict[Junction, Places]:
        """Return which shops stand under each wye method."""
        method = self.chosen(WYE_METHOD, len(self.methods))
        found = np.array(self.methods)[method]
        return {junction: np.flatnonzero(found == junction) for junction in dict.fromkeys(self.methods)}

    def variants(self) -> Iterator[list[Variant]]:
        """Yield the drawn shops of each wye method."""
        end = self.chosen(CURVE, len(self.ends))
        for junction, shops in self.of_method.items():
            model = self.model if junction == self.model.junction else self._other(junction)
            unknowns = of_loaded(unknowns_of(model))
            off = self._deviations(unknowns)
            yield [replace(unknowns.variant(off[shop].tolist()), end=self.ends[end[shop]]) for shop in shops]

    def places(self, count: int) -> Places:
        """Return where each shop's so many choices stand behind those of `variants`, shop by shop."""
        shops = np.concatenate(list(self.of_method.values())).argsort()
        return (shops[:, None] * count + np.arange(count)).ravel()

    def _other(self, junction: Junction) -> Model:
        model = self.model
        return build_model(model.shop, junction, loading=model.loading, hanging=model.hanging)

    def _deviations(self, unknowns: Unknowns) -> Floats:
        """Return standard deviations (shops, unknowns): those that are one fact are drawn together."""
        names = fact_names(unknowns)
        if not names:
            return np.zeros((self.count, 0))
        return np.stack([self.draw(name) for name in names], axis=1)


def of_loaded(unknowns: Unknowns) -> Unknowns:
    """Return the unknowns with the loaded filter, where it was assumed, in place of the clean one."""
    collector = collector_of(unknowns.model)
    part = collector.filter_loaded
    rest = tuple(one for one in unknowns.all if one.kind != FILTER or collector.filter_at("clean") is part)
    if part is None or part.pressure_pa.low >= part.pressure_pa.high:
        return replace(unknowns, all=rest)
    pressure = part.pressure_pa
    return replace(unknowns, all=(*rest, Unknown(LOADED, "", (Spread(pressure, pressure.low, pressure.high),))))


def fact_names(unknowns: Unknowns) -> list[Name]:
    """Return for each unknown the fact that it belongs to, in the trade's words, and the machine if it is one's own."""
    homes: dict[int, str] = {}
    for section in unknowns.model.sections:
        for loss in section.body:
            for decided, name in (
                (loss.k, LOCAL[loss.kind]),
                (loss.shut_k, "leak of shut gates"),
                (loss.roughness_m, "pipe roughness"),
                (loss.factor, "hose factor"),
            ):
                if decided is not None:
                    homes[id(decided)] = name
    return [_name(unknown, homes) for unknown in unknowns.all]


def _name(unknown: Unknown, homes: dict[int, str]) -> Name:
    if unknown.kind == RESISTANCE or not unknown.spreads:
        return unknown.kind, unknown.where
    return homes.get(id(unknown.spreads[0].decided), unknown.kind), unknown.where
