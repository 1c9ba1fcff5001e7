"""Sensible shops drawn by seed, laid out as a practitioner does: sized for what runs together, helped where slow.

No rule of `findings/` is asked while one is laid out. Sizes follow from wanted speeds, helpers from wanted flows; the
collector is the smallest on sale that gives everything asked for its air with a buyer's margin, filter loaded.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from itertools import chain, combinations
from math import pi
from typing import Any, NamedTuple

import ductcalc
from ductcalc.cases.case import read_cases
from ductcalc.cases.choices import default_choices
from ductcalc.cases.solving import solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.scenes import Row, Rows

LEAST_M_S, AIM_M_S = 18.0, 20.0
"""Speeds in a main: below the first chips lie, the second is aimed at."""
MARGINS = (1.01, 1.03, 1.06, 1.1)
"""Air over wanted that buyers ask of everything that is to run."""
MOST_HELPERS = 2


class Machine(NamedTuple):
    """What its papers say: port, wanted air, static suction at that air; whether it makes fine dust."""

    name: str
    port: float
    flow: float
    drop: float
    fine: bool = False


@dataclass(frozen=True)
class Trade:
    """Sizes, machines, lengths and blowers as one part of the world sells them, in its own units."""

    units: str
    size: str
    length: str
    flow: str
    pressure: str
    sizes: tuple[float, ...]
    machines: tuple[Machine, ...]
    guard: Machine
    blowers: tuple[tuple[float, float], ...]
    bore_m: float
    flow_m3_s: float
    foot: float

    def speed(self, flow: float, size: float) -> float:
        """Return the speed [m/s] of a flow in a size."""
        return flow * self.flow_m3_s / (pi / 4.0 * (size * self.bore_m) ** 2)

    def long(self, feet: float) -> str:
        """Return a length as it is written."""
        return f"{round(self.foot * feet, 2):g} {self.length}"


INCH = Trade(
    "inch", "in", "ft", "cfm", "inwg", (3, 4, 5, 6, 7, 8, 9, 10),
    (
        Machine("table saw", 4, 380, 2.9), Machine("band saw", 4, 370, 2.6), Machine("jointer", 4, 390, 2.8),
        Machine("router table", 4, 350, 2.6), Machine("drum sander", 4, 380, 2.4, True), Machine("lathe", 5, 560, 1.9),
        Machine("planer", 5, 590, 3.0), Machine("shaper", 5, 570, 2.8), Machine("disc sander", 4, 360, 2.2, True),
        Machine("wide planer", 6, 820, 3.0), Machine("panel saw", 6, 800, 2.8), Machine("edge sander", 5, 560, 2.4),
        Machine("mitre saw", 5, 550, 2.2), Machine("resaw", 5, 580, 2.6), Machine("moulder", 6, 830, 3.1),
    ),
    Machine("guard", 3, 200, 2.2),
    ((8, 1000), (9.5, 1250), (10.5, 1500), (11.5, 1800), (12.5, 2100), (13.5, 2500), (14.5, 3000), (16, 3600)),
    0.0254, 0.3048**3 / 60.0, 1.0,
)  # fmt: skip
METRIC = Trade(
    "metric", "mm", "m", "m3/h", "Pa", (80, 100, 120, 125, 140, 150, 160, 180, 200, 225, 250),
    (
        Machine("Kreissäge", 120, 820, 800), Machine("Bandsäge", 100, 570, 700), Machine("Hobel", 120, 830, 900),
        Machine("Abrichte", 120, 820, 850), Machine("Fräse", 120, 820, 850), Machine("Drechselbank", 100, 580, 500),
        Machine("Kantenschleifer", 100, 570, 600, True), Machine("Dickenhobel", 140, 1110, 900),
        Machine("Kappsäge", 100, 580, 700), Machine("Breitband", 160, 1450, 900, True),
        Machine("toupie", 120, 820, 800),
        Machine("raboteuse", 140, 1120, 900), Machine("scie", 100, 580, 650), Machine("lijadora", 100, 570, 600, True),
    ),
    Machine("Haube", 80, 370, 600),
    ((2000, 1700), (2400, 2100), (2600, 2600), (2900, 3100), (3100, 3700), (3400, 4300), (3700, 5200), (4000, 6200)),
    0.001, 1.0 / 3600.0, 0.3,
)  # fmt: skip


@dataclass
class Plan:
    """A main with its machines in the order of the air, the farthest first, and what runs together."""

    rng: random.Random
    trade: Trade
    machines: list[Machine]
    pipe: str
    guarded: frozenset[str] = frozenset()
    sets: dict[str, list[str]] = field(default_factory=dict)
    helped: dict[str, list[str]] = field(default_factory=dict)

    def behind(self, machine: Machine) -> float:
        """Return the size of a machine's drop: its port's, the next one where a guard's hose joins."""
        wider = (size for size in self.trade.sizes if size > 1.1 * machine.port)
        return next(wider, machine.port) if machine.name in self.guarded else machine.port

    @property
    def sizes(self) -> list[float]:
        """The main's size behind each machine's drop: 20 m/s or more at the largest use, never shrinking."""
        found: list[float] = []
        for place, machine in enumerate(self.machines):
            upstream = {one.name: one.flow for one in self.machines[: place + 1]}
            uses = [sum(upstream.get(name, 0.0) for name in names) for names in self.sets.values()]
            largest = max([*uses, *upstream.values()])
            fitting = [size for size in self.trade.sizes if size >= max([self.behind(machine), *found[-1:]])]
            fast = [size for size in fitting if self.trade.speed(largest, size) >= AIM_M_S]
            found.append(fast[-1] if fast else fitting[0])
        return found

    def moves(self, place: int, helpers: tuple[int, ...]) -> bool:
        """Whether a machine's chips move all along the main with helpers' gates open, all at their wanted flows."""
        for section, size in enumerate(self.sizes[place:], start=place):
            flow = self.machines[place].flow + sum(self.machines[n].flow for n in helpers if n <= section)
            if self.trade.speed(flow, size) < LEAST_M_S:
                return False
        return True

    def is_helped(self) -> bool:
        """Name helpers for every machine whose chips would lie in the main; False when there are none for one."""
        for place, machine in enumerate(self.machines):
            others = [n for n in range(len(self.machines)) if n != place]
            tries = chain.from_iterable(combinations(others, count) for count in range(MOST_HELPERS + 1))
            helpers = next((some for some in tries if self.moves(place, some)), None)
            if helpers is None:
                return False
            if helpers:
                self.helped[f"{machine.name} with help"] = [machine.name, *(self.machines[n].name for n in helpers)]
        return True


