"""What the collector offers at the duct's end, from its points and parts as decided; no code is the solver's."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats
from ductcalc.catalog import fact
from ductcalc.model.collector import AirPoint, CurveEnd, ModelCollector, RatedPart
from ductcalc.model.decided import Pick, middle
from ductcalc.physics.friction import friction_factor, handbook_friction_per_m
from ductcalc.physics.velocity import reynolds, velocity, velocity_pressure
from ductcalc.shop.bore import hydraulic_diameter

STILL_M3_S = 1e-30
PASCAL = 1.0
STEEP = 1e-3
"""Where a curve falls like a wall, a pressure is held against what a thousandth of the flow changes in it: no
calculation in ordinary numbers gives a flow to more digits than the pressure on the wall asks for."""


class Bill(NamedTuple):
    """What a blower makes in the shop's air on the basis of its curve, and what of it is lost before the duct [Pa].

    cyclone, filter: beyond what the curve contains of them. outlet: its losses, and the VP where air leaves above the
    blower's. basis: the velocity pressure that the curve counts in. Each (cases,).
    """

    blower: Floats
    cyclone: Floats
    filter: Floats
    outlet: Floats
    basis: Floats

    @property
    def lost(self) -> Floats:
        """All that is lost (cases,)."""
        return self.cyclone + self.filter + self.outlet + self.basis


@dataclass(frozen=True)
class Offer:
    """The suction that a collector offers, with each decided number as picked."""

    collector: ModelCollector
    pick: Pick = middle
    end: CurveEnd = "low"

    def at(self, flow_m3_s: Floats, loaded: Flags) -> tuple[Floats, Floats]:
        """Return total suction [Pa] at the duct's end, and the pressure [Pa] that an error in it is held against.

        flow_m3_s, loaded: (cases,), `loaded` whether the filter is. A flow below nothing is still air.
        """
        flow = np.maximum(flow_m3_s, 0.0)
        bill, (_, slope, greatest) = self.bill(flow, loaded), self._points(flow)
        offered = bill.blower - bill.lost
        scale = np.maximum(np.abs(offered), self._thinner * greatest * 1e-3) + PASCAL
        return offered, np.maximum(scale, STEEP * (self._thinner * np.abs(slope) * flow + 2.0 * np.abs(bill.lost)))

    def bill(self, flow_m3_s: Floats, loaded: Flags) -> Bill:
        """Return what the blower makes and what of it is lost, at flows (cases,)."""
        made, flow, contained = self.collector, flow_m3_s, self._contained()
        before = self._points(flow)[0] + sum(self.taken(part, flow, made.rated) for part in contained)
        cyclone, filter_ = (self.taken(part, flow) for part in contained)
        filters = (self.taken(part, flow) for part in (made.filter_loaded, made.filter_clean))
        return Bill(
            blower=self._thinner * before - cyclone - filter_,
            cyclone=self.taken(made.cyclone, flow) - cyclone,
            filter=np.where(loaded, *filters) - filter_,
            outlet=self._outlet(flow),
            basis=self._kinetic(flow, made.basis_bore_m),
        )

    def _contained(self) -> tuple[RatedPart | None, RatedPart | None]:
        """Return the cyclone and the filter that the curve's points were taken with."""
        made, contains = self.collector, self.collector.collector.contains
        clean = made.filter_clean if "filter clean" in contains else None
        inside = made.filter_loaded if "filter loaded" in contains else clean
        return made.cyclone if "cyclone" in contains else None, inside

    @property
    def _thinner(self) -> float:
        return self.collector.air.density_kg_m3 / self.collector.rated.density_kg_m3

    def _points(self, flow: Floats) -> tuple[Floats, Floats, float]:
        """Return pressure [Pa] and slope [Pa s/m3] of the blower's curve as written, and its greatest pressure."""
        if self.collector.gives_nothing:
            return np.zeros_like(flow), np.zeros_like(flow), 0.0
        points, both = self.collector.collector.blower, self.collector.collector.advertised
        if points:
            pressures = np.array([point.pressure_pa for point in points])
            return *through(np.array([point.flow_m3_s for point in points]), pressures, flow), float(pressures.max())
        assert both is not None
        share = 1.0 if self.end == "high" else fact("collector", "advertised share").value
        most, top = share * both.flow_m3_s, share * both.pressure_pa
        if self.end == "low":
            return top - top / most * flow, np.full_like(flow, -top / most), top
        slope = -2.0 * top / most * np.minimum(flow / most, 1.0)
        return top + slope * flow - 0.5 * slope * np.minimum(flow, most), slope, top

    def taken(self, part: RatedPart | None, flow: Floats, air: AirPoint | None = None) -> Floats:
        """Return what a cyclone or filter takes [Pa] in an air, the shop's when left out.

        Of the kinetic pressure a share that follows a power of Reynolds' number, dp = dp_r (rho / rho_r) (Q / Q_r)^2
        (Re / Re_r)^(n - 2): by dimensions, our own, for a loss that grows with the n-th power of flow.
        """
        if part is None:
            return np.zeros_like(flow)
        rated, air = self.collector.rated, air or self.collector.air
        share = np.maximum(flow, STILL_M3_S) / part.rated_flow_m3_s
        denser = air.density_kg_m3 / rated.density_kg_m3
        faster = share * denser * rated.viscosity_pa_s / air.viscosity_pa_s
        power = self.pick(part.exponent) - 2.0
        return np.asarray(self.pick(part.pressure_pa) * denser * share**2 * faster**power)

    def _kinetic(self, flow: Floats, bore_m: float | None) -> Floats:
        if bore_m is None:
            return np.zeros_like(flow)
        return np.asarray(velocity_pressure(self.collector.air.density_kg_m3, velocity(flow, bore_m)))

    def _outlet(self, flow: Floats) -> Floats:
        """Return what the outlet duct takes [Pa], piece by piece, and the VP where air leaves above the blower's."""
        made, air, lost = self.collector, self.collector.air, np.zeros_like(flow)
        for piece in made.outlet:
            heads = np.full_like(flow, 0.0 if piece.k is None else self.pick(piece.k))
            if piece.roughness_m is not None and piece.factor is not None:
                across, speed = hydraulic_diameter(piece.bore_m), velocity(flow, piece.bore_m)
                number = reynolds(air.density_kg_m3, speed, across, air.viscosity_pa_s)
                per_m = friction_factor(number, self.pick(piece.roughness_m) / across) / across
                if made.friction == "handbook":
                    per_m = handbook_friction_per_m(speed, flow)[0]
                heads += per_m * self.pick(piece.factor) * piece.length_m
            lost += heads * self._kinetic(flow, piece.bore_m)
        if made.outlet:
            lost = lost + self._kinetic(flow, made.discharge_bore_m) - self._kinetic(flow, made.outlet_bore_m)
        return lost


