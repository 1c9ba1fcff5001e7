"""Published and constructed whole sheets, rebuilt as shops."""

from __future__ import annotations

import math
from typing import ClassVar

import pytest

import ductcalc
from ductcalc import Ask
from ductcalc.cases.figures import WantedAnswer
from ductcalc.shop import Shop
from tests.scenes import (
    NO_PARTS,
    Rows,
    elbow,
    end,
    hose,
    other,
    piece,
    pipe,
    points,
    port,
    rated,
    run,
    shop,
    tight,
    wye,
)

FLAT = [*points(("0 m3/h", "6000 Pa"), ("20000 m3/h", "6000 Pa")), *NO_PARTS]
DAPA = 10.0


def wanted(made: Shop, *machines: str) -> WantedAnswer:
    ask = Ask.machines(*machines) if machines else Ask.everything()
    return ductcalc.check(made, [ask]).loaded[0].wanted


class TestConstantVelocitySheet:
    """A wood shop's sheet at 25 m/s in every duct, total pressure in daPa (worked example 19)."""

    DENSITY, EPSILON_MM, SPEED = 1.204, 0.09144, 25.0
    VP = 0.5 * DENSITY * SPEED**2
    HOOD_PA, SEPARATOR_PA = 300.0, 1000.0
    ELBOW, JUNCTION = 0.16, 0.17

    def circuit(self) -> Shop:
        """Rebuild the path from A: each junction one machine more, whose air brings the main to 25 m/s again."""
        rough = {"roughness": f"{self.EPSILON_MM} mm"}
        flow = "25 m/s"

        def join(name: str, size: str) -> dict[str, object]:
            return wye(name, size, k=self.JUNCTION)

        return tight(
            run(
                "A",
                port("A", "140 mm", flow=flow, k=self.HOOD_PA / self.VP),
                hose("1.5 m", factor="2.5"),
                pipe("3.5 m", **rough),
                elbow(k=self.ELBOW),
                pipe("10 m", **rough),
                join("B", "220 mm"),
                pipe("7 m", **rough),
                join("C", "240 mm"),
                pipe("6 m", **rough),
                join("D", "300 mm"),
                pipe("6 m", **rough),
                end(),
            ),
            run("B", port("B", f"{math.sqrt(220**2 - 140**2)!r} mm", flow=flow, k=0)),
            run("C", port("C", f"{math.sqrt(240**2 - 220**2)!r} mm", flow=flow, k=0)),
            run("D", port("D", "180 mm", flow=flow, k=0)),
            run("outlet", end("300 mm"), elbow(k=self.ELBOW), pipe("6 m", **rough)),
            table=[
                *points(("0 m3/h", "6000 Pa"), ("20000 m3/h", "6000 Pa")),
                rated("cyclone", f"{self.SPEED * math.pi / 4 * 0.3**2!r} m3/s", f"{self.SEPARATOR_PA} Pa"),
                *NO_PARTS[1:],
            ],
            air={"density": f"{self.DENSITY} kg/m3", "viscosity": "1.82e-5 Pa s"},
            collector={"curve": "fan static", "density": f"{self.DENSITY} kg/m3"},
        )

    def total_dapa(self) -> float:
        """Return what the blower has to give, the VP that leaves included: its 6000 Pa less the margin, and one VP."""
        found = wanted(self.circuit())
        assert found.worst_machine == "A"
        assert found.margin_pa is not None
        return (6000.0 - found.margin_pa + self.VP) / DAPA

    def test_with_own_friction_it_comes_to_the_recomputed_total(self) -> None:
        assert self.total_dapa() == pytest.approx(350.1, abs=0.5)

    def test_it_stays_within_seven_percent_of_the_printed_total(self) -> None:
        assert self.total_dapa() == pytest.approx(343.52, rel=0.07)

    def test_circuit_c_needs_more_than_a_offers_at_their_junction(self) -> None:
        """With the sheet's own friction rates: C 179.69 daPa against 144.73 daPa of A."""
        rates = {"A": (17.745 + 16.555 + 47.30 + 20.23) * DAPA, "C": (25.31 + 23.63 + 94.50) * DAPA}
        vp = 0.5 * 1.25 * 25.0**2
        junction_1 = 6.64 * DAPA / vp
        bend = 6.25 * DAPA / vp
        made = tight(
            run(
                "A",
                port("A", "140 mm", flow="25 m/s", k=300 / vp),
                other(rates["A"] / vp),
                elbow(k=bend),
                other(junction_1),
                wye("C", "172.0465 mm", k=0),
                end(),
            ),
            run("C", port("C", "100 mm", flow="25 m/s", k=300 / vp), other(rates["C"] / vp), elbow(k=bend)),
            table=FLAT,
            air={"density": "1.25 kg/m3"},
        )
        found = wanted(made)
        needs = {p.machine: p.suction_total_pa / DAPA for p in found.paths}
        assert needs == pytest.approx({"A": 144.73, "C": 179.69}, abs=0.02)
        assert found.worst_machine == "C"


