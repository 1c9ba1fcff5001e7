"""What a healthy system reads: the same figures as the bill of losses, at every tap, with a band."""

from __future__ import annotations

import math
import os
from dataclasses import replace

import numpy as np
import pytest

from ductcalc import check, losses, read_shop
from ductcalc.answers.expect import Expected, expect
from ductcalc.cases.choices import Ask, every_machine_alone
from ductcalc.cases.solving import solve_choices
from ductcalc.cases.taps import Taps, TapTable
from ductcalc.errors import InputError
from ductcalc.model.model import build_model
from tests.answers.diagnose.planted import NAMES, drawn
from tests.answers.diagnose.small_solver import read
from tests.scenes import end, gate, hose, pipe, points, port, rated, run, shop, wye
from tests.typed import ROOT

SHOPS = 300 if os.environ.get("DUCTCALC_LONG") == "1" else 10
TABLE = [
    *points(("0 m3/s", "2600 Pa"), ("0.3 m3/s", "1900 Pa"), ("0.55 m3/s", "10 Pa")),
    rated("filter clean", "0.25 m3/s", "500 Pa"),
]


def two_drops(**settings: object):  # type: ignore[no-untyped-def]
    main = run("main", port("saw", "100 mm"), hose("1.5 m", count=0), gate(), pipe("5 m"))
    main += [wye("drop", "150 mm"), pipe("6 m", "150 mm"), end("150 mm")]
    drop = run("drop", port("planer", "100 mm"), hose("1.5 m"), gate(), pipe("3 m"))
    return shop(main, drop, table=TABLE, **settings)


def at(taps: tuple[Expected, ...], where: str, case: str) -> Expected:
    return next(tap for tap in taps if tap.where == where and tap.case == case)


@pytest.mark.parametrize("machine", ["saw", "planer"])
@pytest.mark.parametrize("friction", ["colebrook", "handbook"])
def test_a_tap_reads_the_running_static_of_the_bill(machine: str, friction: str) -> None:
    """Behind every piece with length, at the collector's inlet and behind the gate."""
    found = two_drops(method={"friction": friction})
    bill = losses(found, machine=machine)
    model = build_model(found)
    taps, name = Taps(model), bill.run
    walked, places, wanted = 0.0, [], []
    for row in bill.rows:
        if row.group in ("hose", "pipe", "gate") and row.section.startswith(name) and row.bore_m < 0.11:
            walked += row.length_m
            places.append(taps.gate(name) if row.group == "gate" else taps.at(name, walked))
            wanted.append(row.running_static_pa)
    places.append(taps.inlet)
    wanted.append(next(row.running_static_pa for row in bill.rows if row.group == "inlet"))
    batch = solve_choices(model, [c for c in every_machine_alone(model) if c.name == machine], ("loaded",))
    read = TapTable(model, tuple(places)).at(lambda decided: decided.value, batch.state.shut, batch.solved)
    assert read.static_pa[:, 0] == pytest.approx(wanted, rel=1e-8)
    assert len(wanted) == 4


def test_the_filter_takes_its_law_at_the_flow_of_the_collector() -> None:
    found = expect(two_drops(), [Ask.machines("saw")])
    inlet = at(found.taps, "collector inlet", "saw")
    flow = inlet.speed_m_s * math.pi / 4.0 * 0.15**2
    assert at(found.taps, "filter", "saw").static_pa == pytest.approx(500.0 * flow / 0.25, rel=2e-3)


def test_a_shut_gate_parts_the_mains_suction_from_the_rooms_pressure() -> None:
    found = expect(two_drops(), [Ask.machines("saw")])
    assert at(found.taps, "port drop", "saw").static_pa < 5.0
    assert at(found.taps, "gate drop", "saw").static_pa == pytest.approx(
        at(found.taps, "end drop", "saw").static_pa, abs=3.0
    )
    tight = expect(two_drops(gates={"leak": 0}), [Ask.machines("saw")])
    assert at(tight.taps, "port drop", "saw").static_pa == 0.0
    assert at(tight.taps, "gate drop", "saw").static_pa > 300.0


