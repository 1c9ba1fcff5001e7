"""Random small shops in SI numbers, written out in inch or in metric units."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Literal

from hypothesis import strategies as st

from ductcalc.shop import Shop
from tests.scenes import Row, Rows, elbow, end, gate, hose, pipe, points, port, rated, reducer, run, shop, wye

System = Literal["inch", "metric"]
INCH, FOOT, CFM, WATER = 0.0254, 0.3048, 0.3048**3 / 60.0, 249.0889


@dataclass(frozen=True)
class Writer:
    """Writes SI numbers in one system of units."""

    system: System

    def size(self, metres: float) -> str:
        return f"{metres / INCH!r} in" if self.system == "inch" else f"{metres * 1000!r} mm"

    def length(self, metres: float) -> str:
        return f"{metres / FOOT!r} ft" if self.system == "inch" else f"{metres!r} m"

    def flow(self, m3_s: float) -> str:
        return f"{m3_s / CFM!r} cfm" if self.system == "inch" else f"{m3_s * 3600!r} m3/h"

    def pressure(self, pascal: float) -> str:
        return f"{pascal / WATER!r} inwg" if self.system == "inch" else f"{pascal!r} Pa"

    def speed(self, m_s: float) -> str:
        return f"{m_s * 60 / FOOT!r} fpm" if self.system == "inch" else f"{m_s!r} m/s"


@dataclass(frozen=True)
class Branch:
    """A machine with its hose, gate and pipe."""

    bore_m: float
    k: float | None
    pipe_m: float
    hose_m: float
    bends: int | None
    opening: str | None
    gated: bool
    angle: int
    main_bore_m: float
    reduced: bool


@dataclass(frozen=True)
class Plan:
    """Branches that join one main in order; the first one heads it.

    machines: of the branches, m0, m1... where it is empty; one that is named twice has two ports.
    """

    branches: tuple[Branch, ...]
    leak: float
    joints: str
    junction: str
    friction: str
    altitude_m: float
    filter_pa: float
    settings: dict[str, Any] = field(default_factory=dict)
    machines: tuple[str, ...] = ()
    outlet: bool = False

    def shop(self, system: System = "metric", order: tuple[int, ...] | None = None) -> Shop:
        """Write the plan out; `order` of the runs beside the main."""
        w = Writer(system)
        head, *rest = self.branches
        first, *others = self.machines or tuple(f"m{n}" for n in range(len(self.branches)))
        main = run("main", *_rows(w, first, head))
        for number, branch in enumerate(rest, start=1):
            main.append(wye(f"run {number}", w.size(branch.main_bore_m), angle=str(branch.angle)))
            main.append(pipe(w.length(1.0 + number)))
        main.append(elbow())
        main.append(end())
        runs: list[Rows] = [
            run(f"run {n}", *_rows(w, m, b)) for n, (m, b) in enumerate(zip(others, rest, strict=True), start=1)
        ]
        picked = [runs[n] for n in order] if order else runs
        outlet = [run("out", end(w.size(0.15)), elbow(), pipe(w.length(3.0)))] if self.outlet else []
        return shop(main, *picked, *outlet, table=self._collector(w), **self._settings(w))

    def _collector(self, w: Writer) -> Rows:
        curve = ((0.0, 3400.0), (0.2, 3200.0), (0.4, 2600.0), (0.7, 900.0), (1.4, 10.0))
        return [
            *points(*[(w.flow(q), w.pressure(p)) for q, p in curve]),
            rated("cyclone", w.flow(0.4), w.pressure(400.0)),
            rated("filter clean", w.flow(0.4), w.pressure(self.filter_pa / 2)),
            rated("filter loaded", w.flow(0.4), w.pressure(self.filter_pa)),
        ]

    def _settings(self, w: Writer) -> dict[str, Any]:
        return {
            "gates": {"leak": f"{100.0 * self.leak!r} %"},
            "method": {"joint_leakage": self.joints, "junction": self.junction, "friction": self.friction},
            "air": {"altitude": w.length(self.altitude_m)},
            **self.settings,
        }


def _rows(w: Writer, machine: str, branch: Branch) -> list[Row]:
    found = [port(machine, w.size(branch.bore_m), flow=w.speed(20.0), k=branch.k)]
    if branch.hose_m:
        found.append(hose(w.length(branch.hose_m), count=branch.bends))
    if branch.gated:
        found.append(gate(opening=branch.opening))
    if branch.reduced:
        found.append(reducer(w.size(branch.bore_m * 1.25)))
    found.append(pipe(w.length(branch.pipe_m)))
    return found


_BRANCHES = st.builds(
    Branch,
    bore_m=st.sampled_from([0.08, 0.1016, 0.125, 0.15]),
    k=st.sampled_from([0.0, 0.5, 2.75, 6.0, None]),
    pipe_m=st.floats(0.3, 8.0),
    hose_m=st.sampled_from([0.0, 0.5, 2.0]),
    bends=st.sampled_from([None, 0, 2]),
    opening=st.sampled_from([None, "70 %", "40 %"]),
    gated=st.booleans(),
    angle=st.sampled_from([30, 45, 60, 75, 90]),
    main_bore_m=st.sampled_from([0.125, 0.15, 0.2]),
    reduced=st.booleans(),
)

PLANS = st.builds(
    Plan,
    branches=st.lists(_BRANCHES, min_size=2, max_size=5).map(tuple),
    leak=st.sampled_from([0.0, 0.005, 0.02]),
    joints=st.sampled_from(["none", "sealed", "unsealed"]),
    junction=st.sampled_from(["momentum", "handbook", "factored"]),
    friction=st.sampled_from(["colebrook", "handbook"]),
    altitude_m=st.sampled_from([0.0, 700.0]),
    filter_pa=st.sampled_from([200.0, 900.0]),
)

BASES = (
    {"curve": "fan static"},
    {"curve": "fan total", "outlet_size": "160 mm"},
    {"curve": "inlet suction", "test_pipe": "140 mm"},
)


@st.composite
def blown_plans(draw: st.DrawFn) -> Plan:
    """A plan on any basis, with parts in the curve, outlet ducts, own blowers and machines with several ports."""
    plan = draw(PLANS)
    machines = draw(st.lists(st.sampled_from(["m0", "m1", "m2"]), min_size=5, max_size=5))[: len(plan.branches)]
    pushing = draw(st.dictionaries(st.sampled_from(machines), st.sampled_from(["60 Pa", "400 Pa"]), max_size=2))
    contains = draw(st.sampled_from([[], ["cyclone"], ["filter clean"], ["cyclone", "filter loaded"]]))
    settings = {
        "collector": {**draw(st.sampled_from(BASES)), "contains": contains},
        "machines": {machine: {"own_blower": pressure} for machine, pressure in pushing.items()},
    }
    return replace(plan, machines=tuple(machines), settings=settings, outlet=draw(st.booleans()))
