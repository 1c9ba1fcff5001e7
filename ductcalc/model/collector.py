"""The collector at the shop's air: its curve, what it contains, cyclone, filter and outlet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from ductcalc.arrays import Floats
from ductcalc.catalog import cite, fact
from ductcalc.errors import InputError, Problem
from ductcalc.model.air import Air
from ductcalc.model.assumption import Assumption
from ductcalc.model.decided import Decided, Pick, from_fact, given, middle
from ductcalc.model.loss import Loss
from ductcalc.model.pieces import piece_loss, reducer_loss
from ductcalc.physics.collector import filter_loss
from ductcalc.physics.curve import PiecewiseCubic, evaluate, monotone_cubic, parabola, straight_line
from ductcalc.physics.fan import scaled_power
from ductcalc.physics.friction import HANDBOOK_EXPONENT, handbook_friction_per_m
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.bore import hydraulic_diameter, perimeter
from ductcalc.shop.hanging import HungPiece
from ductcalc.shop.settings import Friction, Junction, Settings
from ductcalc.shop.shop import FILTER_PARTS, Collector, CurveBasis, FlowPressure
from ductcalc.solve.supply import OutletFriction, PowerTerm, Supply

FilterState = Literal["loaded", "clean"]
CurveEnd = Literal["low", "middle", "high"]
ChargedPart = Literal["cyclone", "filter"]
PARTS: tuple[ChargedPart, ...] = ("cyclone", "filter")
CYCLONE, FILTER, LOADED, ADVERTISED, BASIS = (
    "cyclone",
    "clean filter",
    "loaded filter",
    "advertised maxima",
    "basis of the blower curve",
)
TEXTS = {
    CYCLONE: "neither cyclone nor filter stated: a cyclone of 2 in of water at {}",
    FILTER: "clean filter not stated: 1 in of water at {} (write none if there is none)",
    LOADED: "loaded filter not stated: the clean one plus 2 in of water at the {}'s rated flow",
    ADVERTISED: "blower curve from the two advertised maxima: the straight line through 0.9 of both is counted on",
    BASIS: "the blower points are taken as fan static pressure; write curve = ... under [collector]",
}
HALF_ITS_LARGEST, LARGEST_ASKED = "half the blower's largest flow", "the largest flow asked for"
SQUARE = 2.0
UNBOUNDED_M3_S = 1e6
"""Flow at which a blower that gives nothing ends."""


class RatedPart(NamedTuple):
    """A cyclone or filter: rated flow [m3/s] and pressure [Pa] at rated air, power of flow, contained or not."""

    rated_flow_m3_s: float
    pressure_pa: Decided
    exponent: Decided
    contained: bool

    def term(self, air: AirPoint, rated: AirPoint, pick: Pick = middle) -> PowerTerm:
        """Return its law at an air: a power of flow, so what it takes at 1 m3/s is the coefficient."""
        exponent = pick(self.exponent)
        taken = filter_loss(
            1.0,
            self.rated_flow_m3_s,
            pick(self.pressure_pa),
            exponent,
            air.density_kg_m3,
            air.viscosity_pa_s,
            rated.density_kg_m3,
            rated.viscosity_pa_s,
        )
        return PowerTerm(float(taken), exponent)


class AirPoint(NamedTuple):
    """Density [kg/m3] and viscosity [Pa s] at which something holds."""

    density_kg_m3: float
    viscosity_pa_s: float


@dataclass(frozen=True)
class ModelCollector:
    """The collector decided: points, basis, parts, outlet losses; `supply` makes what the solver needs.

    gives_nothing: its blower is left out, so that what it offers is less than nothing by what its parts take.
    """

    name: str
    basis: CurveBasis
    collector: Collector
    rated: AirPoint
    air: AirPoint
    cyclone: RatedPart | None
    filter_clean: RatedPart | None
    filter_loaded: RatedPart | None
    outlet: tuple[Loss, ...]
    outlet_bore_m: float | None
    discharge_bore_m: float | None
    assumptions: tuple[Assumption, ...]
    remarks: tuple[str, ...]
    friction: Friction = "colebrook"
    gives_nothing: bool = False

    @property
    def provisional(self) -> bool:
        """Whether only the two advertised maxima are known."""
        return self.collector.advertised is not None

    def blower_curve(self, end: CurveEnd = "low") -> PiecewiseCubic:
        """Return the curve as its points say [Pa against m3/s], at the rated air, on its own basis."""
        if self.gives_nothing:
            return straight_line(UNBOUNDED_M3_S, 0.0)
        if self.collector.blower:
            points = self.collector.blower
            return monotone_cubic([p.flow_m3_s for p in points], [p.pressure_pa for p in points])
        both = self.collector.advertised
        assert both is not None
        share = 1.0 if end == "high" else fact("collector", "advertised share").value
        shape = straight_line if end == "low" else parabola
        return shape(both.flow_m3_s * share, both.pressure_pa * share)

    def filter_at(self, state: FilterState) -> RatedPart | None:
        """Return the filter in a state."""
        return self.filter_loaded if state == "loaded" else self.filter_clean

    def supply(self, state: FilterState, pick: Pick = middle, end: CurveEnd = "low", speed: float = 1.0) -> Supply:
        """Return total suction available at the duct's end against flow; speed: the blower's, over that of its curve.

        Flow grows with the speed, pressure with its square (fan laws), what the curve contains of a filter likewise.
        """
        scale = self.air.density_kg_m3 / self.rated.density_kg_m3
        curve = self.blower_curve(end)
        falling = np.arange(curve.coefficients.shape[0])[::-1, None]
        scaled = PiecewiseCubic(curve.breaks * speed, curve.coefficients * scale * speed ** (2.0 - falling))
        parts = [term for part in PARTS for term in self._charge_terms(part, state, pick)]
        terms = [*self._basis_terms(), *parts, *self._outlet_terms(pick)]
        return Supply(scaled, _merged(terms), self._outlet_friction(pick))

    def outlet_losses(self, flow_m3_s: Floats, pick: Pick = middle) -> Floats:
        """Return the pressure over the room's [Pa] where the outlet duct begins, at flows (cases,)."""
        none = PiecewiseCubic(np.array([0.0, 1.0]), np.zeros((4, 1)))
        return Supply(none, tuple(self._outlet_terms(pick)), self._outlet_friction(pick)).losses(flow_m3_s)[0]

    def power_w(self, flow_m3_s: float) -> float | None:
        """Return the blower's power [W] at a flow, between its points that state one, in the shop's air.

        None with fewer than two such points, and outside of them.
        """
        stated = [(p.flow_m3_s, p.power_w) for p in self.collector.blower if p.power_w is not None]
        if len(stated) < 2 or not stated[0][0] <= flow_m3_s <= stated[-1][0]:
            return None
        flows, powers = zip(*stated, strict=True)
        rated = float(evaluate(monotone_cubic(flows, powers), flow_m3_s)[0])
        return float(scaled_power(rated, self.air.density_kg_m3 / self.rated.density_kg_m3))

    def contained_pa(self, flow_m3_s: float, state: FilterState) -> float:
        """Return what the parts that the curve's points contain take [Pa] at a flow, as it stands in the shop's air.

        The impeller makes so much more than the points say.
        """
        inside = (self._charged_and_inside(part, state)[1] for part in PARTS)
        laws = (part.term(self.air, self.rated) for part in inside if part is not None)
        return sum(float(law.coefficient * flow_m3_s**law.exponent) for law in laws)

    @property
    def basis_bore_m(self) -> float | None:
        """Bore [m] whose velocity pressure the curve's own basis counts in beyond fan static pressure, if any."""
        bores = {"inlet suction": self.collector.test_pipe_m, "fan total": self.outlet_bore_m}
        return bores.get(self.basis)

    @property
    def _contains_loaded(self) -> bool:
        return self.filter_loaded is not None and self.filter_loaded.contained

    def _basis_terms(self) -> Iterator[PowerTerm]:
        if self.basis_bore_m is not None:
            yield PowerTerm(_kinetic(self.air.density_kg_m3, self.basis_bore_m), SQUARE)

    def _charged_and_inside(self, part: ChargedPart, state: FilterState) -> tuple[RatedPart | None, RatedPart | None]:
        """Return a part as it is in a state, and what of it the curve's points contain."""
        if part == "cyclone":
            charged, inside = self.cyclone, self.cyclone
        else:
            charged = self.filter_at(state)
            inside = self.filter_loaded if self._contains_loaded else self.filter_clean
        return charged, inside if inside is not None and inside.contained else None

    def _charge_terms(self, part: ChargedPart, state: FilterState, pick: Pick) -> Iterator[PowerTerm]:
        """A part's law in the shop's air, less what the curve contains of it at the curve's own air, scaled."""
        scale = self.air.density_kg_m3 / self.rated.density_kg_m3
        charged, inside = self._charged_and_inside(part, state)
        if charged is not None:
            yield charged.term(self.air, self.rated, pick)
        if inside is not None:
            law = inside.term(self.rated, self.rated, pick)
            yield PowerTerm(-scale * law.coefficient, law.exponent)

    def _outlet_terms(self, pick: Pick) -> Iterator[PowerTerm]:
        """Outlet losses plus VP where the air leaves, less VP at the blower's outlet."""
        if not self.outlet:
            return
        density = self.air.density_kg_m3
        for loss in self.outlet:
            if loss.k is not None:
                yield PowerTerm(pick(loss.k) * _kinetic(density, loss.bore_m), SQUARE)
            if self.friction == "handbook" and loss.has_friction and loss.factor is not None:
                per_m = float(handbook_friction_per_m(1.0 / loss.area_m2, 1.0)[0])
                straight = pick(loss.factor) * loss.length_m * per_m * _kinetic(density, loss.bore_m)
                yield PowerTerm(straight, HANDBOOK_EXPONENT)
        assert self.discharge_bore_m is not None and self.outlet_bore_m is not None
        yield PowerTerm(_kinetic(density, self.discharge_bore_m) - _kinetic(density, self.outlet_bore_m), SQUARE)

    def _outlet_friction(self, pick: Pick) -> tuple[OutletFriction, ...]:
        if self.friction == "handbook":
            return ()
        density, mu = self.air.density_kg_m3, self.air.viscosity_pa_s
        return tuple(
            OutletFriction(
                loss.length_m / hydraulic_diameter(loss.bore_m) * pick(loss.factor) * _kinetic(density, loss.bore_m),
                4.0 * density / (perimeter(loss.bore_m) * mu),
                pick(loss.roughness_m) / hydraulic_diameter(loss.bore_m),
            )
            for loss in self.outlet
            if loss.roughness_m is not None and loss.factor is not None and loss.length_m > 0.0
        )