def test_a_port_reads_one_and_k_velocity_pressures() -> None:
    """At a hood SP = (1 + K) VP; the tube on the axis shows the VP of the faster middle."""
    main = run("main", port("saw", "100 mm", k=1.5), hose("2 m"), gate(), end("100 mm"))
    tap = at(expect(shop(main, table=TABLE)).taps, "port main", "saw")
    density = build_model(shop(main, table=TABLE)).air.density_kg_m3
    vp = 0.5 * density * tap.speed_m_s**2
    assert tap.static_pa == pytest.approx(2.5 * vp, rel=1e-6)
    assert tap.axis_vp_pa == pytest.approx(vp / 0.85**2, rel=1e-6)


def test_the_band_holds_the_reading_and_narrows_when_the_machine_is_stated() -> None:
    taps = expect(two_drops()).taps
    assert all(tap.low_pa <= tap.static_pa <= tap.high_pa for tap in taps)
    main = run("main", port("saw", "100 mm", drop="900 Pa at 20 m/s"), hose("1.5 m"), gate(), pipe("5 m"), end())
    stated = at(expect(shop(main, table=TABLE)).taps, "port main", "saw")
    main[0] = {**port("saw", "100 mm"), "run": "main"}
    open_ = at(expect(shop(main, table=TABLE)).taps, "port main", "saw")
    assert open_.high_pa - open_.low_pa > 1.5 * (stated.high_pa - stated.low_pa)


def test_taps_stand_in_the_order_of_the_walk_with_every_case() -> None:
    found = expect(two_drops())
    order = list(dict.fromkeys(tap.where for tap in found.taps))
    assert order == ["port main", "main at 1.5 m", "gate main", "port drop", "drop at 1.5 m", "gate drop", "end drop",
                     "collector inlet", "filter"]  # fmt: skip
    assert {tap.case for tap in found.taps if tap.where == "filter"} == {"saw", "planer"}


def test_a_shop_without_a_collector_is_refused() -> None:
    with pytest.raises(InputError, match="has no blower curve"):
        expect(shop(run("main", port("saw", "100 mm"), pipe("2 m"), end()), table=()))


def test_no_reading_is_told_past_the_end_of_the_blowers_points() -> None:
    """The points reach beyond the air of one drop alone, not to that of both."""
    made = two_drops()
    asks = [Ask.machines("saw"), Ask.everything()]
    clean = [case.collector for case in check(made, asks).cases if case.filter == "clean"]
    one, both = (collector.flow_m3_s for collector in clean if collector)
    kept = tuple(point for point in made.collectors[0].blower if point.flow_m3_s < both)
    assert kept[-1].flow_m3_s > one
    found = expect(replace(made, collectors=(replace(made.collectors[0], blower=kept),)), asks)
    assert {tap.case for tap in found.taps} == {"saw"} and found.unsolved == ("all open",)


def test_the_same_shop_gives_the_same_bands_every_time() -> None:
    found = read_shop(ROOT / "examples/creamery")
    assert expect(found) == expect(found)


def test_bands_hold_eight_of_ten_planted_truths() -> None:
    """Shops drawn as their numbers may be off, solved by other means. Taps of a shop go together: shops count."""
    inside = []
    for seed in range(500, 500 + SHOPS):
        written, truth = drawn(np.random.default_rng(seed), stated=seed % 2 == 0)
        static = read(truth, frozenset({0})).static
        taps = expect(written, [Ask.machines(NAMES[0])]).taps
        for name, where in (("port 0", "port main"), ("gate 0", "gate main"), ("collector inlet", "collector inlet")):
            tap = at(taps, where, NAMES[0])
            inside.append(tap.low_pa <= static[name] <= tap.high_pa)
    assert sum(inside) / len(inside) >= 0.8 - 2.6 * (0.16 / SHOPS) ** 0.5
