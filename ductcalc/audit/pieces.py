"""Pressure of every piece at given section flows, from the model's pieces and the plain formulas."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.model.decided import Decided
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model
from ductcalc.model.opening import OpenState
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.friction import darcy_loss_per_m, handbook_friction_per_m
from ductcalc.physics.hoods import OUTWARD_K
from ductcalc.physics.velocity import bore_area, velocity, velocity_pressure

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PieceTable:
    """All pieces of a model in order of their sections. section, head: (pieces,), head -1 for the shared body.

    bore_m, k, shut_k, length_m, roughness_m, factor, load: (pieces, 1).
    """

    losses: tuple[Loss, ...]
    section: NDArray[np.intp]
    head: NDArray[np.intp]
    bore_m: Floats
    k: Floats
    shut_k: Floats
    length_m: Floats
    roughness_m: Floats
    factor: Floats
    load: Floats

    @classmethod
    def of(cls, model: Model) -> PieceTable:
        """Lay out a model's pieces."""
        rows: list[tuple[int, int, Loss]] = []
        for number, section in enumerate(model.sections):
            rows += [(number, place, loss) for place, head in enumerate(section.heads) for loss in head]
            rows += [(number, -1, loss) for loss in section.body]
        losses = tuple(row[2] for row in rows)
        load = float(loaded_duct_factor(model.loading))

        def column(value: Callable[[Loss], float]) -> Floats:
            return np.array([value(loss) for loss in losses], dtype=np.float64).reshape(-1, 1)

        return cls(
            losses,
            np.array([row[0] for row in rows], dtype=np.intp),
            np.array([row[1] for row in rows], dtype=np.intp),
            column(lambda loss: loss.bore_m),
            column(lambda loss: _value(loss.k)),
            column(lambda loss: _value(loss.shut_k)),
            column(lambda loss: loss.length_m if loss.has_friction else 0.0),
            column(lambda loss: _value(loss.roughness_m)),
            column(lambda loss: _value(loss.factor)),
            column(lambda loss: 1.0 if loss.kind == "machine" else load),
        )

    def pressures(self, model: Model, state: OpenState, flow_m3_s: Floats) -> Floats:
        """Return total pressure lost (pieces, cases) [Pa] at section flows (sections, cases) [m3/s].

        A head that does not feed its section in a case loses nothing there. Where air is blown backwards, the loss
        turns round (negative along the section), and at the port its velocity head is lost in the room.
        """
        signed = flow_m3_s[self.section]
        flow, backwards = np.abs(signed), signed < 0.0
        speed = np.asarray(velocity(flow, self.bore_m))
        kinetic = np.asarray(velocity_pressure(model.air.density_kg_m3, speed))
        gate = (self.shut_k > 0.0) & state.shut[self.section]
        with np.errstate(invalid="ignore"):
            local = np.where(kinetic > 0.0, np.where(gate, self.shut_k, self.k) * kinetic, 0.0)
        if backwards.any():
            ports = np.array([[loss.kind == "machine"] for loss in self.losses])
            local = np.where(ports & backwards, OUTWARD_K * kinetic, local)
        lost = (local + self._friction(model, flow, speed, kinetic)) * self.load
        lost = np.where(backwards, -lost, lost)
        feeding = model.opening.feeding(state)[self.section]
        return np.where((self.head[:, None] < 0) | (self.head[:, None] == feeding), lost, 0.0)

    def _friction(self, model: Model, flow: Floats, speed: Floats, kinetic: Floats) -> Floats:
        straight = np.flatnonzero(self.length_m[:, 0] > 0.0)
        found = np.zeros_like(flow)
        bore, length = self.bore_m[straight], (self.length_m * self.factor)[straight]
        if model.friction == "handbook":
            per_m, _ = handbook_friction_per_m(speed[straight], flow[straight])
            found[straight] = per_m * length * kinetic[straight]
            return found
        rough, air = self.roughness_m[straight], model.air
        found[straight] = length * darcy_loss_per_m(speed[straight], bore, rough, air.density_kg_m3, air.viscosity_pa_s)
        return found

    def by_section(self, pressures: Floats, sections: int) -> Floats:
        """Sum piece pressures (pieces, cases) over their sections."""
        total = np.zeros((sections, pressures.shape[1]))
        np.add.at(total, self.section, pressures)
        return total


def _value(decided: Decided | None) -> float:
    return 0.0 if decided is None else decided.value


def end_velocity_pressure(model: Model, section: int, flow_m3_s: Floats) -> Floats:
    """Return velocity pressure [Pa] at a section's end."""
    bore = model.sections[section].end_bore_m
    return np.asarray(velocity_pressure(model.air.density_kg_m3, flow_m3_s / bore_area(bore)))