def through(flows: Floats, pressures: Floats, flow: Floats) -> tuple[Floats, Floats]:
    """Return value and slope at flows (cases,) of the monotone cubic through points, in Hermite's form.

    Left of the first point the pressure is held, beyond the last one it goes on straight.
    Source: Fritsch and Butland, SIAM J. Scientific and Statistical Computing 5 (1984) 300; ends after Moler, Numerical
    Computing with MATLAB (2004), 3.6.
    """
    width, rise = np.diff(flows), np.diff(pressures) / np.diff(flows)
    slopes = _slopes(width, rise)
    left = np.clip(np.searchsorted(flows, flow, side="right") - 1, 0, len(width) - 1)
    share = np.clip((flow - flows[left]) / width[left], 0.0, 1.0)
    rest, before, after = 1.0 - share, slopes[left], slopes[left + 1]
    value = pressures[left] * rest**2 * (1.0 + 2.0 * share) + pressures[left + 1] * share**2 * (3.0 - 2.0 * share)
    value = value + width[left] * share * rest * (rest * before - share * after)
    slope = 6.0 * share * rest * rise[left] + rest * (1.0 - 3.0 * share) * before - share * (2.0 - 3.0 * share) * after
    slope = np.where(flow < flows[0], 0.0, slope)
    return value + slopes[-1] * np.maximum(flow - flows[-1], 0.0), slope


def _slopes(width: Floats, rise: Floats) -> Floats:
    """Return the slope at every point: inside a harmonic mean of its neighbours, at the ends the three-point one."""
    if len(rise) == 1:
        return np.repeat(rise, 2)
    same = rise[:-1] * rise[1:] > 0.0
    weighed = (width[:-1] + 2.0 * width[1:]) * rise[1:] + (2.0 * width[:-1] + width[1:]) * rise[:-1]
    inner = 3.0 * (width[:-1] + width[1:]) * rise[:-1] * rise[1:] / np.where(same, weighed, 1.0)
    ends = [_end(*width[:2], *rise[:2]), _end(*width[:-3:-1], *rise[:-3:-1])]
    return np.concatenate([ends[:1], np.where(same, inner, 0.0), ends[1:]])


def _end(width: float, next_width: float, rise: float, next_rise: float) -> float:
    """Return the slope at an end, between none and three times the rise of the piece there."""
    slope = rise + (rise - next_rise) * width / (width + next_width)
    return float(np.clip(slope, min(0.0, 3.0 * rise), max(0.0, 3.0 * rise)))