def drop(plan: Plan, machine: Machine) -> Rows:
    """Return a machine's drop: port, short hose, gate, down pipe with its elbow; some have a guard's hose as well."""
    trade, rng, guard = plan.trade, plan.rng, plan.trade.guard
    size = f"{machine.port:g} {trade.size}"
    hose, riser, level = rng.choice(((3, 5, 4), (4, 6, 5), (2, 4, 6), (5, 5, 8)))
    rows: Rows = [
        port(plan, machine, machine.name),
        {"piece": "flex", "size": size, "length": trade.long(hose), "count": rng.choice((0, 1))},
    ]
    branch: Rows = []
    if machine.name in plan.guarded:
        wide = f"{plan.behind(machine):g} {trade.size}"
        name = f"{machine.name} {guard.name}"
        small = {"piece": "flex", "size": f"{guard.port:g} {trade.size}", "length": trade.long(4), "count": 1}
        branch = [{"run": name, **row} for row in (port(plan, guard, machine.name), small)]
        rows.append({"piece": "wye", "size": wide, "angle": 45, "joins": name})
        size = wide
    return [
        *rows,
        {"piece": "gate", "size": size},
        {"piece": "pipe", "style": plan.pipe, "size": size, "length": trade.long(riser), "rise": trade.long(riser)},
        {"piece": "elbow", "style": "5-gore", "size": size},
        {"piece": "pipe", "style": plan.pipe, "size": size, "length": trade.long(level)},
        *branch,
    ]  # fmt: skip


def port(plan: Plan, machine: Machine, name: str) -> Row:
    """Return a port; of one machine in five nothing is known but the air it wants."""
    trade = plan.trade
    row: Row = {
        "piece": "port", "machine": name, "size": f"{machine.port:g} {trade.size}",
        "flow": f"{machine.flow:g} {trade.flow}", "material": "fine dust" if machine.fine else None,
    }  # fmt: skip
    if plan.rng.random() < 0.8:
        row["drop"] = f"{machine.drop:g} {trade.pressure} at {machine.flow:g} {trade.flow}"
    return {key: value for key, value in row.items() if value is not None}


