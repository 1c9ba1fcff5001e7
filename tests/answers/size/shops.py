"""Small invented shops whose every sizing can be tried, written out row by row at any sizes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import every_machine_alone, named_sets
from ductcalc.cases.solving import solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.scenes import Row, Rows, elbow, end, gate, hose, pipe, points, port, rated, run, shop, wye

SIZES = (4, 5, 6)
POUND_KG = 0.45359237


@dataclass(frozen=True)
class Small:
    """A main with drops that meet it in one wye; the last stretch is the main behind the wye.

    flows [cfm], feet of pipe and of hose, own coefficient of each port, and bores [in] of the ports; feet of main;
    drops whose pipe rises 3 ft.
    """

    flows: tuple[int, ...]
    feet: tuple[int, ...]
    hoses: tuple[int, ...]
    k: tuple[float, ...]
    ports: tuple[int, ...]
    main: int
    blower: tuple[tuple[str, str], ...]
    settings: tuple[tuple[str, Any], ...]
    rises: tuple[bool, ...]

    @property
    def stretches(self) -> int:
        """How many stretches there are: one for each machine and one behind the wye."""
        return len(self.flows) + 1

    def shop(self, sizes: Sequence[int]) -> Shop:
        """Write the shop out with these sizes [in], the main's last."""
        joins = "cap" if len(self.flows) == 1 else " + ".join(f"drop {n}" for n in range(1, len(self.flows)))
        rows = [
            *self._drop(0, sizes[0]),
            wye(joins, f"{sizes[-1]} in", angle="45"),
            pipe(f"{self.main} ft", f"{sizes[-1]} in"),
            elbow(f"{sizes[-1]} in", count=2),
            end("6 in"),
        ]
        drops = [run(f"drop {n}", *self._drop(n, sizes[n])) for n in range(1, len(self.flows))]
        table: Rows = [*points(*self.blower), rated("filter loaded", "500 cfm", "1.5 inwg")]
        table += [rated("filter clean", "500 cfm", "0.5 inwg"), {"item": "cyclone", "pressure": "none"}]
        known = {"size": {"sizes": [f"{size} in" for size in SIZES]}, **dict(self.settings)}
        return shop(run("main", *rows), *drops, table=table, **known)

    def _drop(self, number: int, size: int) -> list[Row]:
        bore = f"{size} in"
        flow, k = f"{self.flows[number]} cfm", self.k[number]
        head = port(f"machine {number}", f"{self.ports[number]} in", flow=flow, k=k)
        up = "3 ft" if self.rises[number] else None
        straight = pipe(f"{self.feet[number]} ft", bore, rise=up)
        return [head, hose(f"{self.hoses[number]} ft", 0, bore), gate(bore), straight]

    def every(self) -> list[tuple[int, ...]]:
        """Return every sizing [in]."""
        return list(product(SIZES, repeat=self.stretches))

    def cost_kg(self, sizes: Sequence[int]) -> float:
        """Weigh the sheet by hand: 0.1 lb and a quarter of the bore in pounds a foot; elbows of 1.5 D radius."""
        lengths = [feet + hose for feet, hose in zip(self.feet, self.hoses, strict=True)]
        bends = 2 * 1.5 * sizes[-1] / 12.0 * np.pi / 2.0
        feet = [*lengths, self.main + bends]
        return float(sum(one * (0.1 + size / 4.0) for one, size in zip(feet, sizes, strict=True)) * POUND_KG)


def cases_of(shop: Shop) -> tuple[Case, ...]:
    """Solve every wanted set with the loaded filter in full, as a check does."""
    model = build_model(shop)
    return read_cases(solve_choices(model, (*every_machine_alone(model), *named_sets(model)), ("loaded",)))


def random_small(seed: int) -> Small:
    """Draw a shop of two to four stretches."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 4))
    top = float(rng.uniform(6.0, 13.0))
    last = int(rng.integers(700, 1500))
    curve = [(f"{last * part:.0f} cfm", f"{top * (1.0 - part**2):.3f} inwg") for part in (0.0, 0.3, 0.6, 0.8, 0.9, 1.0)]
    names = [f"machine {n}" for n in range(count)]
    sets = {"both": names[:2]} if count > 1 and rng.random() < 0.4 else {}
    settings: dict[str, Any] = {
        "gates": {"leak": f"{rng.choice([0, 1, 2])} %", "sets": sets},
        "method": {"junction": str(rng.choice(["momentum", "momentum", "handbook", "factored"]))},
    }
    return Small(
        flows=tuple(int(f) for f in rng.integers(250, 620, count)),
        feet=tuple(int(f) for f in rng.integers(4, 25, count)),
        hoses=tuple(int(f) for f in rng.integers(2, 9, count)),
        k=tuple(round(float(k), 2) for k in rng.uniform(0.5, 2.5, count)),
        ports=tuple(int(p) for p in rng.choice([4, 5], count)),
        main=int(rng.integers(8, 50)),
        blower=tuple(curve),
        settings=tuple(settings.items()),
        rises=tuple(bool(rise) for rise in rng.random(count) < 0.5),
    )
