"""What running costs: power at the point, energy and money, heat thrown out, filter, drum and chips in the air."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import CasePair, pairs
from ductcalc.cases.case import Case
from ductcalc.cases.figures import CollectorAnswer
from ductcalc.cases.solving import collector_of
from ductcalc.catalog import Fact, fact
from ductcalc.catalog.between import Band, scaled
from ductcalc.model.collector import ModelCollector
from ductcalc.model.decided import Decided, from_fact, given
from ductcalc.model.model import build_model
from ductcalc.physics.air import heat_of_air
from ductcalc.physics.conveying import chip_loading, cut_volume, filling_time
from ductcalc.physics.fan import air_power, power_taken, scaled_power
from ductcalc.physics.velocity import velocity, velocity_pressure
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import MachineCut, RunningSettings
from ductcalc.shop.shop import Shop

KWH_J = 3.6e6
NEAR = 1.05
"""A filter's rate up to this share of the usual one still counts as usual: flows are known no better."""

FilterWord = Literal["within", "more", "far more"]
MotorWord = Literal["overloaded", "probably overloaded", "may be overloaded", "overloaded with a bare inlet", "enough"]
Missing = Literal["hours", "tariff", "outside", "heated hours", "filter area", "cuts", "drum"]


@dataclass(frozen=True)
class RunningCase:
    """One case: what moves its air. Powers in W, energies in J, money in the shop's own.

    fan_pa: what the impeller gives, with what the curve contains; shaft power is reckoned with it. estimated: shaft
    power is not from the blower's points. energy_j, cost: of a year if every hour were like this; cost_an_hour: of one
    hour. heat_w: warmth that leaves with the air, heat_j of a year. None: not asked for, or something is missing.
    """

    case: Case
    flow_m3_s: float
    fan_pa: float
    air_w: float
    shaft_w: Band
    estimated: bool
    meter_w: Band
    cost_an_hour: Band | None
    energy_j: Band | None
    cost: Band | None
    heat_w: float | None
    heat_j: float | None


@dataclass(frozen=True)
class FilterLoad:
    """The largest flow of all cases with the dirty filter [m3/s] against its area [m2]; air through each area [m/s].

    usual: what is usual through each area [m/s]; wanted_m2: area at that rate. rate and area are None when the area
    was not said.
    """

    case: Case
    flow_m3_s: float
    area_m2: float | None
    rate_m3_s_m2: float | None
    usual: Decided
    wanted_m2: float

    @property
    def word(self) -> FilterWord | None:
        """How the rate stands to what is usual; far more is beyond its band. None without an area."""
        if self.rate_m3_s_m2 is None:
            return None
        if self.rate_m3_s_m2 <= NEAR * self.usual.value:
            return "within"
        return "more" if self.rate_m3_s_m2 <= self.usual.high else "far more"


@dataclass(frozen=True)
class CutAnswer:
    """A cut: solid wood [m3/s], its expansion, loose bulk [m3] and weight [kg] of one hour of cutting without a pause.

    full_s: time of such cutting until the drum is full [s], None without a drum. case: where the machine's air is
    taken from, None when it runs in none; loading: kilograms of chips per kilogram of that air.
    """

    cut: MachineCut
    solid_m3_s: float
    expansion: Decided
    loose_m3_an_hour: Band
    chips_kg_an_hour: Band
    full_s: Band | None
    case: Case | None
    loading: Band | None


@dataclass(frozen=True)
class Running:
    """Running figures of a check. cases: as those of the check that have an answer, loaded filter first.

    fan_efficiency: None when the blower's points tell every power. largest_w: the largest power among the blower's
    points in the shop's air, None when they tell none. heat_words: why no heat is told, "" when it is.
    unknown_inside: parts that the curve contains and no row rates, so that shaft power is estimated without them.
    usual_loading: a planer at full cut. own_blowers: machines with a blower of their own, whose power is not in it.
    missing: what must be written for more.
    """

    settings: RunningSettings
    cases: tuple[RunningCase, ...]
    fan_efficiency: Decided | None
    motor_efficiency: Decided
    unknown_inside: tuple[str, ...]
    largest_w: float | None
    inside_k: float
    warmer_k: float | None
    heat_of_air: Decided
    heat_words: Literal["", "indoors", "no answer", "missing", "not colder"]
    filter: FilterLoad | None
    wood: Decided
    cuts: tuple[CutAnswer, ...]
    usual_loading: Fact
    loading_limit: Fact
    own_blowers: tuple[str, ...]
    missing: tuple[Missing, ...]

    @property
    def loaded(self) -> tuple[RunningCase, ...]:
        """The cases with the loaded filter."""
        return tuple(one for one in self.cases if one.case.filter == "loaded")

    @property
    def hardest(self) -> RunningCase | None:
        """The case that takes the most shaft power, with either filter."""
        return max(self.cases, key=lambda one: one.shaft_w.value, default=None)

    @property
    def motor_word(self) -> MotorWord | None:
        """How the hardest case stands to the power that the motor gives; None when that was not said."""
        motor_w, hardest = self.settings.motor_w, self.hardest
        if motor_w is None or hardest is None:
            return None
        if hardest.shaft_w.low > motor_w:
            return "overloaded"
        if hardest.shaft_w.value > motor_w:
            return "probably overloaded"
        if hardest.shaft_w.high > motor_w:
            return "may be overloaded"
        beyond = self.largest_w is not None and self.largest_w > motor_w
        return "overloaded with a bare inlet" if beyond else "enough"