class TestSevenSegmentNetwork:
    """Three hoods, coefficients as on the sheet (worked example 20); what arrives at B has lost 1 or 2 and 3."""

    # segment: bore in mm, and total pressure of the sheet in Pa at the flow in m3/h
    SEGMENTS: ClassVar = {
        "1": (120, 854.2, 800),
        "2": (170, 514.0, 1500),
        "3": (210, 202.2, 2300),
        "4": (280, 398.8, 4000),
        "5": (360, 33.3, 6300),
    }

    def k(self, segment: str) -> float:
        bore, pressure, flow = self.SEGMENTS[segment]
        return pressure / (0.6 * (flow / 3600 / (math.pi / 4 * (bore / 1000) ** 2)) ** 2)

    def made(self, table: Rows = FLAT) -> Shop:
        def hood(number: str) -> dict[str, object]:
            bore, _, flow = self.SEGMENTS[number]
            return port(f"hood {number}", f"{bore} mm", flow=f"{flow} m3/h", k=self.k(number))

        return tight(
            run(
                "one",
                hood("1"),
                wye("two", "210 mm", k=0),
                other(self.k("3")),
                wye("four", "360 mm", k=0),
                other(self.k("5")),
                end(),
            ),
            run("two", hood("2")),
            run("four", hood("4")),
            table=table,
            air={"density": "1.2 kg/m3"},
        )

    def test_what_comes_through_3_is_compared_with_all_that_it_has_lost(self) -> None:
        found = wanted(self.made())
        needs = {p.machine: p.suction_total_pa for p in found.paths}
        assert needs["hood 1"] == pytest.approx(854.2 + 202.2 + 33.3, abs=0.15)
        assert needs["hood 2"] == pytest.approx(514.0 + 202.2 + 33.3, abs=0.15)
        assert needs["hood 4"] == pytest.approx(398.8 + 33.3, abs=0.15)

    def test_4_is_reported_unbalanced_against_1_and_3(self) -> None:
        found = wanted(self.made())
        over = {p.machine: p.excess_pa for p in found.paths}
        assert found.worst_machine == "hood 1"
        assert over["hood 4"] == pytest.approx(854.2 + 202.2 - 398.8, abs=0.15)
        assert over["hood 2"] == pytest.approx(854.2 - 514.0, abs=0.15)

    def test_unbalanced_branches_take_too_much_in_the_real_flow(self) -> None:
        weak = [*points(("0 m3/h", "1500 Pa"), ("20000 m3/h", "500 Pa")), *NO_PARTS]
        case = ductcalc.check(self.made(weak), [Ask.everything()]).loaded[0]
        shares = {m.machine: m.share for m in case.machines}
        assert shares["hood 4"] > shares["hood 2"] > shares["hood 1"]


class TestEqualInlets:
    """Four equal inlets into one main (worked example 23): their loss is counted once, not four times."""

    def made(self) -> Shop:
        vp_inlet = 0.6 * (0.2 / (math.pi / 4 * 0.15**2)) ** 2
        vp_main = 0.6 * (0.8 / (math.pi / 4 * 0.3**2)) ** 2
        inlet = port("one", "150 mm", flow="0.2 m3/s", k=471.4 / vp_inlet)
        copies = [
            run(name, piece("like", machine=name, joins="first", flow="0.2 m3/s")) for name in ("two", "three", "four")
        ]
        return tight(
            run(
                "main",
                wye("first + two", "300 mm", k=0),
                wye("three + four", "300 mm", k=0),
                other(213.1 / vp_main),
                end(),
            ),
            run("first", inlet),
            *copies,
            table=FLAT,
            air={"density": "1.2 kg/m3"},
        )

    def test_parallel_inlets_are_counted_once(self) -> None:
        found = wanted(self.made())
        assert found.flow_m3_s == pytest.approx(0.8, rel=1e-9)
        assert [p.suction_total_pa for p in found.paths] == pytest.approx([684.5] * 4, abs=0.1)

    def test_alike_inlets_share_alike(self) -> None:
        case = ductcalc.check(self.made(), [Ask.everything()]).loaded[0]
        flows = [m.flow_m3_s for m in case.machines]
        assert flows == pytest.approx([flows[0]] * 4, rel=1e-9)


class TestTheDocumentedTable:
    """The duct table that the documentation shows."""

    def made(self) -> Shop:
        return shop(
            run(
                "trunk",
                port("band saw", "4 in", style="flanged", flow="400 cfm"),
                hose("5 ft", count=1, size="4 in"),
                piece("gate", "4 in"),
                pipe("9 ft", "4 in"),
                piece("reducer", "5 in"),
                wye("sander drop", "6 in", angle="45"),
                pipe("22 ft", "6 in"),
                elbow("6 in", angle="90", count=2),
                end("6 in"),
            ),
            run(
                "sander drop",
                port("thickness sander", "5 in", style="tapered", flow="550 cfm"),
                piece("gate", "5 in"),
                pipe("7 ft 6 in", "5 in"),
            ),
        )

    def test_it_has_two_machines_and_three_sections(self) -> None:
        case = ductcalc.check(self.made()).loaded[0]
        assert [m.machine for m in case.machines] == ["band saw", "thickness sander"]
        assert sorted(s.section for s in case.sections) == ["sander drop 1", "trunk 1", "trunk 2"]

    def test_the_band_saw_is_the_farthest_and_the_sander_the_greediest(self) -> None:
        found = ductcalc.check(self.made(), [Ask.everything()])
        assert found.farthest.machine == "band saw"
        assert found.farthest.length_m == pytest.approx(36 * 0.3048)
        assert found.greediest.machine == "thickness sander"

    def test_its_audit_passes(self) -> None:
        cases = ductcalc.check(self.made(), [Ask.everything()]).cases
        assert cases
        for case in cases:
            assert case.audit is not None and case.audit.pressure <= 1e-8
