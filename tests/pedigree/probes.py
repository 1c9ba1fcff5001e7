"""What is made of the reference tables, in a form that differs when a number in it does."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import ductcalc
from ductcalc.answers.diagnose.diagnose import diagnose
from ductcalc.answers.expect import expect
from ductcalc.answers.first_layout import first_layout as laid_out
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
from ductcalc.shop.settings import Settings
from ductcalc.tables.cells import wall
from ductcalc.tables.machines import read_machines
from ductcalc.tables.readings import GAUGES, READS, read_readings, usual_uncertainty
from tests import scenes as s
from tests.typed import typed

PLANTED = Path(__file__).parents[1] / "planted"
BORES_M = (0.075, 0.1, 0.125, 0.15, 0.2, 0.23, 0.3, 0.38, 0.5, 0.6)
INCHES, MILLIMETRES = (3.5, 4.215, 4.5, 6.275, 6.625), (75.0, 90.0, 110.0, 125.0, 160.0, 200.0)
OUTSIDE = [*((size, "in") for size in INCHES), *((size, "mm") for size in MILLIMETRES)]
RADII = (None, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5)
ANGLES_DEG = (15, 20, 30, 45, 60, 75, 90, 120, 150, 180)

TWO_FAULTS = {("2026-04-02", "filter"): "3.2 inwg", ("2026-04-02", "collector inlet"): "8.6 inwg"}

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
    """The air that each kind of machine starts from, and the main that a list of machines gets."""
    rows = [
        {"machine": name, "along": along, "port": "6 in", "flow": "785 cfm", "height": "5 ft"}
        for name, along in (("saw", "6 ft"), ("planer", "24 ft"), ("jointer", "40 ft"))
    ]
    laid = [laid_out(read_machines([{**row, "port": port} for row in rows]), Settings()) for port in ("4 in", "6 in")]
    return repr([[kind.fact.value for kind in machine_kinds().values()], laid])


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


def bills() -> str:
    """What is bought of metric pipe, left-overs and wyes of usual angles, and what each kind of cut leaves."""
    metric = ductcalc.read_shop(s.EXAMPLES / "joinery-class")
    usual = [
        s.shop(s.run("main", s.port("saw", "4 in"), s.wye("drop", angle=angle), s.pipe("7 ft"), s.end()), drop)
        for angle in ("45", "90")
        for drop in [s.run("drop", s.port("planer", "4 in"), s.gate(), s.pipe("3 ft"))]
    ]
    cut = {"width": "12 in", "depth": "1/16 in", "feed": "20 ft/min"}
    cutting = [_one(running={"cuts": {"saw": {**cut, "makes": made}}, "drum": "55 gal"}) for made in styles("bulk")]
    said = [ductcalc.running(shop, ductcalc.check(shop)) for shop in cutting]
    bought = [ductcalc.parts(shop) for shop in (metric, *usual)]
    return repr([[(parts, parts.seldom) for parts in bought], said])


def sizes() -> str:
    """What size chooses where a change of size is hardly worth its taper."""
    main = s.run(
        "main",
        s.port("saw", "100 mm", flow="700 m3/h"),
        s.hose("1 m"),
        s.pipe("2 m"),
        s.wye("planer drop", "120 mm"),
        s.pipe("1 m"),
        s.wye("jointer drop", "140 mm"),
        s.pipe("4 m"),
        s.end(),
    )
    planer = s.run("planer drop", s.port("planer", "100 mm", flow="1100 m3/h"), s.gate(), s.pipe("4 m"))
    jointer = s.run("jointer drop", s.port("jointer", "120 mm", flow="1100 m3/h"), s.gate(), s.pipe("2 m"))
    return repr(ductcalc.size(s.shop(main, planer, jointer, report={"units": "metric"})))


def _one(*rows: s.Row, saw: s.Row | None = None, table: s.Rows | None = None, **settings: Any) -> ductcalc.Shop:
    """Build one machine on its own run."""
    run = s.run("main", saw or s.port("saw", "4 in"), *(rows or (s.pipe("12 ft"),)), s.end())
    return s.shop(run, table=table or s.points(*s.STRONG), **settings)


def near_limits() -> str:
    """What is found in shops on both sides of each limit that no planted shop is near."""
    weak = s.points(("0 cfm", "9 inwg"), ("800 cfm", "1 inwg"))
    shops = [_one(saw=s.port("saw", "4 in", k=k)) for k in ("0.02", "0.1")]
    shops += [_one(s.hose(length)) for length in ("1 m", "5 m", "30 m")]
    shops += [_one(saw=s.port("saw", size, flow="150 cfm"), table=weak) for size in ("2.9 in", "2.97 in")]
    shops += [_one(s.pipe("3 ft", rise="3 ft"), s.pipe("10 ft", rise=rise)) for rise in ("0.5 ft", "2 ft", "3.5 ft")]
    shops += [_one(table=s.points(("0 cfm", "10 inwg"), ("800 cfm", at))) for at in ("2 inwg", "9.5 inwg")]
    shops += [_one(table=s.points(("0 cfm", "24 kPa"), (most, "1 kPa"))) for most in ("200 cfm", "350 cfm")]
    strong = s.points(("0 cfm", "15 kPa"), ("1500 cfm", "1 kPa"))
    shops += [_one(table=[*strong, s.rated("cyclone", "500 cfm", drop)]) for drop in ("3 kPa", "5 kPa", "9 kPa")]
    bulged = [10.0, 9.7, 9.2, 7.5, 7.6, 6.4, 5.4]
    shops.append(_one(table=s.points(*((f"{200 * n} cfm", f"{at} inwg") for n, at in enumerate(bulged)))))
    shared = [s.port("saw", "100 mm"), s.port("planer", "100 mm")]
    for length in ("2 m", "3.5 m", "7 m"):
        run = s.run("main", *shared, s.hose(length), s.pipe("4 m"), s.end())
        shops.append(s.shop(run, table=s.points(*s.STRONG), report={"units": "metric"}))
    return repr([ductcalc.check(shop).findings for shop in shops])


def thin_air() -> str:
    """What check tells of air that is thinner than that of the curve."""
    return repr([ductcalc.check(_one(air={"altitude": f"{metres} m"})) for metres in (100, 600, 1000, 4000)])


def gauges() -> str:
    """What each gauge is worth, where it reads what it is made for."""
    return repr([[usual_uncertainty(kind, gauge, 20.0) for kind in kinds] for gauge, kinds in READS.items()])


def pages() -> str:
    """What is printed of the taps of a shop, and of what is sure where the blower's curve is advertised."""
    expected = typed("expect", s.EXAMPLES / "creamery")
    sure = typed("check", PLANTED / "advertised-figures" / "planted", "--full")
    return expected.stdout + sure.stdout


