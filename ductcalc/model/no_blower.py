"""A model whose blower gives nothing: what it lacks at a flow is the fan static pressure that one must give there."""

from __future__ import annotations

from dataclasses import replace

from ductcalc.model.collector import CYCLONE, FILTER, LOADED, ModelCollector, model_collector
from ductcalc.model.model import Model, written_collector
from ductcalc.shop.shop import Collector, FlowPressure


def without_blower(model: Model, largest_m3_s: float) -> Model:
    """Return the model with cyclone, filter and outlet behind the ducts, and a blower that gives nothing.

    All parts count of which a loss is known, also those that a curve contains. largest_m3_s: flow at which parts that
    nobody wrote are rated where there is no curve to tell another.
    """
    named = None if model.collector is None else model.collector.name
    written = written_collector(model.shop, model.hanging, named) or Collector("collector")
    unknown = (part for part in written.contains if getattr(written, part.replace(" ", "_")) is None)
    usual = None if written.has_curve else largest_m3_s
    bare = replace(written, basis="fan static", contains=frozenset(unknown), usual_flow_m3_s=usual)
    decided = _modelled(model, bare)
    assumed = tuple(one for one in decided.assumptions if one.key in (CYCLONE, FILTER, LOADED))
    return replace(model, collector=replace(decided, assumptions=assumed, gives_nothing=True))


def with_blower_through(model: Model, flow_m3_s: float, fan_static_pa: float) -> Model:
    """Return such a model with a blower that gives just this fan static pressure [Pa] at this flow.

    Its curve is a straight line that ends at three times the flow.
    """
    parts = model.collector
    assert parts is not None
    rated_pa = fan_static_pa * parts.rated.density_kg_m3 / model.air.density_kg_m3
    line = (FlowPressure(0.0, 1.5 * rated_pa), FlowPressure(3.0 * flow_m3_s, 0.0))
    return replace(model, collector=_modelled(model, replace(parts.collector, blower=line, advertised=None)))


def _modelled(model: Model, collector: Collector) -> ModelCollector:
    return model_collector(collector, model.hanging.outlet, model.air, model.shop.settings, model.junction)
