"""A large bush of combs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ductcalc.solve.tree import WyeShape
from tests.solve.networks import Duct, Network, area, comb


def bush(mains: int, ports: int) -> Network:
    """So many combs, joined two by two until one main is left."""
    single = comb(ports)
    ducts: list[Duct] = []
    wyes: list[WyeShape] = []
    tops: list[int] = []
    for _ in range(mains):
        wyes += [_moved(wye, len(ducts)) for wye in single.wyes]
        ducts += single.ducts
        tops.append(len(ducts) - 1)
    while len(tops) > 1:
        pairs = [tuple(tops[n : n + 2]) for n in range(0, len(tops), 2)]
        tops = []
        for pair in pairs:
            size = float(np.hypot.reduce([ducts[s].end_bore_m for s in pair]))
            wyes.append(_wye_of(pair, len(ducts), size))
            tops.append(len(ducts))
            ducts.append(Duct(size, size, ((size, 4.0, 9.144e-5),), 0.1, leakage_class=3.0))
    return Network(tuple(ducts), tuple(wyes))


def _moved(wye: WyeShape, shift: int) -> WyeShape:
    return replace(wye, streams=tuple(s + shift for s in wye.streams), outlet=wye.outlet + shift)


def _wye_of(streams: tuple[int, ...], outlet: int, size: float) -> WyeShape:
    angles = (0.0, 30.0)[: len(streams)]
    straight = tuple(a == 0.0 for a in angles)
    return WyeShape(streams, outlet, area(size), angles, straight, (0.0, 0.18)[: len(streams)])
