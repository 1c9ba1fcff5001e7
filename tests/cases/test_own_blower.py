"""A machine with a blower of its own."""

from __future__ import annotations

import pytest

import ductcalc

POINTS = (("0 m3/h", 2600.0), ("600 m3/h", 2500.0), ("1200 m3/h", 1900.0), ("1800 m3/h", 600.0))


def _shop(more_pa: float, **settings: object) -> ductcalc.Shop:
    duct = [
        {"run": "trunk", "piece": "port", "machine": "planer", "size": "120 mm", "k": "2", "flow": "700 m3/h"},
        {"piece": "gate"},
        {"piece": "pipe", "style": "spiral", "length": "6 m"},
        {"piece": "wye", "size": "140 mm", "joins": "drop"},
        {"piece": "pipe", "style": "spiral", "length": "4 m"},
        {"piece": "collector"},
        {"run": "drop", "piece": "port", "machine": "saw", "size": "100 mm", "k": "1", "flow": "500 m3/h"},
        {"piece": "gate"},
        {"piece": "pipe", "style": "spiral", "length": "2 m"},
    ]
    points = [{"item": "blower", "flow": q, "pressure": f"{p + more_pa} Pa"} for q, p in POINTS]
    none = [{"item": item, "pressure": "none"} for item in ("cyclone", "filter clean")]
    tight = {"gates": {"leak": 0.0}, "method": {"joint_leakage": "none"}, "collector": {"curve": "fan static"}}
    still = {"air": {"density": "1.2014 kg/m3", "viscosity": "1.82e-5 Pa s"}}
    return ductcalc.shop_from_rows(duct=duct, collector=points + none, settings={**tight, **still, **settings})


def _air(shop: ductcalc.Shop, *machines: str) -> dict[str, float]:
    case = ductcalc.check(shop, [ductcalc.Ask.machines(*machines)]).cases[0]
    assert case.audit is not None and max(case.audit.pressure, case.audit.mass, case.audit.blower) <= 1e-8
    return {m.machine: m.flow_m3_s for m in case.machines}


def test_alone_it_helps_as_much_as_a_stronger_collector() -> None:
    pushed = _shop(0.0, machines={"planer": {"own_blower": "150 Pa"}})
    assert _air(pushed, "planer")["planer"] == pytest.approx(_air(_shop(150.0), "planer")["planer"], rel=1e-9)


def test_it_takes_air_from_the_machine_beside_it() -> None:
    plain, pushed = _shop(0.0), _shop(0.0, machines={"planer": {"own_blower": "150 Pa"}})
    before, after = _air(plain, "planer", "saw"), _air(pushed, "planer", "saw")
    assert after["planer"] > before["planer"]
    assert after["saw"] < before["saw"]


def test_it_stands_still_while_its_gate_is_shut() -> None:
    plain, pushed = _shop(0.0), _shop(0.0, machines={"planer": {"own_blower": "150 Pa"}})
    assert _air(pushed, "saw") == _air(plain, "saw")


def test_it_stands_still_where_its_machine_only_helps_with_air() -> None:
    gates = {"leak": 0.0, "sets": {"sawing": {"open": ["saw", "planer"], "helpers": ["planer"]}}}
    flows = []
    for machines in ({}, {"planer": {"own_blower": "150 Pa"}}):
        made = _shop(0.0, gates=gates, machines=machines)
        case = ductcalc.check(made, [ductcalc.Ask.gate_set("sawing")]).cases[0]
        flows.append({m.machine: m.flow_m3_s for m in case.machines})
    assert flows[0]["planer"] > 0.0
    assert flows[1] == flows[0]


def test_the_suction_needed_at_the_wanted_flow_falls_by_what_it_pushes() -> None:
    plain, pushed = _shop(0.0), _shop(0.0, machines={"planer": {"own_blower": "150 Pa"}})
    ask = [ductcalc.Ask.machines("planer")]
    before, after = (ductcalc.check(s, ask).cases[0].wanted.suction_total_pa for s in (plain, pushed))
    assert before - after == pytest.approx(150.0, rel=1e-9)
