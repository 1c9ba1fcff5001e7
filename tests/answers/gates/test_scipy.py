"""All sets of a five-port shop, one by one, against scipy's root finder, which shares nothing with the solver."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import root

import ductcalc
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.solve.tree import WyeShape
from tests.scenes import end, gate, pipe, port, run, wye
from tests.solve.networks import DENSITY, VISCOSITY, Duct, Network, area
from tests.solve.port_flows import Walk

RATED_DENSITY = 1.2014
POINTS = ((0.0, 2700.0), (0.2, 2650.0), (0.4, 2300.0), (0.6, 1500.0), (0.8, 200.0))
CYCLONE, FILTER = (0.4, 450.0), (0.4, 380.0)
LEAK = 0.01
SHUT_K = 1.0 / (0.61 * LEAK) ** 2
OPEN_K, ROUGHNESS = 0.15, 9.144e-5
DROPS = ((0.1, 6.0, 1.5), (0.125, 5.0, 2.0), (0.08, 4.0, 0.9), (0.1, 3.0, 2.75), (0.15, 7.0, 1.2))
"""Bore [m], length [m] and port coefficient of each drop."""
MAINS = ((0.14, 4.0), (0.15, 3.0), (0.16, 5.0), (0.18, 6.0))
LEAKAGE_CLASS = 3.0


@cache
def solved() -> Gates:
    """Solve the shop by its tables."""
    bore, length, k = DROPS[0]
    rows = [port("m0", f"{1000 * bore} mm", flow="400 cfm", k=k), gate(), pipe(f"{length} m")]
    for number, (size, stretch) in enumerate(MAINS, start=1):
        rows += [wye(f"d{number}", f"{1000 * size:g} mm", angle="45"), pipe(f"{stretch} m")]
    drops = [
        row
        for number, (bore, length, k) in enumerate(DROPS[1:], start=1)
        for row in run(
            f"d{number}",
            port(f"m{number}", f"{1000 * bore} mm", flow="400 cfm", k=k),
            gate(),
            pipe(f"{length} m"),
        )
    ]
    blower = [{"item": "blower", "flow": f"{q} m3/s", "pressure": f"{p} Pa"} for q, p in POINTS]
    parts = [("cyclone", CYCLONE), ("filter clean", FILTER), ("filter loaded", FILTER)]
    table = [*blower, *({"item": i, "flow": f"{q} m3/s", "pressure": f"{p} Pa"} for i, (q, p) in parts)]
    settings = {
        "air": {"density": f"{DENSITY} kg/m3", "viscosity": f"{VISCOSITY} Pa s"},
        "collector": {"curve": "fan static"},
        "gates": {"leak": f"{100.0 * LEAK:g} %"},
        "method": {"joint_leakage": "sealed"},
    }
    return gates(ductcalc.shop_from_rows([*run("main", *rows, end()), *drops], table, settings), 5)


def network(mask: int) -> Network:
    """Return the same shop as plain sections: drop 0, then each drop with the main behind its wye."""
    drops = [_drop(number, bool(mask >> number & 1)) for number in range(len(DROPS))]
    ducts, wyes, last = [drops[0]], [], 0
    for drop, (size, length) in zip(drops[1:], MAINS, strict=True):
        main = Duct(size, size, ((size, length, ROUGHNESS),), 0.0, leakage_class=LEAKAGE_CLASS)
        ducts += [drop, main]
        outlet = len(ducts) - 1
        wyes.append(WyeShape((last, outlet - 1), outlet, area(size), (0.0, 45.0), (True, False), (0.0, 0.28)))
        last = outlet
    return Network(tuple(ducts), tuple(wyes))


def _drop(number: int, is_open: bool) -> Duct:
    bore, length, k = DROPS[number]
    duct = Duct(bore, bore, ((bore, length, ROUGHNESS),), 0.0, k, leakage_class=LEAKAGE_CLASS)
    return replace(duct, k=OPEN_K) if is_open else replace(duct, shut_k=SHUT_K)


_CURVE = PchipInterpolator(*np.array(POINTS).T)


def offered_pa(flow: float) -> float:
    """What this collector offers [Pa]: curve and cyclone in the shop's air, filter in proportion to flow."""
    thin = DENSITY / RATED_DENSITY
    return (float(_CURVE(flow)) - CYCLONE[1] * (flow / CYCLONE[0]) ** 2) * thin - FILTER[1] * flow / FILTER[0]


def by_scipy(mask: int) -> np.ndarray:
    """Air of every port [m3/s] by scipy's root finder."""
    made = network(mask)
    ports = [0, *(wye.streams[1] for wye in made.wyes)]

    def residual(logs: np.ndarray) -> np.ndarray:
        walk = Walk(made, "momentum", dict(zip(ports, np.exp(logs).tolist(), strict=True)))
        total, last = walk.arrive(len(made.ducts) - 1)
        assert last is not None
        return np.array([*walk.disagreement, offered_pa(min(total, POINTS[-1][0])) - last]) / 2000.0

    guess = np.log([0.15 if mask >> number & 1 else 0.003 for number in range(len(DROPS))])
    for shift in (0.0, -0.5, 0.5):
        found = root(residual, guess + shift, method="hybr", options={"xtol": 1e-13, "maxfev": 4000})
        if np.abs(residual(found.x)).max() < 1e-11:
            return np.exp(found.x)
    raise AssertionError("scipy found no answer")


@pytest.mark.parametrize("mask", range(1, 32))
def test_set_is_that_of_scipy(mask: int) -> None:
    found = solved()
    air = found.asked.judged.port_flow_m3_s[:, found.asked.opened.index(mask)]
    np.testing.assert_allclose(air, by_scipy(mask), rtol=1e-8, atol=0.0)
