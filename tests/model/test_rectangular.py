"""Rectangular duct in a shop: losses by hand and by another library, audited, and round where it must be."""

from __future__ import annotations

import math

import fluids
import pytest

import ductcalc
from ductcalc.answers.losses import LossRow, losses
from ductcalc.answers.size.sizing import size
from ductcalc.errors import InputError
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from ductcalc.shop.bore import Rectangle, sides
from ductcalc.tables.stock import read_stock
from tests import scenes as s

WIDE, HIGH = 10 * 0.0254, 4 * 0.0254


def behind_the_beam(*rows: s.Row, method: dict[str, object] | None = None) -> Shop:
    flat = rows or (s.reducer("10 x 4 in"), s.pipe("12 ft", style=""), s.reducer("6 in"), s.pipe("5 ft"))
    main = s.run("main", s.port("saw", "5 in", k=1.5), s.gate(), s.pipe("6 ft"), *flat, s.end())
    return s.shop(main, method={"joint_leakage": "none", **(method or {})})


def row(shop: Shop, label: str) -> LossRow:
    return next(one for one in losses(shop).rows if label in one.label)


def test_friction_is_that_of_another_library_on_the_hydraulic_diameter() -> None:
    shop = behind_the_beam()
    found, air = row(shop, "rectangular"), build_model(shop).air
    speed = found.flow_m3_s / (WIDE * HIGH)
    across = 4 * WIDE * HIGH / (2 * (WIDE + HIGH))
    reynolds = fluids.Reynolds(V=speed, D=across, rho=air.density_kg_m3, mu=air.viscosity_pa_s)
    factor = fluids.friction.Colebrook(reynolds, 0.0003 * 0.3048 / across)
    assert found.velocity_m_s == pytest.approx(speed)
    wanted = factor * 12 * 0.3048 / across * air.density_kg_m3 * speed**2 / 2
    assert found.loss_pa == pytest.approx(wanted, rel=1e-9)
    assert "hydraulic diameter" in found.reason and "ASHRAE" in found.source


def test_a_duct_by_hand() -> None:
    """300 x 100 mm, 1080 m3/h: 10 m/s, D 150 mm, Re 98 900 at 1.2 kg/m3, f 0.0208 (0.09 mm): 8.32 Pa/m."""
    flat = (s.reducer("300 x 100 mm"), s.pipe("10 m", style=""))
    main = s.run("main", s.port("saw", "160 mm", k=1), s.gate(), *flat, s.end())
    air = {"density": "1.2 kg/m3", "viscosity": "1.82e-5 Pa s"}
    fall = s.points(("0 m3/h", "3000 Pa"), ("1079.99 m3/h", "2000 Pa"), ("1080.01 m3/h", "0 Pa"))
    shop = s.tight(main, table=[*fall, *s.NO_PARTS], air=air)
    found = row(shop, "rectangular")
    assert found.velocity_m_s == pytest.approx(10.0, rel=1e-4)
    assert found.loss_pa / 10.0 == pytest.approx(8.32, abs=0.01)


def test_tapers_go_by_the_true_areas() -> None:
    found = [one for one in losses(behind_the_beam()).rows if one.group == "reducer"]
    five, area = math.pi / 4 * 0.127**2, WIDE * HIGH
    widening = 2.6 * math.sin(math.radians(15)) * (1 - five / area) ** 2
    assert found[0].coefficient == pytest.approx(widening)
    assert found[0].velocity_m_s == pytest.approx(found[0].flow_m3_s / five)
    assert "areas" in found[0].reason


def test_joints_leak_by_the_perimeter() -> None:
    model = build_model(behind_the_beam())
    (section,) = model.sections
    flat = 2 * (WIDE + HIGH) * 12 * 0.3048
    round_ones = math.pi * 0.127 * 6 * 0.3048 + math.pi * 0.1524 * 5 * 0.3048
    assert section.surfaces_m2[0] == pytest.approx(flat + round_ones)


@pytest.mark.parametrize("friction", ["colebrook", "handbook"])
def test_solver_and_audit_agree_on_it(friction: str) -> None:
    shop = behind_the_beam(method={"friction": friction, "joint_leakage": "taped"})
    found = ductcalc.check(shop)
    assert found.loaded
    assert all(case.solved and case.audit is not None and case.audit.pressure < 1e-8 for case in found.loaded)


