"""The collector: filter cleaned, outlet outdoors or back, faster blower."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from ductcalc.answers.improve.candidate import WHOLE, Candidate
from ductcalc.cases.solving import collector_of
from ductcalc.model.collector import FilterState, usual_part
from ductcalc.model.model import Model
from ductcalc.physics.fan import scaled_flow, scaled_power, scaled_pressure
from ductcalc.shop.change import Change
from ductcalc.shop.names import key_of
from ductcalc.shop.shop import FILTER_PARTS, Collector, FlowPressure, Shop

FASTER = 1.1
"""Speed of the wheel over the present one that is tried."""
LOADED: FilterState = "loaded"


def whole_shop(model: Model) -> Iterator[Candidate]:
    """Yield what is changed at the collector, of a shop that is spelled out."""
    yield from _clean_filter(model)
    yield from _outlet(model)
    yield _faster(model)


def _clean_filter(model: Model) -> Iterator[Candidate]:
    collector = collector_of(model)
    if collector.filter_at("loaded") != collector.filter_at("clean"):
        step = Change("filter cleaned", lambda shop: shop)
        yield Candidate("clean filter", step, "state", "loaded", "clean", touches=frozenset(["filter"]), filter="clean")


def _outlet(model: Model) -> Iterator[Candidate]:
    collector, room = collector_of(model), model.shop.settings.room
    charged = collector.filter_clean is not None or collector.filter_loaded is not None
    inside = any(part is not None and part.contained for part in (collector.filter_clean, collector.filter_loaded))
    outlet = next((run for run in model.shop.runs if run.is_outlet), None)
    if outlet is not None and charged:
        step = without_outlet(collector.collector.name)
        yield Candidate(
            "no outlet duct", step, "state", "outlet duct", "none", outlet.name, rank=WHOLE, touches=frozenset(["out"])
        )
    if room.exhaust != "outdoors" and charged and not inside:
        step = without_filter(collector.collector.name)
        touched = frozenset(["out", "filter"])
        yield Candidate("outdoors", step, "state", "indoors", "outdoors", rank=WHOLE, touches=touched)


def without_outlet(name: str) -> Change:
    """Take the outlet duct off: the air is blown into the room behind the filter."""

    def apply(shop: Shop) -> Shop:
        bore = next(run.pieces[0].size_m for run in shop.runs if run.is_outlet)
        room = replace(shop.settings.room, exhaust="indoors")
        off = replace(
            shop,
            runs=tuple(run for run in shop.runs if not run.is_outlet),
            settings=replace(shop.settings, room=room),
        )
        return _collector(off, name, lambda c: c if c.outlet_size_m else replace(c, outlet_size_m=bore))

    return Change("outlet duct taken off", apply)


def without_filter(name: str) -> Change:
    """Blow the air outdoors, without a filter; a cyclone that was assumed stays."""

    def bare(collector: Collector) -> Collector:
        cyclone = usual_part(collector, "cyclone") if collector.silent else collector.cyclone
        absent = collector.absent | FILTER_PARTS
        return replace(collector, cyclone=cyclone, filter_clean=None, filter_loaded=None, absent=absent)

    def apply(shop: Shop) -> Shop:
        room = replace(shop.settings.room, exhaust="outdoors")
        return _collector(replace(shop, settings=replace(shop.settings, room=room)), name, bare)

    return Change("exhaust outdoors without a filter", apply)


def _faster(model: Model) -> Candidate:
    name = collector_of(model).collector.name
    return Candidate(
        "faster blower", faster_blower(name, FASTER), "share", 1.0, FASTER, rank=WHOLE, touches=frozenset(["blower"])
    )


def faster_blower(name: str, ratio: float) -> Change:
    """Turn a collector's wheel faster by a ratio [1]: the fan laws scale flow, pressure and power of every point.

    What the points contain (cyclone, filter) is scaled with them, which holds for what goes with the flow's square.
    """

    def point(one: FlowPressure) -> FlowPressure:
        return replace(
            one,
            flow_m3_s=float(scaled_flow(one.flow_m3_s, ratio)),
            pressure_pa=float(scaled_pressure(one.pressure_pa, 1.0, ratio)),
            power_w=None if one.power_w is None else float(scaled_power(one.power_w, 1.0, ratio)),
        )

    def faster(collector: Collector) -> Collector:
        advertised = None if collector.advertised is None else point(collector.advertised)
        return replace(collector, blower=tuple(map(point, collector.blower)), advertised=advertised)

    return Change(f"blower turned {100.0 * (ratio - 1.0):g} % faster", lambda shop: _collector(shop, name, faster))


def _collector(shop: Shop, name: str, change: Callable[[Collector], Collector]) -> Shop:
    """Return the shop with one collector changed."""
    same = key_of(name)
    return replace(shop, collectors=tuple(change(c) if key_of(c.name) == same else c for c in shop.collectors))
