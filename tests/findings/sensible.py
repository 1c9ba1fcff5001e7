"""Sensible shops drawn by seed, laid out as a practitioner does: sized for what runs together, a buyer's margin.

No rule of `findings/` is asked while one is laid out: sizes follow from wanted speeds, helpers from wanted flows, and the
collector is the smallest of a list that gives everything asked for a tenth more air than it wants, filter loaded.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import pi
from typing import Any, NamedTuple

import ductcalc
from ductcalc.answers.check import check
from ductcalc.shop import Shop
from tests.scenes import Row, Rows

LEAST_M_S, AIM_M_S, MOST_M_S = 18.0, 20.0, 23.5
"""Speeds in a main: below the first chips lie, above the last nobody pays for the friction."""
SPARE = 1.08
"""Air over wanted that a buyer asks of everything that is to run."""
MOST_TRIES = 60


class Machine(NamedTuple):
    """What its papers say: port, wanted air, static suction at that air."""

    name: str
    port: float
    flow: float
    drop: float


@dataclass(frozen=True)
class Trade:
    """Sizes, machines, lengths and blowers as one part of the world sells them; flows, pressures in its own units."""

    units: str
    size: str
    length: str
    flow: str
    pressure: str
    sizes: tuple[float, ...]
    machines: tuple[Machine, ...]
    blowers: tuple[tuple[float, float], ...]
    bore_m: float
    flow_m3_s: float
    metre: float

    def speed(self, flow: float, size: float) -> float:
        """Return the speed [m/s] of a flow in a size."""
        return flow * self.flow_m3_s / (pi / 4.0 * (size * self.bore_m) ** 2)


INCH = Trade(
    "inch", "in", "ft", "cfm", "inwg", (4, 5, 6, 7, 8, 9, 10),
    (
        Machine("table saw", 4, 380, 2.9), Machine("band saw", 4, 370, 2.6), Machine("jointer", 4, 390, 2.8),
        Machine("router table", 4, 350, 2.6), Machine("drum sander", 4, 380, 2.4), Machine("lathe", 5, 560, 1.9),
        Machine("planer", 5, 590, 3.0), Machine("shaper", 5, 570, 2.8), Machine("oscillating sander", 4, 360, 2.2),
        Machine("wide planer", 6, 820, 3.0), Machine("panel saw", 6, 800, 2.8), Machine("edge sander", 5, 560, 2.4),
    ),
    ((8, 1000), (9.5, 1250), (10.5, 1500), (11.5, 1800), (12.5, 2100), (13.5, 2500), (14.5, 3000), (16, 3600)),
    0.0254, 0.3048**3 / 60.0, 0.3048,
)  # fmt: skip
METRIC = Trade(
    "metric", "mm", "m", "m3/h", "Pa", (100, 120, 125, 140, 150, 160, 180, 200, 225, 250),
    (
        Machine("Kreissäge", 120, 820, 800), Machine("Bandsäge", 100, 570, 700), Machine("Hobelmaschine", 120, 830, 900),
        Machine("Abrichte", 120, 820, 850), Machine("Fräse", 120, 820, 850), Machine("Drechselbank", 100, 580, 500),
        Machine("Kantenschleifer", 100, 570, 600), Machine("Dickenhobel", 140, 1110, 900),
        Machine("Kappsäge", 100, 580, 700), Machine("Breitband", 160, 1450, 900), Machine("Tellerschleifer", 100, 570, 550),
    ),
    ((2000, 1700), (2400, 2100), (2600, 2600), (2900, 3100), (3100, 3700), (3400, 4300), (3700, 5200), (4000, 6200)),
    0.001, 1.0 / 3600.0, 1.0,
)  # fmt: skip


@dataclass
class _Plan:
    """A main with its machines in the order of the air, the farthest first, and what runs together."""

    rng: random.Random
    trade: Trade
    machines: list[Machine]
    sets: dict[str, list[str]] = field(default_factory=dict)

    def flow_behind(self, place: int) -> float:
        """Return the largest wanted flow that passes behind the drop of a machine."""
        upstream = {one.name: one.flow for one in self.machines[: place + 1]}
        together = [sum(upstream.get(name, 0.0) for name in names) for names in self.sets.values()]
        return max([*together, *upstream.values()])

    def sizes(self) -> list[float]:
        """Return the main's size behind each machine's drop: 18 to 23 m/s at the largest flow, never shrinking."""
        found: list[float] = []
        for place, machine in enumerate(self.machines):
            least = max([machine.port, *found[-1:]])
            found.append(self._size(self.flow_behind(place), least))
        return found

    def _size(self, flow: float, least: float) -> float:
        fitting = [size for size in self.trade.sizes if size >= least]
        slow = [size for size in fitting if self.trade.speed(flow, size) >= AIM_M_S]
        return slow[-1] if slow else fitting[0]


def _helped(plan: _Plan) -> None:
    """Name a helper for every machine whose chips would lie in the main alone: one that is as far out or farther."""
    sizes = plan.sizes()
    for place, machine in enumerate(plan.machines):
        if plan.trade.speed(machine.flow, max(sizes[place:])) >= LEAST_M_S:
            continue
        others = [one for number, one in enumerate(plan.machines) if number != place]
        helpers = [o for o in others if plan.trade.speed(machine.flow + o.flow, max(sizes)) >= LEAST_M_S]
        if helpers:
            plan.sets[f"{machine.name} with help"] = [machine.name, helpers[0].name]


def _drop(plan: _Plan, machine: Machine) -> Rows:
    """Return a machine's drop: port, short hose, gate, down pipe with its elbow."""
    trade, rng = plan.trade, plan.rng
    size = f"{machine.port:g} {trade.size}"
    suction = f"{machine.drop:g} {trade.pressure} at {machine.flow:g} {trade.flow}"
    short, up, across = rng.choice(((3, 5, 4), (4, 6, 5), (2, 4, 6), (4, 5, 8)))
    factor = 1.0 if trade.units == "inch" else 0.3
    hose, riser, level = (f"{factor * value:g} {trade.length}" for value in (short, up, across))
    return [
        {"piece": "port", "machine": machine.name, "size": size, "flow": f"{machine.flow:g} {trade.flow}", "drop": suction},
        {"piece": "flex", "size": size, "length": hose, "count": 1},
        {"piece": "gate", "size": size},
        {"piece": "pipe", "style": "spiral", "size": size, "length": riser, "rise": riser},
        {"piece": "elbow", "style": "5-gore", "size": size},
        {"piece": "pipe", "style": "spiral", "size": size, "length": level},
    ]  # fmt: skip