def ducts(plan: Plan) -> Rows:
    """Return the duct table: the main starts at the farthest machine, or with a cap."""
    trade, rng, sizes = plan.trade, plan.rng, plan.sizes

    def straight(size: float, *feet: int) -> Row:
        long = trade.long(rng.choice(feet))
        return {"piece": "pipe", "style": plan.pipe, "size": f"{size:g} {trade.size}", "length": long}

    first, rows = drop(plan, plan.machines[0]), list[Row]()
    main = [row for row in first if "run" not in row]
    rows += [row for row in first if "run" in row]
    for number, machine in enumerate(plan.machines[1:], start=1):
        name = f"{machine.name} drop"
        join = {"piece": "wye", "size": f"{sizes[number]:g} {trade.size}", "angle": rng.choice((30, 45)), "joins": name}
        main += [join, straight(sizes[number], 4, 6, 8, 10)]
        rows += [{"run": name, **row} if "run" not in row else row for row in drop(plan, machine)]
    last = sizes[-1]
    main += [straight(last, 6, 10, 14), {"piece": "elbow", "style": "5-gore", "size": f"{last:g} {trade.size}"}]
    main += [straight(last, 5, 6, 8), {"piece": "collector", "size": f"{last:g} {trade.size}"}]
    return [*({"run": "main", **row} for row in main), *rows]


def blower(plan: Plan, most: tuple[float, float]) -> Rows:
    """Return a blower's points, a bulging curve rounded as papers print it, with cyclone and filter, or a bag alone."""
    trade, (pressure, flow) = plan.trade, most
    step = 0.1 if trade.units == "inch" else 10.0

    def point(item: str, at: float, share: float) -> Row:
        shown = f"{round(share * pressure / step) * step:.6g} {trade.pressure}"
        return {"item": item, "flow": f"{10 * round(at * flow / 10):g} {trade.flow}", "pressure": shown}

    points = [point("blower", at, 1.0 - at**2.2) for at in (0.0, 0.25, 0.45, 0.65, 0.8, 0.95)]
    bag = len(plan.machines) < 4 and plan.rng.random() < 0.5
    cyclone = {"item": "cyclone", "pressure": "none"} if bag else point("cyclone", 0.5, 0.16)
    return [*points, cyclone, point("filter clean", 0.5, 0.05), point("filter loaded", 0.5, 0.13)]


def settings(plan: Plan) -> dict[str, Any]:
    """Return what else is said: sets and helpers, the room, the height, sometimes motor and filter."""
    rng, inch = plan.rng, plan.trade.units == "inch"
    helped = {name: {"open": names, "helpers": names[1:]} for name, names in plan.helped.items()}
    said: dict[str, Any] = {
        "gates": {"sets": {**plan.sets, **helped}, "leak": rng.choice(("0.5 %", "1 %", "2 %"))},
        "collector": {"curve": "fan static"}, "report": {"units": plan.trade.units},
    }  # fmt: skip
    where = rng.choice(("indoors", "indoors", "outdoors", None))
    return {
        **said,
        **({"room": {"exhaust": where}} if where else {}),
        **({"air": {"altitude": rng.choice(("800 ft", "5200 ft")) if inch else "650 m"}} if rng.random() < 0.3 else {}),
        **({"pipe": {"gauge": 26}} if plan.pipe == "snap-lock" else {}),
    }


def drawn(rng: random.Random) -> Plan:
    """Return a plan whose every machine's chips move, with help or without: others are laid out anew."""
    while True:
        trade = rng.choice((INCH, METRIC))
        machines = rng.sample(trade.machines, rng.randint(2, 9))
        guarded = frozenset(one.name for one in machines if "sa" in one.name.casefold() and rng.random() < 0.3)
        plan = Plan(rng, trade, machines, "snap-lock" if trade is INCH and rng.random() < 0.2 else "spiral", guarded)
        if len(machines) > 3 and rng.random() < 0.5:
            plan.sets["two at once"] = [one.name for one in rng.sample(machines, 2)]
        if plan.is_helped():
            return plan


def sensible_shop(seed: int) -> Shop:
    """Return a shop of two to nine machines, drawn by a seed, with the smallest blower on sale that serves it."""
    rng = random.Random(seed)
    while True:
        plan = drawn(rng)
        margin, rows, said = rng.choice(MARGINS), ducts(plan), settings(plan)
        tables = (blower(plan, most) for most in plan.trade.blowers)
        shops = (ductcalc.shop_from_rows(rows, table, said) for table in tables)
        found = next((shop for shop in shops if serves(shop, margin)), None)
        if found is not None:
            return found


def serves(shop: Shop, margin: float) -> bool:
    """Whether everything that is to run gets its air with some to spare, filter loaded."""
    model = build_model(shop)
    judged = read_cases(solve_choices(model, default_choices(model), ("loaded",)))
    return all(case.solved and case.judged.case_share[case.column] >= margin for case in judged)