def test_a_blank_size_carries_on_from_rectangular_pipe_to_pipe_and_collector() -> None:
    model = build_model(behind_the_beam(s.reducer("10 x 4 in"), s.pipe("3 ft"), s.pipe("4 ft")))
    assert model.sections[0].end_bore_m == Rectangle(WIDE, HIGH)
    assert ductcalc.check(model.shop).loaded[0].solved


@pytest.mark.parametrize(
    ("text", "wide_m", "high_m"),
    [
        ("10 x 4 in", WIDE, HIGH),
        ('10" x 4', WIDE, HIGH),
        ("10 in x 4 in", WIDE, HIGH),
        ("250×100 mm", 0.25, 0.1),
        ("250 mm x 100", 0.25, 0.1),
        ("12 1/2 x 3 1/4 in", 12.5 * 0.0254, 3.25 * 0.0254),
        ("10 in x 100 mm", WIDE, 0.1),
    ],
)
def test_sides_are_read_with_the_unit_on_either(text: str, wide_m: float, high_m: float) -> None:
    shop = behind_the_beam(s.reducer(text), s.pipe("3 ft"))
    assert sides(shop.runs[0].pieces[3].size_m) == pytest.approx((wide_m, high_m))


@pytest.mark.parametrize(
    ("rows", "column", "said"),
    [
        ((s.reducer("10 x 4"),), "size", "unit"),
        ((s.reducer("10 x 4 x 2 in"),), "size", "number"),
        ((s.reducer("10 x 0 in"),), "size", "bore"),
        ((s.elbow("10 x 4 in"),), "size", "an elbow is round"),
        ((s.gate("10 x 4 in"),), "size", "a gate is round"),
        ((s.hose("3 ft", size="10 x 4 in"),), "size", "a hose is round"),
        ((s.reducer("10 x 4 in"), s.elbow()), "size", "elbow is round"),
        ((s.reducer("10 x 4 in"), s.hose("3 ft")), "size", "hose is round"),
    ],
)
def test_what_must_be_round_asks_for_it(rows: tuple[s.Row, ...], column: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        behind_the_beam(*rows)
    (problem,) = caught.value.problems
    assert problem.place is not None and problem.place.column == column
    assert said in problem.message and problem.hint


@pytest.mark.parametrize("side", ["main", "drop", "wye", "port"])
def test_wyes_and_ports_ask_for_round_duct(side: str) -> None:
    flat = [s.reducer("8 x 3 in"), s.pipe("2 ft")]
    main = s.run(
        "main",
        s.port("saw", "8 x 3 in" if side == "port" else "4 in"),
        *(flat if side == "main" else [s.pipe("2 ft", "4 in")]),
        s.wye("drop", "8 x 3 in" if side == "wye" else "5 in"),
        s.pipe("4 ft", "5 in"),
        s.end(),
    )
    drop = s.run("drop", s.port("planer", "4 in"), *(flat if side == "drop" else [s.pipe("2 ft")]))
    with pytest.raises(InputError, match="round"):
        s.shop(main, drop)


def test_parts_buy_it_by_its_sides_and_take_it_from_stock() -> None:
    shop = behind_the_beam()
    stock = read_stock([{"piece": "pipe", "size": "10 x 4 in", "length": "12 ft"}])
    for have, buy in (((), True), (stock, False)):
        item = next(one for one in ductcalc.parts(shop, have).items if one.name.style == "rectangular")
        assert sides(item.name.sizes_m[0]) == pytest.approx((WIDE, HIGH))
        assert bool(item.buy) == buy
    reducers = [one.name.sizes_m for one in ductcalc.parts(shop).items if one.name.kind == "reducer"]
    assert [[sides(end) is not None for end in ends] for ends in reducers] == [[False, True], [False, True]]


def test_sizes_leave_it_as_written() -> None:
    main = s.run("main", s.port("saw", "5 in", k=1.5), s.gate(), s.pipe("9 ft"), s.wye("drop", "6 in"), s.pipe("9 ft"),
                 s.reducer("10 x 4 in"), s.pipe("12 ft"), s.end())  # fmt: skip
    drop = s.run("drop", s.port("planer", "5 in", k=2.0), s.gate(), s.pipe("9 ft"))
    found = size(s.shop(main, drop))
    held = next(one for one in found.stretches if one.stretch == "main 2")
    assert (held.held, held.sizes_m) == ("rectangular", ())
