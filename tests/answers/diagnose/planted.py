"""Random small shops with a planted fault: what they are written as, what they truly are, what is read in them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from ductcalc.answers.diagnose.faults import (
    ALTITUDES_M,
    GAPS,
    HOSE_TIMES,
    LEAKS,
    LEFT_OPEN,
    LOADED,
    REVERSED,
    SLOW,
    TORN,
)
from ductcalc.shop import Shop
from ductcalc.shop.readings import Reading
from ductcalc.tables.readings import read_readings
from tests.answers.diagnose.small_solver import Drop, Network, read, with_drop
from tests.scenes import end, gate, hose, pipe, points, port, rated, run, shop, wye

KINDS = (
    "leak", "gate not closing", "gate not opening", "plug", "hose kinked or longer", "port blocked", "filter loaded",
    "blower slow", "bin leak",
)  # fmt: skip
SELDOM = ("filter torn", "blower reversed", "wrong size", "altitude forgotten")
WITHOUT_BASELINE = ("wrong size", "altitude forgotten")
"""What cannot have come about since a healthy time."""
PLANTED = {
    "leak": (0.15, 0.45), "plug": (0.15, 0.5), "gate not opening": (0.15, 0.5), "gate not closing": (0.2, 0.95),
    "hose kinked or longer": (3.0, 15.0), "port blocked": (0.2, 0.45), "filter loaded": (2.0, 5.0),
    "blower slow": (0.7, 0.9), "bin leak": (0.15, 0.45), "filter torn": (0.1, 0.4), "blower reversed": (0.4, 0.6),
    "wrong size": (0.0, 0.0), "altitude forgotten": (1200.0, 2500.0),
}  # fmt: skip
"""Sizes between which a fault is planted, large enough to be seen; of wrong sizes the smaller one."""
GRIDS = {
    "leak": LEAKS, "plug": LEFT_OPEN, "gate not opening": LEFT_OPEN, "gate not closing": GAPS,
    "hose kinked or longer": HOSE_TIMES, "port blocked": LEFT_OPEN, "filter loaded": LOADED, "blower slow": SLOW,
    "bin leak": LEAKS, "filter torn": TORN, "blower reversed": REVERSED, "wrong size": (0.5,),
    "altitude forgotten": ALTITUDES_M,
}  # fmt: skip
"""Sizes that the program holds equally likely, step by step."""
SMALLER_AND_LARGER = {0.1: (0.08, 0.12), 0.125: (0.1, 0.14)}
"""Sizes sold beside a bore; the machine's own loss stays that of its port."""
SCALE_HEIGHT_M = 8435.0
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


class Noise(NamedTuple):
    """Standard deviations, by ratio, of what a calculation is off: at a tap always, there in one case, each time."""

    tap: float = 0.0
    case: float = 0.04
    again: float = 0.02


MOST_DRAWN, SAME_KIND = 100, 10
"""Faults drawn until one shows, and how many of a kind one after the other."""
USUAL, AS_STATED = Noise(), Noise(0.05 * 0.6**0.5, 0.05 * 0.4**0.5, 0.05 / 2.0**0.5)
"""What table `measuring` says of a calculation (`model`, `kept at a tap`) and of a repeated reading (`repeat`)."""


def planted(seed: int, kind: str | None, baseline: bool, stated: bool = False, every_tap: bool = True) -> Planted:
    """Draw a shop, plant a fault of a kind, read it in two cases (three with baseline), with noise."""
    draw = np.random.default_rng(seed)
    written, truth = drawn(draw, stated)
    first, second = (int(x) for x in draw.permutation(len(truth.drops))[:2])
    found = faulty(draw, truth, kind, first, second, float(draw.uniform(*PLANTED[kind])) if kind else 0.0)
    return _read(draw, written, truth, (kind, *found), (first, second), USUAL, baseline, every_tap)


def as_stated(seed: int, baseline: bool) -> Planted:
    """Draw a shop whose fault, its size and all noise come as often as the program says; one that shows nowhere is
    drawn again, and one that never shows is another kind.
    """
    draw = np.random.default_rng(seed)
    written, truth = drawn(draw, stated=seed % 3 == 0)
    first, second = (int(x) for x in draw.permutation(len(truth.drops))[:2])
    kinds = [kind for kind in GRIDS if not (baseline and kind in WITHOUT_BASELINE)]
    kind: str | None = None
    found: tuple[Network, str | None, float | None] = truth, None, None
    for number in range(0 if draw.random() < 0.5 else MOST_DRAWN):
        if number % SAME_KIND == 0:
            kind = str(draw.choice(kinds))
        found = faulty(draw, truth, kind, first, second, _on_grid(draw, GRIDS[str(kind)]))
        if _shows(truth, found[0], first, second):
            break
    return _read(draw, written, truth, (kind, *found), (first, second), AS_STATED, baseline, True)


