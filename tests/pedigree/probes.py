"""What is made of the reference tables, in a form that differs when a number in it does."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ductcalc
from ductcalc.answers.diagnose.diagnose import diagnose
from ductcalc.answers.expect import expect
from ductcalc.catalog import (
    branch_entry,
    elbow,
    gate_part_open,
    hood_entry,
    inside_of,
    lengths_sold,
    materials,
    pipe_weight,
    roughness,
    sizes_sold,
    styles,
    transport_speed,
)
from ductcalc.catalog.fact import to_si
from ductcalc.catalog.machines import machine_kinds
from ductcalc.report.check.sentences import verdict
from ductcalc.report.display import Display
from ductcalc.report.expect import expect_blocks
from ductcalc.report.render import Page, rendered
from ductcalc.shop.piece import Piece
from ductcalc.tables.cells import wall
from ductcalc.tables.readings import GAUGES, read_readings
from tests import scenes as s

PLANTED = Path(__file__).parents[1] / "planted"
BORES_M = (0.075, 0.1, 0.125, 0.15, 0.2, 0.23, 0.3, 0.38, 0.5, 0.6)
INCHES, MILLIMETRES = (3.5, 4.215, 4.5, 6.275, 6.625), (75.0, 90.0, 110.0, 125.0, 160.0, 200.0)
OUTSIDE = [*((size, "in") for size in INCHES), *((size, "mm") for size in MILLIMETRES)]
BESIDE = (
    {"kind": "velocity pressure", "value": "1.1 inwg", "instrument": "pitot tube"},
    {"kind": "speed", "value": "19 m/s", "instrument": "vane"},
    {"kind": "speed", "value": "19 m/s", "instrument": "hot wire"},
    {"where": "motor", "kind": "current", "value": "11 A", "instrument": "clamp meter"},
)
"""Readings that are no suctions, on the day of the fault with the last machine open."""
RADII = (None, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5)
ANGLES_DEG = (15, 20, 30, 45, 60, 75, 90, 120, 150, 180)

Probe = Callable[[], str]


def coefficients() -> str:
    """Every coefficient that the model can take from rows by angle, radius, bore or opening."""
    facts = [elbow(style, r, a, d) for style in styles("elbow") for r in RADII for a in ANGLES_DEG for d in BORES_M]
    facts += [hood_entry(style, angle) for style in styles("port") for angle in (None, *range(0, 181, 15))]
    facts += [branch_entry(float(angle)) for angle in range(0, 91, 5)]
    facts += [gate_part_open(part / 16) for part in range(1, 17)]
    facts += [roughness(style) for style in styles("pipe")]
    facts += [transport_speed(material) for material in materials()]
    return repr([(each.value, each.low, each.high) for each in facts])


def sold() -> str:
    """Every size, length, weight, gauge and inside diameter of what is sold."""
    made = [*styles("pipe"), "hose", "air hole"]
    inside = [inside_of(Piece("pipe", style="plastic"), to_si(size, unit)) for size, unit in OUTSIDE]
    walls = [wall(f"{gauge} gauge") for gauge in range(22, 31, 2)]
    weights = [pipe_weight(bore) for bore in BORES_M]
    return repr([[[sizes_sold(make), lengths_sold(make)] for make in made], inside, walls, weights])


def first_layout() -> str:
    """The air that each kind of machine starts from."""
    return repr([kind.fact.value for kind in machine_kinds().values()])


def _little_known(junction: str, joints: str) -> ductcalc.Shop:
    """Build a shop that leaves to the tables whatever it can."""
    main = s.run(
        "main",
        s.port("saw", "4 in", flow=None),
        s.hose("5 ft", count=None),
        s.gate(),
        s.pipe("12 ft", rise="6 ft"),
        s.reducer("5 in"),
        s.wye("drop", "6 in"),
        s.pipe("20 ft"),
        s.elbow(),
        s.end(),
    )
    drop = s.run("drop", s.port("planer", "5 in", inlet="30 in2"), s.gate(), s.hose("4 ft"), s.pipe("6 ft"))
    table = s.points(*s.STRONG)
    return s.shop(main, drop, table=table, method={"junction": junction, "joint_leakage": joints})


def reports() -> str:
    """What check tells of shops that leave to the tables whatever they can."""
    kinds = [("momentum", joints) for joints in ("sealed", "taped", "unsealed", "none")]
    kinds += [("handbook", "sealed"), ("factored", "sealed")]
    shops = [_advertised(), ductcalc.read_shop(s.EXAMPLES / "creamery"), *(_little_known(*kind) for kind in kinds)]
    answers = [ductcalc.check(shop) for shop in shops]
    return repr([(answer, verdict(answer, Display("inch"))) for answer in answers])


def _advertised() -> ductcalc.Shop:
    main = s.run("main", s.port("saw", "4 in"), s.pipe("12 ft"), s.end())
    return s.shop(main, table=[s.rated("advertised", "1000 cfm", "10 inwg")])


def changes() -> str:
    """What is advised to change, in both systems of units."""
    return repr([ductcalc.improve(_long_hose(*sizes)).gains for sizes in (("4 in", "9 ft"), ("100 mm", "3 m"))])


def _long_hose(size: str, length: str) -> ductcalc.Shop:
    rows = s.port("saw", size, flow="900 cfm"), s.hose(length, size=size), s.pipe(length), s.end()
    return s.shop(s.run("main", *rows))


def purchases() -> str:
    """What is bought, what it costs to run, and what sizes and changes are advised, in both systems of units."""
    shops = [ductcalc.read_shop(s.EXAMPLES / "creamery"), ductcalc.read_shop(s.EXAMPLES / "one-machine")]
    said = [[ductcalc.parts(shop), ductcalc.running(shop, ductcalc.check(shop)), ductcalc.size(shop)] for shop in shops]
    return repr(said)


def findings() -> str:
    """What is found in every planted shop and its clean twin."""
    folders = sorted(path for name in ("planted", "clean") for path in PLANTED.glob(f"*/{name}"))
    return repr([ductcalc.check(ductcalc.read_shop(folder)).findings for folder in folders])


def diagnosis() -> str:
    """What is made of a log of readings, taken by each kind of gauge, of one that does not fit the shop and of one with
    two faults; and the sheets to read by.
    """
    shop, folder = ductcalc.read_shop(s.EXAMPLES / "creamery"), s.EXAMPLES / "creamery"
    lines = [line for line in (folder / "readings.csv").read_text("utf-8").splitlines() if not line.startswith("#")]
    log = [{key: cell for key, cell in row.items() if cell} for row in csv.DictReader(lines)]
    taken = [[{**row, "instrument": gauge} for row in log] for gauge in GAUGES]
    taken += [[*log, {"where": "end sander drop", **row}] for row in BESIDE]
    logs = [read_readings(rows, shop) for rows in taken]
    logs.append(tuple(replace(reading, value=1.4 * reading.value) for reading in read_readings(log, shop)))
    logs.append(read_readings([*log[:-3], {**log[-3], "value": "3 inwg"}, *log[-2:]], shop))
    shops = (shop, ductcalc.read_shop(s.EXAMPLES / "one-machine"))
    sheets = [rendered(expect_blocks(expect(one), Display("inch")), Page(100)) for one in shops]
    return repr([diagnose(shop, readings) for readings in logs]) + "".join(sheets)
