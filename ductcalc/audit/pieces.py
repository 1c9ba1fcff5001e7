"""Pressure of every piece at given section flows, from the model's pieces and the plain formulas."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ductcalc.arrays import Floats, Places
from ductcalc.audit.opening import Opened, Ways
from ductcalc.model.decided import Decided, Pick, middle
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.friction import darcy_loss_per_m, handbook_friction_per_m
from ductcalc.physics.velocity import bore_area, velocity, velocity_pressure
from ductcalc.shop.bore import hydraulic_diameter


@dataclass(frozen=True)
class PieceTable:
    """All pieces of a model in order of their sections. section, head: (pieces,), head -1 for the shared body.

    bore_m, hydraulic_m, k, shut_k, length_m, roughness_m, factor, load: (pieces, 1), each decided number as picked.
    """

    model: Model
    pick: Pick
    losses: tuple[Loss, ...]
    section: Places
    head: Places
    bore_m: Floats
    hydraulic_m: Floats
    k: Floats
    shut_k: Floats
    length_m: Floats
    roughness_m: Floats
    factor: Floats
    load: Floats

    @classmethod
    def of(cls, model: Model, pick: Pick = middle) -> PieceTable:
        """Lay out a model's pieces."""
        rows: list[tuple[int, int, Loss]] = []
        for number, section in enumerate(model.sections):
            rows += [(number, place, loss) for place, head in enumerate(section.heads) for loss in head]
            rows += [(number, -1, loss) for loss in section.body]
        losses = tuple(row[2] for row in rows)
        load = float(loaded_duct_factor(model.loading))

        def column(value: Callable[[Loss], float]) -> Floats:
            return np.array([value(loss) for loss in losses], dtype=np.float64).reshape(-1, 1)

        def picked(decided: Decided | None) -> float:
            return 0.0 if decided is None else pick(decided)

        return cls(
            model,
            pick,
            losses,
            np.array([row[0] for row in rows], dtype=np.intp),
            np.array([row[1] for row in rows], dtype=np.intp),
            column(lambda loss: loss.bore_m),
            column(lambda loss: hydraulic_diameter(loss.bore_m)),
            column(lambda loss: picked(loss.k)),
            column(lambda loss: picked(loss.shut_k)),
            column(lambda loss: loss.length_m if loss.has_friction else 0.0),
            column(lambda loss: picked(loss.roughness_m)),
            column(lambda loss: picked(loss.factor)),
            column(lambda loss: 1.0 if loss.kind == "machine" else load),
        )

    @cached_property
    def ways(self) -> Ways:
        """How the model's sections follow each other."""
        tight = np.zeros(self.model.tree.size, dtype=bool)
        tight[self.section[np.isinf(self.shut_k[:, 0])]] = True
        return Ways(self.model, tight)

    def with_tight_gate(self, section: int) -> PieceTable:
        """Return the same pieces, but that the gates of one section let nothing through when they are shut."""
        gates = (self.section[:, None] == section) & (self.shut_k > 0.0)
        return replace(self, shut_k=np.where(gates, np.inf, self.shut_k))

    @cached_property
    def port_pieces(self) -> Places:
        """Places of the ports among the pieces."""
        return np.array([n for n, loss in enumerate(self.losses) if loss.kind == "machine"], dtype=np.intp)

    @cached_property
    def surfaces_m2(self) -> tuple[Floats, Floats]:
        """Surface [m2] of each section, and of what lies behind its gate (sections, 1)."""
        whole, after = ([[s.surfaces_m2[behind]] for s in self.model.sections] for behind in (False, True))
        return np.array(whole), np.array(after)

    def pressures(self, opened: Opened, flow_m3_s: Floats) -> Floats:
        """Return total pressure lost (pieces, cases) [Pa] at section flows (sections, cases) [m3/s].

        A head that does not feed its section in a case loses nothing there. No air flows backwards.
        """
        flow = np.maximum(flow_m3_s, 0.0)[self.section]
        speed = np.asarray(velocity(flow, self.bore_m))
        kinetic = np.asarray(velocity_pressure(self.model.air.density_kg_m3, speed))
        gate = (self.shut_k > 0.0) & opened.shut[self.section]
        with np.errstate(invalid="ignore"):
            local = np.where(kinetic > 0.0, np.where(gate, self.shut_k, self.k) * kinetic, 0.0)
        lost = (local + self._friction(flow, speed, kinetic)) * self.load
        idle = (self.head[:, None] >= 0) & (self.head[:, None] != opened.head[self.section])
        return np.where(idle, 0.0, lost)

    def _friction(self, flow: Floats, speed: Floats, kinetic: Floats) -> Floats:
        model, found = self.model, np.zeros_like(flow)
        straight = np.flatnonzero(self.length_m[:, 0] > 0.0)
        bore, length = self.hydraulic_m[straight], (self.length_m * self.factor)[straight]
        if model.friction == "handbook":
            per_m, _ = handbook_friction_per_m(speed[straight], speed[straight] * bore_area(bore))
            found[straight] = per_m * length * kinetic[straight]
            return found
        rough, air = self.roughness_m[straight], model.air
        found[straight] = length * darcy_loss_per_m(speed[straight], bore, rough, air.density_kg_m3, air.viscosity_pa_s)
        return found

    def by_section(self, pressures: Floats, sections: int) -> Floats:
        """Sum piece pressures (pieces, cases) over their sections."""
        total = np.zeros((sections, pressures.shape[1]))
        present, first = np.unique(self.section, return_index=True)
        if len(first):
            total[present] = np.add.reduceat(pressures, first, axis=0)
        return total


def end_velocity_pressure(model: Model, section: int, flow_m3_s: Floats) -> Floats:
    """Return velocity pressure [Pa] at a section's end."""
    bore = model.sections[section].end_bore_m
    return np.asarray(velocity_pressure(model.air.density_kg_m3, flow_m3_s / bore_area(bore)))