def _rows(plan: _Plan) -> Rows:
    trade, rng, sizes = plan.trade, plan.rng, plan.sizes()
    factor = 1.0 if trade.units == "inch" else 0.3

    def straight(size: float, *lengths: int) -> Row:
        length = f"{factor * rng.choice(lengths):g} {trade.length}"
        return {"piece": "pipe", "style": "spiral", "size": f"{size:g} {trade.size}", "length": length}

    main = _drop(plan, plan.machines[0])
    rows: Rows = []
    for number, machine in enumerate(plan.machines[1:], start=1):
        if sizes[number - 1] > plan.machines[0].port and number == 1:
            main.append({"piece": "reducer", "size": f"{sizes[0]:g} {trade.size}"})
        name = f"{machine.name} drop"
        main.append({"piece": "wye", "size": f"{sizes[number]:g} {trade.size}", "angle": rng.choice((30, 45)), "joins": name})
        main.append(straight(sizes[number], 4, 6, 8, 10))
        rows += [{"run": name, **row} for row in _drop(plan, machine)]
    last = sizes[-1]
    main.append(straight(last, 6, 10, 14))
    main.append({"piece": "elbow", "style": "5-gore", "size": f"{last:g} {trade.size}"})
    main.append(straight(last, 5, 6, 8))
    main.append({"piece": "collector", "size": f"{last:g} {trade.size}"})
    return [*({"run": "main", **row} for row in main), *rows]


def _blower(trade: Trade, most: tuple[float, float]) -> Rows:
    """Return a blower's points, a parabola rounded as papers print it, cyclone and filter."""
    pressure, flow = most
    step = 0.1 if trade.units == "inch" else 10.0
    shares = (0.0, 0.25, 0.45, 0.65, 0.8, 0.95)
    points = [(share * flow, pressure * (1.0 - share**2.2)) for share in shares]
    rows: Rows = [
        {"item": "blower", "flow": f"{10 * round(q / 10):g} {trade.flow}", "pressure": f"{_rounded(p, step)} {trade.pressure}"}
        for q, p in points
    ]
    for item, share in (("cyclone", 0.16), ("filter clean", 0.05), ("filter loaded", 0.13)):
        rows.append({
            "item": item, "flow": f"{10 * round(0.05 * flow):g} {trade.flow}",
            "pressure": f"{_rounded(share * pressure, step)} {trade.pressure}",
        })  # fmt: skip
    return rows


def _rounded(value: float, step: float) -> str:
    return f"{round(value / step) * step:.6g}"


def sensible_shop(seed: int) -> Shop:
    """Return a shop of two to nine machines, drawn by a seed."""
    rng = random.Random(seed)
    trade = rng.choice((INCH, METRIC))
    plan = _Plan(rng, trade, rng.sample(trade.machines, rng.randint(2, 9)))
    if len(plan.machines) > 3 and rng.random() < 0.5:
        pair = rng.sample(plan.machines, 2)
        plan.sets["two at once"] = [one.name for one in pair]
    _helped(plan)
    return _with_a_collector(plan)


def _with_a_collector(plan: _Plan) -> Shop:
    """Return the shop with the smallest blower on sale that serves it with some air to spare."""
    rows = _rows(plan)
    found = None
    for most in plan.trade.blowers:
        found = ductcalc.shop_from_rows(rows, _blower(plan.trade, most), _settings(plan))
        if serves(found):
            return found
    assert found is not None
    return found


def _settings(plan: _Plan) -> dict[str, Any]:
    helped = {
        name: {"open": names, "helpers": names[1:]} if name.endswith("with help") else names
        for name, names in plan.sets.items()
    }
    return {
        "gates": {"sets": helped}, "room": {"exhaust": "indoors"}, "collector": {"curve": "fan static"},
        "report": {"units": plan.trade.units},
    }  # fmt: skip


def serves(shop: Shop) -> bool:
    """Whether everything that is to run gets its air with some to spare, filter loaded."""
    return all(
        case.solved and all(p.flow_m3_s >= SPARE * p.wanted_m3_s for m in case.running for p in case.machine(m).ports)
        for case in check(shop).loaded
    )


def shops(seeds: Sequence[int]) -> list[Shop]:
    """Return shops by seed."""
    return [sensible_shop(seed) for seed in seeds]
