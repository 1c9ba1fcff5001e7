"""Random small shops with a planted fault: what they are written as, what they truly are, what is read in them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ductcalc.shop import Shop
from ductcalc.shop.readings import Reading
from ductcalc.tables.readings import read_readings
from tests.answers.diagnose.small_solver import Drop, Network, read, with_drop
from tests.scenes import end, gate, hose, pipe, points, port, rated, run, shop, wye

KINDS = (
    "leak", "gate not closing", "gate not opening", "plug", "hose kinked or longer", "port blocked", "filter loaded",
    "blower slow", "bin leak",
)  # fmt: skip
BORES = (0.1, 0.125)
MAIN = 0.15
NAMES = ("saw", "planer", "jointer", "sander", "router")


@dataclass(frozen=True)
class Planted:
    """A shop as written and as it is: healthy, and with the fault; kind and place of the fault (None: healthy)."""

    shop: Shop
    healthy: Network
    now: Network
    kind: str | None
    where: str | None
    size: float | None
    readings: tuple[Reading, ...]


def _off(draw: np.random.Generator, low: float, value: float, high: float) -> float:
    z = float(np.clip(draw.normal(), -2.5, 2.5))
    return value * ((high if z > 0 else low) / value) ** (abs(z) / 2.0)


def drawn(draw: np.random.Generator, stated: bool) -> tuple[Shop, Network]:
    """Draw a shop and its truth. stated: the machines' resistances are written."""
    count = int(draw.integers(2, 6))
    bores = [float(draw.choice(BORES)) for _ in range(count)]
    hoses, pipes = draw.uniform(0.8, 2.5, count).round(2), draw.uniform(2.0, 7.0, count).round(2)
    mains = draw.uniform(1.5, 5.0, count - 1).round(2)
    top, most = float(draw.uniform(2200, 3200)), float(draw.uniform(0.5, 0.75))
    curve = [(q * most, top * (1 - q**2)) for q in (0.0, 0.25, 0.5, 0.75, 0.9, 1.0)]
    filter_pa = float(draw.uniform(300, 600))
    known = [round(float(draw.uniform(0.8, 4.0)), 2) if stated else None for _ in range(count)]
    rows = []
    for d in range(count):
        rows.append([
            port(NAMES[d], f"{bores[d] * 1000:g} mm", k=known[d]), hose(f"{hoses[d]} m", count=1), gate(),
            pipe(f"{pipes[d]} m"),
        ])  # fmt: skip
    main = rows[0]
    for m in range(count - 1):
        main = [*main, wye(f"drop {m + 1}", f"{MAIN * 1000:g} mm"), pipe(f"{mains[m]} m", f"{MAIN * 1000:g} mm")]
    table = [
        *points(*((f"{q} m3/s", f"{max(p, 1.0)} Pa") for q, p in curve)),
        rated("filter clean", "0.25 m3/s", f"{filter_pa} Pa"),
        {"item": "cyclone", "flow": "1 m3/s", "pressure": "none"},
    ]
    written = shop(run("main", *main, end()), *(run(f"drop {d}", *rows[d]) for d in range(1, count)), table=table)
    factor, bend, gap = _off(draw, 1.5, 2.4, 4.0), _off(draw, 0.3, 0.5, 1.0), _off(draw, 0.001, 0.01, 0.03)
    drops = tuple(
        Drop(bores[d], _off(draw, known[d] / 1.2, known[d], known[d] * 1.2) if known[d] else _off(draw, 0.5, 2.75, 5.2),
             float(hoses[d]), factor, bend, float(pipes[d]), gap=gap)
        for d in range(count)
    )  # fmt: skip
    cloth, speed = filter_pa * _off(draw, 1 / 1.3, 1.0, 1.3), 1.0 + 0.02 * float(draw.normal())
    points_ = tuple((q, max(p, 1.0)) for q, p in curve)
    truth = Network(drops, tuple((float(m), MAIN) for m in mains), points_, cloth, 0.25, speed=speed)
    return written, truth