def _kinetic(density: float, bore_m: float) -> float:
    return 0.5 * density / float(bore_area(bore_m)) ** 2


def _merged(terms: list[PowerTerm]) -> tuple[PowerTerm, ...]:
    """Add up terms of the same power, so that the solver's inner loop stays short."""
    powers: dict[float, float] = {}
    for term in terms:
        powers[term.exponent] = powers.get(term.exponent, 0.0) + term.coefficient
    return tuple(PowerTerm(c, n) for n, c in powers.items() if c != 0.0)


def model_collector(
    collector: Collector, outlet: tuple[HungPiece, ...], air: Air, settings: Settings, junction: Junction
) -> ModelCollector:
    """Decide everything about a collector; raises InputError when its basis lacks a size."""
    assumptions: list[Assumption] = []
    remarks: list[str] = []
    rated = AirPoint(
        collector.density_kg_m3 or fact("air", "standard density").value,
        collector.viscosity_pa_s or fact("air", "standard viscosity").value,
    )
    basis = _basis(collector, assumptions)
    cyclone = _cyclone(collector, assumptions, remarks)
    clean, loaded = _filters(collector, cyclone, assumptions, remarks)
    outlet_losses, outlet_bore, discharge = _outlet(collector, outlet, settings, junction)
    if basis == "fan total" and outlet_bore is None:
        raise InputError(
            [
                Problem(
                    "a curve of fan total pressure needs the size of the blower's outlet",
                    'write outlet_size = "7 in" under [collector], or an outlet duct',
                    collector.place,
                )
            ]
        )
    if basis == "inlet suction" and collector.test_pipe_m is None:
        raise InputError(
            [
                Problem(
                    "a curve of inlet suction needs the bore of the pipe it was measured in",
                    'write test_pipe = "6 in" under [collector]',
                    collector.place,
                )
            ]
        )
    return ModelCollector(
        collector.name,
        basis,
        collector,
        rated,
        AirPoint(air.density_kg_m3, air.viscosity_pa_s),
        cyclone,
        clean,
        loaded,
        outlet_losses,
        outlet_bore,
        discharge,
        tuple(assumptions),
        tuple(remarks),
        settings.method.friction or "colebrook",
    )


