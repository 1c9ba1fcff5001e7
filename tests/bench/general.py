"""A compiled general network solver from the package index (owa-epanet), given the same tree to solve.

What its model contains. Every section is one pipe with the section's bore, length and roughness (Darcy-Weisbach; it
takes an explicit friction formula where ours solves Colebrook's equation) and one fixed coefficient: the section's own
losses, and at a wye a constant for the run and for the branch, where ours solves the momentum balance of the streams.
Ports are reservoirs at room pressure, the collector is a pump with the same available pressure as straight lines
through points, heads are metres of air. Given the same fixed coefficients, both agree within 0.3 % on the total flow.
Joint leakage is left out, which makes its task lighter than ours; with `joints=True` every wye has an emitter instead.

How it is driven. Gates are toggled by a pipe's coefficient (a leaking shut gate) between solves, only where they
change; flows are read in one call into shared memory; the project stays open; every solve starts from its own first
guess, which was measured to be faster than starting from the last set's flows. Trial limit 200; accuracy its default
0.001 (sum of flow changes over sum of flows) unless said otherwise, where ours always iterates to below 1e-10.
"""

from __future__ import annotations

import ctypes
import os

import numpy as np
from epanet import toolkit

from ductcalc.solve.supply import Supply
from ductcalc.solve.tree import WyeShape
from tests.solve.networks import DENSITY, VISCOSITY, Network

GRAVITY_M_S2 = 9.80665
WATER_VISCOSITY_M2_S = 1.1e-5 * 0.3048**2
"""The solver's reference kinematic viscosity, 1.1e-5 ft2/s (its manual): viscosity is given as a multiple of it."""

RUN_K, BRANCH_K = 0.2, 0.6
KEEP_FLOWS, START_FRESH = 0, 10


def head_m(pressure_pa: float) -> float:
    """Metres of air for a pressure [Pa]."""
    return pressure_pa / (DENSITY * GRAVITY_M_S2)


class GeneralSolver:
    """One network as a project of the general solver; pipes in the order of our sections."""

    def __init__(self, network: Network, offers: Supply, accuracy: float = 1e-3, joints: bool = False) -> None:
        """Build the project and open its hydraulics."""
        self.network, self.project = network, toolkit.createproject()
        toolkit.init(self.project, os.devnull, "", toolkit.LPS, toolkit.DW)
        toolkit.setstatusreport(self.project, toolkit.NO_REPORT)
        for name, value in self._options(accuracy).items():
            toolkit.setoption(self.project, name, value)
        self._nodes(joints)
        self._pipes()
        self._pump(offers)
        toolkit.openH(self.project)
        toolkit.initH(self.project, START_FRESH)
        written = [toolkit.getlinkvalue(self.project, link, toolkit.MINORLOSS) for link in self.links]
        self.coefficients = np.array(written)
        self.now = self.coefficients.copy()
        self._share_memory(len(self.links) + 1)

    def _share_memory(self, count: int) -> None:
        """Let the solver write flows where numpy reads them."""
        self.memory = toolkit.doubleArray(count)
        shared = (ctypes.c_double * count).from_address(int(self.memory.this))
        self.flows = np.ctypeslib.as_array(shared)

    @staticmethod
    def _options(accuracy: float) -> dict[int, float]:
        return {
            toolkit.ACCURACY: accuracy,
            toolkit.TRIALS: 200,
            toolkit.SP_VISCOS: VISCOSITY / DENSITY / WATER_VISCOSITY_M2_S,
            toolkit.EMITEXPON: 0.65,
        }

    def _nodes(self, joints: bool) -> None:
        for wye in self.network.wyes:
            node = toolkit.addnode(self.project, f"wye{wye.outlet}", toolkit.JUNCTION)
            if joints:
                toolkit.setnodevalue(self.project, node, toolkit.EMITTER, 0.1)
        toolkit.addnode(self.project, "end", toolkit.JUNCTION)
        above = {wye.outlet for wye in self.network.wyes}
        self.leaves = [n for n in range(len(self.network.ducts)) if n not in above]
        for leaf in self.leaves:
            toolkit.addnode(self.project, f"port{leaf}", toolkit.RESERVOIR)
        toolkit.addnode(self.project, "room", toolkit.RESERVOIR)

    def _pipes(self) -> None:
        joins: dict[int, tuple[WyeShape, int]] = {
            s: (w, p) for w in self.network.wyes for p, s in enumerate(w.streams)
        }
        leaves = set(self.leaves)
        self.links = []
        for number, duct in enumerate(self.network.ducts):
            start = f"port{number}" if number in leaves else f"wye{number}"
            wye, place = joins.get(number, (None, 0))
            ((bore, length, rough),) = duct.stretches
            link = toolkit.addlink(
                self.project, f"s{number}", toolkit.PIPE, start, "end" if wye is None else f"wye{wye.outlet}"
            )
            joint = 0.0 if wye is None else (RUN_K if wye.straight[place] else BRANCH_K)
            k = duct.k + duct.port_k + joint
            toolkit.setpipedata(self.project, link, length, 1000.0 * bore, 1000.0 * rough, k)
            self.links.append(link)

    def _pump(self, offers: Supply) -> None:
        flow = np.linspace(0.0, 0.995 * offers.last_flow_m3_s, 13)
        pressure, _ = offers.available(flow)
        falling = np.minimum.accumulate(pressure - 1e-6 * np.arange(len(flow)))
        toolkit.addcurve(self.project, "blower")
        for place, (q, p) in enumerate(zip(flow, falling, strict=True), start=1):
            toolkit.setcurvevalue(self.project, 1, place, 1000.0 * float(q), head_m(float(p)))
        self.pump = toolkit.addlink(self.project, "blower", toolkit.PUMP, "end", "room")
        toolkit.setheadcurveindex(self.project, self.pump, 1)

    def gate_sets(self, open_: np.ndarray, start: int = START_FRESH, share: float = 0.01) -> np.ndarray:
        """Solve every gate set (ports, sets) in turn; return section flows [m3/s] (sections, sets)."""
        shut_k = 1.0 / (0.61 * share) ** 2
        flows = np.empty((len(self.links), open_.shape[1]))
        for number in range(open_.shape[1]):
            for leaf, is_open in zip(self.leaves, open_[:, number].tolist(), strict=True):
                self._set(leaf, self.coefficients[leaf] + (0.0 if is_open else shut_k))
            flows[:, number] = self.solve(start)
        return flows

    def _set(self, section: int, k: float) -> None:
        if self.now[section] != k:
            toolkit.setlinkvalue(self.project, self.links[section], toolkit.MINORLOSS, float(k))
            self.now[section] = k

    def solve(self, start: int = START_FRESH) -> np.ndarray:
        """Solve once and return section flows [m3/s] (sections,)."""
        toolkit.initH(self.project, start)
        toolkit.runH(self.project)
        toolkit.getlinkvalues(self.project, toolkit.FLOW, self.memory)
        return 0.001 * self.flows[: len(self.links)]

    @property
    def trials(self) -> int:
        """Trials that the last solve took."""
        return int(toolkit.getstatistic(self.project, toolkit.ITERATIONS))

    def close(self) -> None:
        """Free the project."""
        toolkit.closeH(self.project)
        toolkit.deleteproject(self.project)