def running(shop: Shop, check: Check) -> Running:
    """Return the running figures of a shop at the points that its check found.

    Raises InputError when the shop has no collector.
    """
    said = shop.settings.running
    collector = collector_of(build_model(shop, check.junction))
    fan = _decided(said.fan_efficiency, "running", "fan efficiency")
    motor = _decided(said.motor_efficiency, "running", "motor efficiency")
    inside_k = said.inside_k if said.inside_k is not None else check.air.temperature_k
    outdoors = check.room.exhaust == "outdoors"
    warmer_k = _warmer(said, inside_k) if outdoors else None
    cases = tuple(
        _case(case, case.collector, collector, (said, fan, motor), (check.air.density_kg_m3, warmer_k))
        for case in check.cases
        if case.collector is not None
    )
    wood = _decided(said.wood_kg_m3, "bulk", "wood")
    return Running(
        settings=said,
        cases=cases,
        fan_efficiency=fan if any(one.estimated for one in cases) else None,
        motor_efficiency=motor,
        unknown_inside=_unknown_inside(collector),
        largest_w=_largest(collector),
        inside_k=inside_k,
        warmer_k=warmer_k,
        heat_of_air=from_fact(fact("running", "specific heat of air"), "heat of air"),
        heat_words=_heat_words(said, outdoors, warmer_k, bool(cases)),
        filter=_filter(said, cases),
        wood=wood,
        cuts=tuple(_cut(cut, wood, said, check) for cut in said.cuts),
        usual_loading=fact("chips", "loading, planer at full cut"),
        loading_limit=fact("chips", "loading limit"),
        own_blowers=tuple(one.name for one in shop.settings.machines if one.own_blower_pa),
        missing=_missing(said, outdoors, cases),
    )


def _decided(said: float | None, table: str, item: str) -> Decided:
    """Return a number as it was said, else that of the reference table."""
    return given(said, item) if said is not None else from_fact(fact(table, item), item, item)


def _case(
    case: Case,
    point: CollectorAnswer,
    collector: ModelCollector,
    how: tuple[RunningSettings, Decided, Decided],
    room: tuple[float, float | None],
) -> RunningCase:
    """Return one case; `how`: settings, fan and motor efficiency; `room`: density, and room less outdoors [K]."""
    said, fan, motor = how
    density_kg_m3, warmer_k = room
    fan_pa = _fan_pressure(case, point, collector)
    air_w = float(air_power(point.flow_m3_s, fan_pa))
    shaft_w = _through(Band(air_w, air_w, air_w), fan) if point.power_w is None else Band(*[point.power_w] * 3)
    meter_w = _through(shaft_w, motor)
    energy_j = None if said.hours_s is None else scaled(meter_w, said.hours_s)
    an_hour = None if said.tariff is None else scaled(meter_w, said.tariff * 3600.0 / KWH_J)
    heat_w = None if warmer_k is None else float(heat_of_air(point.flow_m3_s, density_kg_m3, warmer_k))
    return RunningCase(
        case=case,
        flow_m3_s=point.flow_m3_s,
        fan_pa=fan_pa,
        air_w=air_w,
        shaft_w=shaft_w,
        estimated=point.power_w is None,
        meter_w=meter_w,
        cost_an_hour=an_hour,
        energy_j=energy_j,
        cost=None if energy_j is None or said.tariff is None else scaled(energy_j, said.tariff / KWH_J),
        heat_w=heat_w,
        heat_j=None if heat_w is None or said.heated_s is None else heat_w * said.heated_s,
    )


def _fan_pressure(case: Case, point: CollectorAnswer, collector: ModelCollector) -> float:
    """Return the pressure [Pa] that the impeller gives the air: with what the curve's points contain.

    A test pipe's suction holds a VP that is no work.
    """
    made = point.blower_pa + collector.contained_pa(point.flow_m3_s, case.filter)
    bore, density = collector.collector.test_pipe_m, collector.air.density_kg_m3
    if collector.basis != "inlet suction" or bore is None:
        return made
    return made - float(velocity_pressure(density, velocity(point.flow_m3_s, bore)))


