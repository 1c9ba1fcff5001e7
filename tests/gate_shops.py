"""Invented gated shops for the tests of gate sets: drawn at random, of any size, and the illustration shop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

import ductcalc
from ductcalc.shop import Shop
from tests.scenes import BARE, CFM, NO_PARTS, Row, Rows, elbow, end, gate, hose, pipe, points, port, run, shop, wye


def random_rows(rng: np.random.Generator, machines: int) -> Rows:
    """Draw a main with so many drops: unlike bores, wants and risers; sometimes two ports, two machines on a hose."""
    names = [f"machine {n}" for n in range(machines)]
    rows = run("main", *_drop(rng, names[0]), *_wyes(rng, machines), pipe("10 ft"), elbow(), end())
    for number, name in enumerate(names[1:], start=1):
        first = _drop(rng, name)
        if rng.random() < 0.2:
            first = [first[0], {**first[0], "machine": f"{name} twin"}, *first[1:]]
        guard = rng.random() < 0.3
        middle = [wye(f"guard {number}", "5 in")] if guard else []
        rows += run(f"drop {number}", first[0], *first[1:-2], *middle, *first[-2:])
        if guard:
            rows += run(f"guard {number}", port(name, "2.5 in", flow=_flow(rng, 60, 160), k=1.0), hose("4 ft"))
    return rows


WEAK = [*points(("0 cfm", "8 inwg"), ("1200 cfm", "1 inwg")), *NO_PARTS]


def random_shop(rng: np.random.Generator, machines: int, table: Rows = BARE) -> Shop:
    """Draw a shop; about half the machines are short or let chips settle in some set, with a weak blower most."""
    rows = [[row] for row in random_rows(rng, machines)]
    return shop(*rows, table=table, gates={"leak": f"{rng.choice([0, 1, 2])} %"})


def _drop(rng: np.random.Generator, name: str) -> list[Row]:
    bore = rng.choice(["3 in", "4 in", "5 in"])
    wants = {"3 in": (100, 260), "4 in": (200, 520), "5 in": (350, 750)}[bore]
    material = str(rng.choice(["dry chips", "fine dust"]))
    first = port(name, str(bore), flow=_flow(rng, *wants), k=round(float(rng.uniform(0.5, 3.0)), 2), material=material)
    rise = "3 ft" if rng.random() < 0.5 else None
    return [first, hose(f"{rng.integers(2, 8)} ft"), gate(), pipe(f"{rng.integers(4, 12)} ft", rise=rise)]


def _wyes(rng: np.random.Generator, machines: int) -> list[Row]:
    sizes = sorted(rng.choice([5, 6, 7], machines - 1))
    pairs = [(wye(f"drop {n + 1}", f"{size} in"), pipe(f"{rng.integers(3, 12)} ft")) for n, size in enumerate(sizes)]
    return [row for pair in pairs for row in pair]


def _flow(rng: np.random.Generator, low: int, high: int) -> str:
    return f"{rng.integers(low, high)} cfm"


def row_of_machines(names: Sequence[str], flow: str = "330 cfm", **settings: Any) -> Shop:
    """Build a main with a gated drop for each name."""
    first, *others = names
    rows = [port(first, "4 in", flow=flow, k=1.5), gate(), pipe("8 ft")]
    for number in range(len(others)):
        rows += [wye(f"drop {number}", "6 in"), pipe("5 ft")]
    drops = [
        run(f"drop {n}", port(name, "4 in", flow=flow, k=1.5), gate(), pipe("6 ft"))
        for n, name in enumerate(others)
    ]
    return shop(run("main", *rows, end(None if others else "4 in")), *drops, **settings)


def star(count: int, k: float, flow: str) -> Shop:
    """Build so many like drops that meet in one wye."""
    names = [f"machine {number}" for number in range(count)]
    first, *drops = [[port(name, "4 in", flow=flow, k=k), gate(), pipe("3 ft")] for name in names]
    joined = " + ".join(f"drop {number}" for number in range(1, count))
    main = run("main", *first, wye(joined, "5 in", angle="45"), pipe("3 ft"), end())
    return shop(main, *[run(f"drop {number}", *rows) for number, rows in enumerate(drops, start=1)])


def illustration(bores: Sequence[float], main: str) -> Shop:
    """Build the shop of round figures: square-law blower, flat coefficients, no regain, tight gates, all in one wye.

    Blower 11 (1 - (cfm/1700)^2) inwg; cyclone 2 inwg at 800 cfm, square law; filter 1 inwg at 800, proportional; main
    30 ft and three elbows at 0.33; wye entry 0.28; each drop: entry 0.5, hose of 8 ft (10 ft for 2.5 in).
    """
    joined = " + ".join(f"drop {n}" for n in range(len(bores)))
    rows = run("main", wye(joined, main, angle="45"), pipe("30 ft"), elbow(count=3, k=0.33), end(k=1))
    for number, bore in enumerate(bores):
        parts = [port(f"machine {number}", f"{bore} in", flow=f"{bore * bore * 10:.0f} cfm", k=0.5), gate(k=0)]
        rows += run(f"drop {number}", *parts, hose("10 ft" if bore == 2.5 else "8 ft"))
    blower = [
        {"item": "blower", "flow": f"{q} cfm", "pressure": f"{11 * (1 - (q / 1700) ** 2)} inwg"}
        for q in range(0, 1701, 50)
    ]
    parts = [("cyclone", "2 inwg"), ("filter clean", "1 inwg"), ("filter loaded", "1 inwg")]
    table = [*blower, *({"item": item, "flow": "800 cfm", "pressure": p} for item, p in parts)]
    return ductcalc.shop_from_rows(
        rows,
        table,
        {
            "method": {"junction": "handbook", "friction": "handbook", "flex_factor": 1.56, "joint_leakage": "none"},
            "collector": {"curve": "fan static"},
            "air": {"density": "0.075 lb/ft3"},
            "gates": {"leak": "0 %"},
        },
    )


__all__ = ["BARE", "CFM", "WEAK", "illustration", "random_rows", "random_shop", "row_of_machines", "star"]
