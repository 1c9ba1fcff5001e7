"""How hard a machine is to breathe through, and how much air it is to get."""

from __future__ import annotations

import math

import pytest

import ductcalc
from ductcalc.answers.check import Check
from ductcalc.catalog import hood_entry
from ductcalc.model.decided import Decided
from ductcalc.model.model import Model, ModelPort, build_model
from tests.scenes import CFM, end, piece, pipe, port, run, shop, wye

INCH = 0.0254
PORT_AREA = math.pi / 4 * (4 * INCH) ** 2


def model(settings: dict[str, object] | None = None, **cells: object) -> Model:
    row = piece("port", "4 in", machine="saw", **cells)
    return build_model(shop(run("trunk", row, pipe("6 ft"), end()), **(settings or {})))


def port_k(settings: dict[str, object] | None = None, **cells: object) -> Decided:
    found = model(settings, **cells).sections[0].heads[0][0].k
    assert found is not None
    return found


def wanted(**cells: object) -> ModelPort:
    return model(**cells).ports[0]


@pytest.mark.parametrize(("suction", "k"), [("550 Pa", 1.29), ("900 Pa", 2.75), ("1200 Pa", 4.0), ("1500 Pa", 5.25)])
def test_a_stated_static_suction_includes_one_velocity_pressure(suction: str, k: float) -> None:
    assert port_k(drop=f"{suction} at 20 m/s").value == pytest.approx(k, abs=0.005)


def test_a_stated_drop_may_be_given_at_a_flow() -> None:
    speed = 400 * CFM / PORT_AREA
    expected = 900 / (0.6 * speed**2) - 1
    assert port_k(drop="900 Pa at 400 cfm").value == pytest.approx(expected, rel=1e-12)


def test_a_drop_of_total_pressure_is_not_reduced() -> None:
    assert port_k(drop="900 Pa total at 20 m/s").value == pytest.approx(900 / 240)


def test_a_static_suction_below_one_velocity_pressure_is_refused() -> None:
    with pytest.raises(ductcalc.InputError):
        model(drop="100 Pa at 20 m/s")


def test_a_free_inlet_area_is_an_opening_and_a_flush_entry() -> None:
    free = 12 * INCH**2
    expected = (PORT_AREA / (0.6 * free)) ** 2 + 0.5
    assert port_k(inlet="12 in2").value == pytest.approx(expected, rel=1e-12)


def test_a_free_inlet_area_with_a_style_takes_that_entry() -> None:
    free = 12 * INCH**2
    expected = (PORT_AREA / (0.6 * free)) ** 2 + 0.93
    assert port_k(inlet="12 in2", style="plain").value == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("style", "k"), [("plain", 0.93), ("flanged", 0.49), ("straight take-off", 0.65), ("bellmouth", 0.04)]
)
def test_a_bare_opening_has_the_entry_of_its_shape_and_is_assumed_to_be_an_open_mouth(style: str, k: float) -> None:
    found = port_k(style=style)
    assert (found.value, found.low, found.high) == (k, hood_entry(style).low, 2.75)
    assert found.assumed == "open mouth"


@pytest.mark.parametrize("known", [{"drop": "900 Pa at 20 m/s"}, {"k": "1"}, {"inlet": "12 in2"}])
def test_of_a_machine_that_is_known_no_open_mouth_is_assumed(known: dict[str, str]) -> None:
    assert port_k(style="plain", **known).assumed is None


def test_an_open_mouth_is_listed_with_its_air_as_it_is_and_as_an_unknown_machine() -> None:
    def answer(**cells: object) -> Check:
        return ductcalc.check(shop(run("trunk", port("saw", "4 in", **cells), pipe("9 ft"), end())))

    open_mouth, unknown = answer(style="bellmouth"), answer()
    (worth,) = (one for one in open_mouth.assumptions if one.assumption.key == "open mouth")
    assert worth.assumption.where == ("saw",)
    assert worth.low_m3_s is not None and worth.low_m3_s > open_mouth.loaded[0].machine("saw").flow_m3_s
    assert worth.high_m3_s == pytest.approx(unknown.loaded[0].machine("saw").flow_m3_s, rel=1e-9)


def test_mouths_of_several_shapes_are_one_assumption_with_all_their_sources() -> None:
    drop = run("drop", port("sander", "4 in", style="straight take-off"), pipe("6 ft"))
    trunk = run("trunk", port("saw", "4 in", style="plain"), pipe("9 ft"), wye("drop", "6 in"), end())
    (found,) = (one for one in build_model(shop(trunk, drop)).assumptions if one.key == "open mouth")
    assert set(found.where) == {"saw", "sander"}
    assert "ACGIH" in found.source and "29 CFR 1910.94" in found.source


def test_a_taper_goes_by_its_angle() -> None:
    assert port_k(style="tapered", angle="60").value == 0.08
    assert port_k(style="tapered").value == port_k(style="tapered", angle="30").value


def test_nothing_known_is_275_with_a_band_and_marked() -> None:
    found = port_k()
    assert (found.value, found.low, found.high) == (2.75, 0.5, 5.2)
    assert found.assumed == "machine resistance"


def test_the_settings_may_say_what_an_unknown_machine_takes() -> None:
    found = port_k({"method": {"machine_k": 4.0}})
    assert (found.value, found.assumed) == (4.0, None)


@pytest.mark.parametrize("k", [0, 0.7, 9])
def test_an_own_coefficient_replaces_everything_and_zero_is_a_value(k: float) -> None:
    found = port_k(k=k, drop="900 Pa at 20 m/s", inlet="12 in2", style="plain")
    assert (found.value, found.low, found.high, found.assumed) == (k, k, k, None)


def test_air_wanted_as_a_flow() -> None:
    found = wanted(flow="350 cfm")
    assert (found.wanted_m3_s, found.wanted_assumed) == (pytest.approx(350 * CFM, rel=1e-12), False)


def test_air_wanted_as_a_speed_in_its_own_port() -> None:
    found = wanted(flow="25 m/s")
    assert (found.wanted_m3_s, found.wanted_assumed) == (pytest.approx(25 * PORT_AREA, rel=1e-12), False)


def test_air_wanted_by_default_is_20_m_s_and_marked() -> None:
    found = wanted()
    assert (found.wanted_m3_s, found.wanted_assumed) == (pytest.approx(20 * PORT_AREA, rel=1e-12), True)


def test_a_set_may_want_another_flow() -> None:
    made = shop(
        run("trunk", port("saw", "4 in", flow="400 cfm"), end()),
        gates={"sets": {"gently": {"open": ["saw"], "flow": {"saw": "150 cfm"}}}},
    )
    found = ductcalc.check(made)
    assert [c.machine("saw").wanted_m3_s / CFM for c in found.loaded] == pytest.approx([400, 150])


def test_material_is_the_ports_then_the_machines_then_the_shops() -> None:
    machines = {"machines": {"saw": {"material": "damp chips"}}, "material": {"default": "fine dust"}}
    assert model({}).ports[0].material == "dry chips"
    assert model({"material": {"default": "fine dust"}}).ports[0].material == "fine dust"
    assert model(machines).ports[0].material == "damp chips"
    assert model(machines, material="dry chips").ports[0].material == "dry chips"
