"""Running figures as a JSON document: SI units, the unit at the end of every key."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.running import CutAnswer, FilterLoad, Running, RunningCase
from ductcalc.catalog import Fact
from ductcalc.catalog.between import Band
from ductcalc.model.decided import Decided
from ductcalc.report.json_text import fields_of


def running_document(running: Running) -> dict[str, Any]:
    """Return the running figures as nested plain values."""
    said = running.settings
    return {
        "hours_a_year_s": said.hours_s,
        "tariff_per_kwh": said.tariff,
        "currency": said.currency or None,
        "motor_power_w": said.motor_w,
        "motor": running.motor_word,
        "fan_efficiency": None if running.fan_efficiency is None else _decided(running.fan_efficiency),
        "motor_efficiency": _decided(running.motor_efficiency),
        "unknown_in_curve": list(running.unknown_inside),
        "largest_power_of_points_w": running.largest_w,
        "cases": [_case(one) for one in running.cases],
        "heat": {
            "not_told_because": running.heat_words or None,
            "inside_k": running.inside_k,
            "outside_k": said.outside_k,
            "warmer_k": running.warmer_k,
            "heated_hours_a_year_s": said.heated_s,
        },
        "filter": None if running.filter is None else _filter(running.filter),
        "drum_m3": said.drum_m3,
        "wood_kg_m3": _decided(running.wood),
        "cuts": [_cut(cut) for cut in running.cuts],
        "usual_loading": _fact(running.usual_loading),
        "loading_limit": _fact(running.loading_limit),
        "own_blowers_not_counted": list(running.own_blowers),
        "missing": list(running.missing),
    }


def _band(band: Band | None) -> dict[str, float] | None:
    return None if band is None else {"value": band.value, "low": band.low, "high": band.high}


def _decided(decided: Decided) -> dict[str, Any]:
    return fields_of(decided, "value", "low", "high", "source")


def _fact(fact: Fact) -> dict[str, Any]:
    return {**fields_of(fact, "value", "low", "high", "confidence"), "source": fact.cited}


def _case(one: RunningCase) -> dict[str, Any]:
    return {
        "name": one.case.name,
        "filter": one.case.filter,
        **fields_of(one, "flow_m3_s", "fan_pa", "air_w"),
        "shaft_w": _band(one.shaft_w),
        "estimated": one.estimated,
        "meter_w": _band(one.meter_w),
        "cost_an_hour": _band(one.cost_an_hour),
        "energy_a_year_j": _band(one.energy_j),
        "cost_a_year": _band(one.cost),
        "heat_w": one.heat_w,
        "heat_a_year_j": one.heat_j,
    }


def _filter(load: FilterLoad) -> dict[str, Any]:
    return {
        "case": load.case.name,
        "filter": load.case.filter,
        **fields_of(load, "flow_m3_s", "area_m2", "rate_m3_s_m2", "wanted_m2", "word"),
        "usual_m3_s_m2": _decided(load.usual),
    }


def _cut(cut: CutAnswer) -> dict[str, Any]:
    return {
        **fields_of(cut.cut, "machine", "width_m", "depth_m", "feed_m_s", "makes"),
        "solid_m3_s": cut.solid_m3_s,
        "expansion": _decided(cut.expansion),
        "loose_in_an_hour_m3": _band(cut.loose_m3_an_hour),
        "chips_in_an_hour_kg": _band(cut.chips_kg_an_hour),
        "drum_full_s": _band(cut.full_s),
        "case": None if cut.case is None else cut.case.name,
        "loading_kg_kg": _band(cut.loading),
    }