def _by_custom(key: str, *parts: str, banded: bool = True) -> Assumption:
    return Assumption(key, TEXTS[key].format(*parts), banded=banded, source=cite("practice"))


def _basis(collector: Collector, assumptions: list[Assumption]) -> CurveBasis:
    if collector.advertised is not None and not collector.blower:
        assumptions.append(_by_custom(ADVERTISED, banded=False))
    if collector.basis is not None:
        return collector.basis
    if collector.blower:
        assumptions.append(_by_custom(BASIS, banded=False))
    return "fan static"


def largest_flow(collector: Collector) -> float:
    """Largest flow [m3/s] of the blower's points or its advertised maximum."""
    if collector.blower:
        return collector.blower[-1].flow_m3_s
    assert collector.advertised is not None
    return collector.advertised.flow_m3_s


def usual_part(collector: Collector, item: str) -> FlowPressure:
    """Return what is counted of a `cyclone` or `filter clean` of which nothing is known: flow [m3/s], pressure [Pa]."""
    return FlowPressure(_usual_flow(collector), fact("collector", item).value)


def _usual_flow(collector: Collector) -> float:
    if collector.usual_flow_m3_s is not None:
        return collector.usual_flow_m3_s
    return fact("collector", "rated flow share").value * largest_flow(collector)