def planted(seed: int, kind: str | None, baseline: bool, stated: bool = False, every_tap: bool = True) -> Planted:
    """Draw a shop, plant a fault of a kind, read it in two cases (three with baseline), with noise."""
    draw = np.random.default_rng(seed)
    written, truth = drawn(draw, stated)
    count = len(truth.drops)
    first, second = (int(x) for x in draw.permutation(count)[:2])
    now, where, size = faulty(draw, truth, kind, first, second)
    opens = [frozenset({first}), frozenset({second})]
    rows: list[dict[str, str]] = []
    bias: dict[Any, float] = {}
    if baseline:
        rows += rows_of(draw, truth, opens, "2026-01-10", "yes", bias, every_tap)
    rows += rows_of(draw, now, opens, "2026-03-10", "", bias, every_tap)
    return Planted(written, truth, now, kind, where, size, read_readings(rows, written))


def faulty(
    draw: np.random.Generator, net: Network, kind: str | None, first: int, second: int
) -> tuple[Network, str | None, float | None]:
    """Return a network with a fault near the machines that are read, where it is, and its size."""
    name = "main" if first == 0 else f"drop {first}"
    last = len(net.mains) - 1
    in_main = bool(draw.random() < 0.3)
    main = max(first - 1, 0)
    if kind is None:
        return net, None, None
    if kind == "leak":
        share = float(draw.uniform(0.15, 0.45))
        if in_main:
            return replace(net, main_hole={main: share}), f"main {main + 2}", share
        return with_drop(net, first, hole=share), f"{name} 1", share
    if kind == "plug":
        share = float(draw.uniform(0.15, 0.5))
        if in_main:
            return replace(net, main_left={main: share}), f"main {main + 2}", share
        return with_drop(net, first, pipe_left=share), f"{name} 1", share
    if kind == "gate not opening":
        share = float(draw.uniform(0.15, 0.5))
        return with_drop(net, first, gate_open=share), name, share
    if kind == "gate not closing":
        share = float(draw.uniform(0.2, 0.95))
        other = next((d for d in range(len(net.drops)) if d not in (first, second)), second)
        return with_drop(net, other, gap=share), "main" if other == 0 else f"drop {other}", share
    if kind == "hose kinked or longer":
        times = float(draw.uniform(3.0, 15.0))
        return with_drop(net, first, hose_factor=net.drops[first].hose_factor * times), name, times
    if kind == "port blocked":
        share = float(draw.uniform(0.2, 0.45))
        return with_drop(net, first, narrowed=share), NAMES[first], share
    if kind == "filter loaded":
        times = float(draw.uniform(2.0, 5.0))
        return replace(net, filter_pa=net.filter_pa * times), "filter", times
    if kind == "blower slow":
        speed = float(draw.uniform(0.7, 0.9))
        return replace(net, speed=net.speed * speed), "blower", speed
    assert kind == "bin leak" and last >= 0
    share = float(draw.uniform(0.15, 0.45))
    return replace(net, bin_hole=share), "collector", share


INSTRUMENTS = {"u-tube": (20.0, 0.0), "digital gauge": (2.0, 0.01), "inclined tube": (3.0, 0.03)}


def rows_of(  # type: ignore[no-untyped-def]
    draw: np.random.Generator, net: Network, opens, when: str, healthy: str, bias, every_tap: bool
) -> list[dict[str, str]]:
    instrument = str(draw.choice(list(INSTRUMENTS)))
    fixed, share = INSTRUMENTS[instrument]
    rows = []
    for open_ in opens:
        found = read(net, open_)
        (machine,) = open_
        taps = [f"port {machine}", f"gate {machine}", f"end {machine}", "collector inlet", "filter"]
        for tap in taps if every_tap else taps[:1] + taps[2:]:
            if tap == "end 0":
                where = None
            elif tap[-1].isdigit():
                word, number = tap.split()
                where = f"{word} {'main' if number == '0' else f'drop {number}'}"
            else:
                where = tap
            if where is None:
                continue
            own = bias.setdefault((tap, open_), float(draw.normal(0.0, 0.04)))
            value = found.static[tap] * (1.0 + own + float(draw.normal(0.0, 0.02)))
            value += float(draw.normal(0.0, 0.5 * np.hypot(fixed, share * value)))
            rows.append({"when": when, "open": NAMES[machine], "where": where, "value": f"{max(value, 0.0):.1f} Pa",
                         "instrument": instrument, "healthy": healthy})  # fmt: skip
    return rows