def _through(power_w: Band, efficiency: Decided) -> Band:
    """Return the power [W] that must go in for a power to come out."""
    return Band(
        float(power_taken(power_w.value, efficiency.value)),
        float(power_taken(power_w.low, efficiency.high)),
        float(power_taken(power_w.high, efficiency.low)),
    )


def _unknown_inside(collector: ModelCollector) -> tuple[str, ...]:
    """Return the parts that the curve contains and of which no row says what they take."""
    said = {part: getattr(collector.collector, part.replace(" ", "_")) for part in sorted(collector.collector.contains)}
    return tuple(part for part, rated in said.items() if rated is None)


def _largest(collector: ModelCollector) -> float | None:
    """Return the largest power [W] that the blower's points tell, in the shop's air; one point alone tells nothing."""
    powers = [point.power_w for point in collector.collector.blower if point.power_w is not None]
    if len(powers) < 2:
        return None
    return float(scaled_power(max(powers), collector.air.density_kg_m3 / collector.rated.density_kg_m3))


def _warmer(said: RunningSettings, inside_k: float) -> float | None:
    """Return by how much the room is warmer than outdoors [K], None when that is not said or not so."""
    if said.outside_k is None or said.outside_k >= inside_k:
        return None
    return inside_k - said.outside_k


def _heat_words(
    said: RunningSettings, outdoors: bool, warmer_k: float | None, any_case: bool
) -> Literal["", "indoors", "no answer", "missing", "not colder"]:
    if not outdoors:
        return "indoors"
    if not any_case:
        return "no answer"
    if warmer_k is None:
        return "missing" if said.outside_k is None else "not colder"
    return ""


def _filter(said: RunningSettings, cases: Sequence[RunningCase]) -> FilterLoad | None:
    """Return the largest flow through the dirty filter against its area, None when no case has a filter."""
    loaded = [one for one in cases if one.case.filter == "loaded"]
    filtered = [one for one in loaded if one.case.collector is not None and one.case.collector.filter_pa is not None]
    if not filtered:
        return None
    most = max(filtered, key=lambda one: one.flow_m3_s)
    usual = from_fact(fact("running", "filter rate"), "usual rate", "filter rate")
    rate = None if said.filter_m2 is None else most.flow_m3_s / said.filter_m2
    return FilterLoad(most.case, most.flow_m3_s, said.filter_m2, rate, usual, most.flow_m3_s / usual.value)


def _cut(cut: MachineCut, wood: Decided, said: RunningSettings, check: Check) -> CutAnswer:
    """Return what a cut makes, when it fills the drum, and what it puts into each kilogram of air."""
    solid = cut_volume(cut.width_m, cut.depth_m, cut.feed_m_s)
    loosening = from_fact(fact("bulk", f"{cut.makes}, expansion"), "expansion", "expansion")
    hour_m3 = float(solid) * 3600.0
    full = None
    if said.drum_m3 is not None:
        times = [float(filling_time(said.drum_m3, solid, by)) for by in _band(loosening)]
        full = Band(times[0], times[2], times[1])
    case = _case_of(cut.machine, check)
    air_m3_s = case.machine(cut.machine).flow_m3_s if case is not None else 0.0
    loading = None
    if air_m3_s > 0.0:
        chips = [float(solid) * density for density in _band(wood)]
        loading = Band(*(float(chip_loading(kg_s, air_m3_s, check.air.density_kg_m3)) for kg_s in chips))
    return CutAnswer(
        cut=cut,
        solid_m3_s=float(solid),
        expansion=loosening,
        loose_m3_an_hour=scaled(_band(loosening), hour_m3),
        chips_kg_an_hour=scaled(_band(wood), hour_m3),
        full_s=full,
        case=case,
        loading=loading,
    )


def _band(decided: Decided) -> Band:
    return Band(decided.value, decided.low, decided.high)


def _case_of(machine: str, check: Check) -> Case | None:
    """Return the case that a machine's air is taken from: alone if that was asked for, else the first it runs in."""
    running_it = [
        pair
        for pair in pairs(check)
        if pair.loaded.solved and key_of(machine) in {key_of(name) for name in pair.loaded.running}
    ]
    found: CasePair | None = min(running_it, key=lambda pair: not pair.alone, default=None)
    return None if found is None else found.loaded


def _missing(said: RunningSettings, outdoors: bool, cases: Sequence[RunningCase]) -> tuple[Missing, ...]:
    """Return what must be written for more figures, in the order of the report."""
    wanted: dict[Missing, bool] = {
        "hours": said.hours_s is None,
        "tariff": said.tariff is None,
        "outside": outdoors and said.outside_k is None,
        "heated hours": outdoors and said.outside_k is not None and said.heated_s is None,
        "filter area": said.filter_m2 is None and _filter(said, cases) is not None,
        "cuts": not said.cuts,
        "drum": bool(said.cuts) and said.drum_m3 is None,
    }
    return tuple(key for key, lacks in wanted.items() if lacks)