def _usual(key: str, collector: Collector) -> Assumption:
    """Return the assumption of a part of which nothing is known."""
    return _by_custom(key, HALF_ITS_LARGEST if collector.usual_flow_m3_s is None else LARGEST_ASKED)


def _assumed_part(item: str, key: str, collector: Collector, exponent: Decided) -> RatedPart:
    return RatedPart(_usual_flow(collector), from_fact(fact("collector", item), "assumed", key), exponent, False)


def _written(point: FlowPressure, exponent: Decided, contained: bool) -> RatedPart:
    power = given(point.exponent, "as written") if point.exponent is not None else exponent
    return RatedPart(point.flow_m3_s, given(point.pressure_pa, "as written"), power, contained)


def _cyclone(collector: Collector, assumptions: list[Assumption], remarks: list[str]) -> RatedPart | None:
    square = given(SQUARE, "density times flow squared")
    contained = "cyclone" in collector.contains
    if collector.cyclone is not None:
        if contained:
            remarks.append("the cyclone is contained in the blower curve; its own row is not charged twice")
        return _written(collector.cyclone, square, contained)
    if contained or "cyclone" in collector.absent:
        return None
    if not collector.silent:
        remarks.append("cyclone not stated while the filter is: taken as not there")
        return None
    assumptions.append(_usual(CYCLONE, collector))
    return _assumed_part("cyclone", CYCLONE, collector, square)