def _on_grid(draw: np.random.Generator, sizes: tuple[float, ...]) -> float:
    place = draw.uniform(0.0, len(sizes) - 1.0)
    return float(np.exp(np.interp(place, np.arange(len(sizes)), np.log(sizes))))


def _shows(truth: Network, now: Network, *machines: int) -> bool:
    """Whether some reading is off by a tenth."""
    for machine in machines:
        before, then = (read(net, frozenset({machine})).static for net in (truth, now))
        taps = (f"port {machine}", f"gate {machine}", f"end {machine}", "collector inlet", "filter")
        if any(abs(np.log(max(then[tap], 1.0) / before[tap])) > np.log1p(0.1) for tap in taps if tap in before):
            return True
    return False


def _read(
    draw: np.random.Generator, written: Shop, truth: Network,
    fault: tuple[str | None, Network, str | None, float | None], machines: tuple[int, int], noise: Noise,
    baseline: bool, every_tap: bool,
) -> Planted:  # fmt: skip
    kind, now, where, size = fault
    opens = [frozenset({machine}) for machine in machines]
    rows: list[dict[str, str]] = []
    bias: dict[Any, float] = {}
    if baseline:
        rows += rows_of(draw, truth, opens, "2026-01-10", "yes", bias, every_tap, noise)
    rows += rows_of(draw, now, opens, "2026-03-10", "", bias, every_tap, noise)
    return Planted(written, truth, now, kind, where, size, read_readings(rows, written))


def faulty(
    draw: np.random.Generator, net: Network, kind: str | None, first: int, second: int, size: float
) -> tuple[Network, str | None, float | None]:
    """Return a network with a fault of a size near the machines that are read, where it is, and its size."""
    name, main, drop = "main" if first == 0 else f"drop {first}", max(first - 1, 0), net.drops[first]
    in_main = kind in ("leak", "plug") and bool(draw.random() < 0.3)
    other = next((d for d in range(len(net.drops)) if d not in (first, second)), second)
    place = {
        None: None, "leak": f"main {main + 2}" if in_main else f"{name} 1", "gate not opening": name,
        "gate not closing": "main" if other == 0 else f"drop {other}", "hose kinked or longer": name,
        "port blocked": NAMES[first], "filter loaded": "filter", "filter torn": "filter", "bin leak": "collector",
        "blower slow": "blower", "blower reversed": "blower", "wrong size": f"{name} 1",
        "altitude forgotten": "whole shop",
    }  # fmt: skip
    place["plug"] = place["leak"]
    if kind == "wrong size":
        smaller, larger = SMALLER_AND_LARGER[drop.bore]
        size = larger if size and draw.random() < 0.5 else smaller
    made: dict[str | None, Callable[[], Network]] = {
        None: lambda: net,
        "leak": lambda: replace(net, main_hole={main: size}) if in_main else with_drop(net, first, hole=size),
        "plug": lambda: replace(net, main_left={main: size}) if in_main else with_drop(net, first, pipe_left=size),
        "gate not opening": lambda: with_drop(net, first, gate_open=size),
        "gate not closing": lambda: with_drop(net, other, gap=size),
        "hose kinked or longer": lambda: with_drop(net, first, hose_factor=drop.hose_factor * size),
        "port blocked": lambda: with_drop(net, first, narrowed=size),
        "filter loaded": lambda: replace(net, filter_pa=net.filter_pa * size),
        "filter torn": lambda: replace(net, filter_pa=net.filter_pa * size),
        "blower slow": lambda: replace(net, speed=net.speed * size),
        "blower reversed": lambda: replace(net, speed=net.speed * size),
        "bin leak": lambda: replace(net, bin_hole=size),
        "altitude forgotten": lambda: replace(net, density=net.density * np.exp(-size / SCALE_HEIGHT_M)),
        "wrong size": lambda: with_drop(net, first, bore=size, k=drop.k * (size / drop.bore) ** 4),
    }
    return made[kind](), place[kind], size if kind else None


INSTRUMENTS = {"u-tube": (20.0, 0.0), "digital gauge": (2.0, 0.01), "inclined tube": (3.0, 0.03)}


def rows_of(  # type: ignore[no-untyped-def]
    draw: np.random.Generator, net: Network, opens, when: str, healthy: str, bias, every_tap: bool,
    noise: Noise = USUAL,
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
            own = bias.setdefault((tap, open_), float(draw.normal(0.0, noise.case)))
            own += bias.setdefault(tap, float(draw.normal(0.0, noise.tap)))
            value = found.static[tap] * (1.0 + own + float(draw.normal(0.0, noise.again)))
            value += float(draw.normal(0.0, 0.5 * np.hypot(fixed, share * value)))
            rows.append({"when": when, "open": NAMES[machine], "where": where, "value": f"{max(value, 0.0):.1f} Pa",
                         "instrument": instrument, "healthy": healthy})  # fmt: skip
    return rows