def findings() -> str:
    """What is found in every planted shop and its clean twin."""
    folders = sorted(path for name in ("planted", "clean") for path in PLANTED.glob(f"*/{name}"))
    return repr([ductcalc.check(ductcalc.read_shop(folder)).findings for folder in folders])


def diagnosis() -> str:
    """What is made of a log of readings, taken by each kind of gauge."""
    shop, folder = ductcalc.read_shop(s.EXAMPLES / "creamery"), s.EXAMPLES / "creamery"
    lines = [line for line in (folder / "readings.csv").read_text("utf-8").splitlines() if not line.startswith("#")]
    log = [{key: cell for key, cell in row.items() if cell} for row in csv.DictReader(lines)]
    taken = [[{**row, "instrument": gauge} for row in log] for gauge in GAUGES]
    two = [{**row, "value": TWO_FAULTS.get((row.get("when"), row["where"]), row["value"])} for row in dated(log)]
    logs = [read_readings(rows, shop) for rows in (*taken, two)]
    logs.append(tuple(replace(reading, value=1.4 * reading.value) for reading in read_readings(log, shop)))
    sheet = rendered(expect_blocks(expect(shop), Display("inch")), Page(100))
    return repr([diagnose(shop, readings) for readings in logs]) + sheet


def dated(log: Sequence[Mapping[str, str]]) -> Iterator[dict[str, str]]:
    """Yield the rows of a log, each with its date."""
    when = ""
    for row in log:
        when = row.get("when", when)
        yield {**row, "when": when}