def _filters(
    collector: Collector, cyclone: RatedPart | None, assumptions: list[Assumption], remarks: list[str]
) -> tuple[RatedPart | None, RatedPart | None]:
    exponent = from_fact(fact("collector", "filter exponent"), "assumed")
    contained = "filter clean" in collector.contains
    if "filter loaded" in collector.contains:
        return _filters_of_a_loaded_curve(collector, exponent, remarks)
    if "filter clean" in collector.absent and collector.filter_loaded is None:
        return None, None
    if collector.states("cyclone") and not collector.states(*FILTER_PARTS):
        remarks.append("filter not stated while the cyclone is: taken as not there")
        return None, None
    if contained and collector.filter_clean is not None:
        remarks.append("the clean filter is contained in the blower curve; only what loading adds is charged")
    clean = _clean_filter(collector, exponent, contained, assumptions)
    if collector.filter_loaded is not None:
        if contained and clean is None:
            raise InputError(
                [
                    Problem(
                        "the curve contains a clean filter that is not stated, so what loading adds cannot be known",
                        "add a `filter clean` row with its flow and pressure",
                        collector.filter_loaded.place,
                    )
                ]
            )
        return clean, _written(collector.filter_loaded, clean.exponent if clean else exponent, False)
    if "filter loaded" in collector.absent:
        return clean, None if clean is None else clean._replace(contained=False)
    return clean, _assumed_loaded(collector, clean, cyclone, exponent, assumptions)


def _filters_of_a_loaded_curve(
    collector: Collector, exponent: Decided, remarks: list[str]
) -> tuple[RatedPart | None, RatedPart | None]:
    """Return (clean, loaded) when the curve was taken with a loaded filter: what cleaning gains needs both rows."""
    remarks.append("the loaded filter is contained in the blower curve and is not charged twice")
    if collector.filter_loaded is None:
        return None, None
    loaded = _written(collector.filter_loaded, exponent, True)
    if collector.filter_clean is None:
        return loaded, loaded
    return _written(collector.filter_clean, exponent, False), loaded


def _clean_filter(
    collector: Collector, exponent: Decided, contained: bool, assumptions: list[Assumption]
) -> RatedPart | None:
    if collector.filter_clean is not None:
        return _written(collector.filter_clean, exponent, contained)
    if contained or "filter clean" in collector.absent:
        return None
    assumptions.append(_usual(FILTER, collector))
    return _assumed_part("filter clean", FILTER, collector, exponent)


def _assumed_loaded(
    collector: Collector,
    clean: RatedPart | None,
    cyclone: RatedPart | None,
    exponent: Decided,
    assumptions: list[Assumption],
) -> RatedPart:
    added = from_fact(fact("collector", "loaded above clean"), "assumed above the clean filter", LOADED)
    flow = cyclone.rated_flow_m3_s if cyclone else None
    if flow is None:
        flow = clean.rated_flow_m3_s if clean else _usual_flow(collector)
    assumptions.append(_by_custom(LOADED, "cyclone" if cyclone else "filter"))
    if clean is None:
        return RatedPart(flow, added, exponent, False)
    power = clean.exponent.value
    base = clean.pressure_pa.value * (flow / clean.rated_flow_m3_s) ** power
    return RatedPart(flow, added.plus(base), clean.exponent, False)


def _outlet(
    collector: Collector, outlet: tuple[HungPiece, ...], settings: Settings, junction: Junction
) -> tuple[tuple[Loss, ...], float | None, float | None]:
    if not outlet:
        return (), collector.outlet_size_m, None
    bore = collector.outlet_size_m or outlet[0].bore_m
    losses, before = [], bore
    for hung in outlet:
        if hung.bore_m != before and hung.piece.kind != "reducer":
            losses.append(reducer_loss(before, hung, junction, assumed=True))
        if hung.piece.kind != "collector":
            losses.append(piece_loss(hung, before, settings, junction))
        before = hung.bore_m
    return tuple(losses), bore, before
