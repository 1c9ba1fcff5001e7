"""Invented shops as people hang them, drawn at random; and the same with every size spoilt."""

from __future__ import annotations

from typing import Any

import numpy as np

from ductcalc.shop import Shop
from tests.scenes import Row, Rows, elbow, end, gate, hose, pipe, points, port, rated, reducer, run, shop, wye

SIZES = {"in": (3, 4, 5, 6, 7, 8, 9, 10), "mm": (80, 100, 125, 140, 160, 180, 200, 225)}
PORTS = {"in": ((4, 330), (4, 390), (5, 550), (3, 180)), "mm": ((100, 560), (120, 800), (140, 1100), (80, 330))}
"""Bores of ports with the air that they want: cfm, or m3/h."""

MAIN_M_S = 20.0


def sensible(seed: int, machines: int | None = None, spoilt: bool = False) -> Shop:
    """Draw a main with drops of their ports' sizes; spoilt: every pipe, hose, gate and wye of a size drawn anew."""
    rng = np.random.default_rng(seed)
    unit = "in" if rng.random() < 0.6 else "mm"
    count = int(machines or rng.integers(2, 9))
    ports = [PORTS[unit][int(n)] for n in rng.choice(4, count, p=(0.35, 0.3, 0.2, 0.15))]
    most = float(np.sort([air for _, air in ports])[-2:].sum())
    drawn = np.random.default_rng(seed + 1)

    def size(usual: int) -> str:
        return f"{drawn.choice(SIZES[unit][:7]) if spoilt else usual} {unit}"

    flow = "cfm" if unit == "in" else "m3/h"
    head = [_drop(rng, n, *ports[n], unit, flow, size) for n in range(count)]
    rows: list[Row] = list(head[0])
    passing, bore = float(ports[0][1]), ports[0][0]
    for number in range(1, count):
        passing = max(passing, min(most, passing + ports[number][1]))
        bore = max(bore, ports[number][0], _main(passing, unit))
        rows += [wye(f"drop {number}", size(bore)), pipe(f"{rng.integers(3, 10)} ft", size(bore))]
        rows += [elbow(size(bore))] if rng.random() < 0.3 else []
    inlet = f"{max(bore, _main(most, unit))} {unit}"
    rows += [reducer(inlet)] if rng.random() < 0.2 else []
    drops = [run(f"drop {n}", *head[n]) for n in range(1, count)]
    named = {"pair": ["machine 0", "machine 1"]} if count > 1 and rng.random() < 0.6 else {}
    settings: dict[str, Any] = {"gates": {"leak": "1 %", "sets": named}}
    return shop(run("main", *rows, end(inlet)), *drops, table=_collector(rng, most, flow), **settings)


def _drop(rng: np.random.Generator, number: int, bore: int, air: int, unit: str, flow: str, size: Any) -> list[Row]:
    rise = "4 ft" if rng.random() < 0.7 else None
    k = round(float(rng.uniform(0.5, 2.0)), 2)
    material = "fine dust" if rng.random() < 0.3 else "dry chips"
    head = port(f"machine {number}", f"{bore} {unit}", flow=f"{air} {flow}", k=k, material=material)
    length = f"{rng.integers(5, 12)} ft"
    return [
        head,
        hose(f"{rng.integers(2, 6)} ft", 1, size(bore)),
        gate(size(bore)),
        pipe(length, size(bore), rise=rise),
    ]


def _main(air: float, unit: str) -> int:
    """Return the size in which so much air runs at 20 m/s or a little faster."""
    flow, step = (air * 0.3048**3 / 60.0, 0.0254) if unit == "in" else (air / 3600.0, 0.001)
    fits = [size for size in SIZES[unit] if flow / (np.pi / 4.0 * (size * step) ** 2) >= MAIN_M_S * 0.9]
    return fits[-1] if fits else SIZES[unit][0]


def _collector(rng: np.random.Generator, most: float, flow: str) -> Rows:
    last, top = most * float(rng.uniform(1.2, 1.8)), float(rng.uniform(8.0, 13.0))
    curve = [(f"{last * p:.0f} {flow}", f"{top * (1.0 - p**2):.3f} inwg") for p in (0.0, 0.3, 0.6, 0.8, 0.9, 1.0)]
    table: Rows = [*points(*curve), rated("filter loaded", f"{most:.0f} {flow}", "1.5 inwg")]
    return [*table, rated("filter clean", f"{most:.0f} {flow}", "0.5 inwg"), {"item": "cyclone", "pressure": "none"}]
