"""A first layout for a list of machines: a main along the wall in order of place, and a drop at each machine.

Sizes follow common practice: a drop has its machine's port size. The main is never less than what enters it, and
where its largest use would go faster than the high end of `main speed` (table `parts`) it takes the largest size sold
that keeps the low end.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ductcalc.catalog import default_style, fact, sizes_for, transport_speed
from ductcalc.physics.velocity import bore_area
from ductcalc.shop import Piece, PieceKind, Run, Settings, Shop
from ductcalc.shop.names import key_of
from ductcalc.shop.placed import MachineList, PlacedMachine
from ductcalc.units.closed_list import UnitSystem

MAIN = "main"
LONGEST_STEM = 88
"""Characters of a machine's name that its run takes over, so that `drop` and a number fit behind."""

LEAST_LENGTH_M = 0.0005
"""Shorter pipe is none: below what a length cell tells [m]."""


@dataclass(frozen=True)
class MainSize:
    """A size of the main [m] from the wye of a machine on: its largest use, and that air [m3/s]."""

    size_m: float
    behind: str
    use: str
    flow_m3_s: float

    @property
    def speed_m_s(self) -> float:
        """Speed of the largest use [m/s]."""
        return self.flow_m3_s / float(bore_area(self.size_m))


@dataclass(frozen=True)
class SlowPort:
    """A port [m] in which dry chips settle at the air wanted [m3/s], and the air below which they do."""

    machine: str
    port_m: float
    flow_m3_s: float
    least_m3_s: float


@dataclass(frozen=True)
class FirstLayout:
    """The runs of a first layout, and what was taken for them: sizes of the main where they begin, hose at each [m].

    nearest: the machine whose port the collector's inlet is taken to be as low as. slow: ports too wide for their air.
    slow_alone: machines with which dry chips settle in the main's last size, which takes least_m3_s [m3/s].
    """

    runs: tuple[Run, ...]
    main: tuple[MainSize, ...]
    hose_m: float
    nearest: str
    units: UnitSystem
    slow: tuple[SlowPort, ...]
    slow_alone: tuple[str, ...]
    least_m3_s: float
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class Use:
    """What runs together: its name, and the air of each port [m3/s], the farthest first."""

    name: str
    air: tuple[float, ...]


def first_layout(machines: MachineList, settings: Settings) -> FirstLayout:
    """Lay out some machines: named sets of the settings size the main as every machine alone does."""
    placed = sorted(machines.machines, key=lambda one: -one.along_m)
    units = settings.units or machines.units
    sizes = sizes_for(Shop("", (), settings=settings, first_units=units))
    hose_m = fact("hose", "least length" if units == "inch" else "least length metric").value
    uses = tuple(_uses(placed, settings))
    main = tuple(_main_sizes(placed, uses, sizes))
    least = fact("transport", "graded share").value * transport_speed().value * float(bore_area(main[-1].size_m))
    alone = dict.fromkeys(one.machine for one in placed)
    return FirstLayout(
        runs=tuple(_Laying(placed, main, hose_m).runs()),
        main=tuple(size for n, size in enumerate(main) if not n or size.size_m != main[n - 1].size_m),
        hose_m=hose_m,
        nearest=placed[-1].machine,
        units=units,
        slow=tuple(_slow(placed)),
        slow_alone=tuple(name for name, use in zip(alone, uses, strict=False) if 0.0 < sum(use.air) < least),
        least_m3_s=least,
        remarks=(*machines.remarks, *_remarks(placed)),
    )


def _flow(one: PlacedMachine) -> float:
    """Return the air that a port wants [m3/s], none when its gate stays shut."""
    wanted = one.air.wanted
    if wanted.off:
        return 0.0
    return wanted.flow_m3_s or (wanted.speed_m_s or 0.0) * float(bore_area(one.port_m))


def _uses(placed: Sequence[PlacedMachine], settings: Settings) -> Iterator[Use]:
    """Yield what may run together: every machine alone and every named set."""
    for name in dict.fromkeys(one.machine for one in placed):
        yield Use(f"{name} alone", _air(placed, [name], {}))
    for one in settings.gates.sets:
        yield Use(f"set {one.name}", _air(placed, one.open, one.flow_m3_s))


def _air(placed: Sequence[PlacedMachine], opened: Sequence[str], own: Mapping[str, float]) -> tuple[float, ...]:
    """Return the air of each port in a use; a set's own flow is shared among a machine's ports."""
    whole: dict[str, float] = {}
    for one in placed:
        whole[key_of(one.machine)] = whole.get(key_of(one.machine), 0.0) + _flow(one)
    asked = {key_of(name): flow for name, flow in own.items()}
    share = {key: asked.get(key, flow) / flow if flow else 1.0 for key, flow in whole.items()}
    keys = {key_of(name) for name in opened}
    return tuple(_flow(one) * share[key_of(one.machine)] * (key_of(one.machine) in keys) for one in placed)


def _main_sizes(placed: Sequence[PlacedMachine], uses: Sequence[Use], sizes: Sequence[float]) -> Iterator[MainSize]:
    """Yield the main's size behind each machine, the farthest first; behind that one it is its port's."""
    speed, size = fact("parts", "main speed"), placed[0].port_m
    for count, one in enumerate(placed, start=1):
        flow, use = max(((sum(use.air[:count]), use.name) for use in uses), key=lambda pair: pair[0])
        size = max(size, one.port_m)
        if count > 1 and flow / float(bore_area(size)) > speed.high:
            size = max(size, *(bore for bore in sizes if flow / float(bore_area(bore)) >= speed.low))
        yield MainSize(size, one.machine, use, flow)


def _slow(placed: Sequence[PlacedMachine]) -> Iterator[SlowPort]:
    """Yield ports in whose size dry chips settle in a riser at the air wanted."""
    speed = fact("transport", "riser share").value * transport_speed().value
    for one in placed:
        least = speed * float(bore_area(one.port_m))
        if 0.0 < _flow(one) < least:
            yield SlowPort(one.machine, one.port_m, _flow(one), least)


def _remarks(placed: Sequence[PlacedMachine]) -> Iterator[str]:
    """Say of each machine with several rows that each is a port with its own air."""
    keys = [key_of(one.machine) for one in placed]
    for name in {key_of(one.machine): one.machine for one in placed}.values():
        if (ports := keys.count(key_of(name))) > 1:
            yield f"{name} has {ports} ports, each with its own air and drop; machines of their own need other names"


class _Laying:
    """Lays out the main first, then each drop."""

    def __init__(self, placed: Sequence[PlacedMachine], main: Sequence[MainSize], hose_m: float) -> None:
        """Take the machines, the farthest first, and the main's size behind each."""
        self.placed, self.main, self.hose_m = placed, main, hose_m
        self.names = list(_run_names(placed))

    def runs(self) -> Iterator[Run]:
        """Yield every run."""
        yield Run(MAIN, tuple(self._main()))
        for one, name in zip(self.placed[1:], self.names, strict=True):
            yield Run(name, tuple(self._drop(one)))

    def _main(self) -> Iterator[Piece]:
        head, here = self.placed[0], self.placed[0].along_m
        yield from self._up(head, bent=True)
        if head.reach_m:
            yield from _pipe(head.port_m, head.reach_m, note="from the machine to the main's line")
            yield _elbow(head.port_m, 90.0)
        for number, (one, name) in enumerate(zip(self.placed[1:], self.names, strict=True), start=1):
            before, size = self.main[number - 1], self.main[number]
            yield from _pipe(before.size_m, here - one.along_m)
            note = _why(size) if size.size_m != before.size_m else None
            yield Piece("wye", size_m=size.size_m, angles_deg=(45.0,), joins=(name,), note=note)
            here = one.along_m
        yield from _pipe(self.main[-1].size_m, here)
        yield from self._down(self.placed[-1], self.main[-1].size_m)

    def _down(self, nearest: PlacedMachine, size_m: float) -> Iterator[Piece]:
        """Yield the way from the main down to the collector, whose inlet is taken as low as the nearest port."""
        if nearest.height_m:
            yield _elbow(size_m, 90.0, "the main turns down to the collector")
            said = f"assumed: inlet as low as the port of {nearest.machine}; write the collector's own"
            yield from _pipe(size_m, nearest.height_m, -nearest.height_m, said)
            yield _elbow(size_m, 90.0, "into the inlet")
            bores = fact("parts", "straight ahead of the collector").value
            yield from _pipe(size_m, bores * size_m, note=f"straight ahead of the inlet: {bores:g} bores")
        yield Piece("collector", size_m=size_m, note="a taper right here when the collector's inlet has another size")

    def _drop(self, one: PlacedMachine) -> Iterator[Piece]:
        yield from self._up(one, bent=bool(one.reach_m))
        yield from _pipe(one.port_m, one.reach_m, note="from the machine to the main")
        yield _elbow(one.port_m, 45.0, "into the wye from the side or above")

    def _up(self, one: PlacedMachine, bent: bool) -> Iterator[Piece]:
        """Yield a machine's port, hose, gate and pipe up to the main's height, with the bend there."""
        note = "; ".join(part for part in (one.note, one.air.source) if part)
        port = Piece("port", machine=one.machine, size_m=one.port_m, wanted=one.air.wanted, note=note or None)
        yield replace(port, cells={"flow": one.air.cell})
        yield Piece("flex", size_m=one.port_m, length_m=self.hose_m, count=1, note="assumed: as short as hose can be")
        yield Piece("gate", size_m=one.port_m)
        yield from _pipe(one.port_m, one.height_m, one.height_m, "up to the main")
        if one.height_m and bent:
            yield _elbow(one.port_m, 90.0)


def _pipe(size_m: float, length_m: float, rise_m: float | None = None, note: str | None = None) -> Iterator[Piece]:
    if length_m >= LEAST_LENGTH_M:
        yield Piece("pipe", None, default_style("pipe"), size_m, length_m, rise_m=rise_m, note=note)


def _elbow(size_m: float, angle_deg: float, note: str | None = None) -> Piece:
    kind: PieceKind = "elbow"
    return Piece(kind, None, default_style(kind), size_m, angles_deg=(angle_deg,), count=1, note=note)


def _why(size: MainSize) -> str:
    """Say for what a size of the main was chosen."""
    fast = size.speed_m_s >= fact("parts", "main speed").low
    return f"for {size.use}" if fast else f"as wide as the port of {size.behind}"


def _run_names(placed: Sequence[PlacedMachine]) -> Iterator[str]:
    """Yield a name of its own for the run of each machine but the farthest, which stands in the main."""
    taken = {key_of(MAIN)}
    for one in placed[1:]:
        name = one.machine[:LONGEST_STEM].strip()
        stem = f"drop of {name}" if name.startswith("#") else f"{name} drop"
        names = [stem, *(f"{stem} {count}" for count in range(2, len(placed) + 2))]
        free = next(name for name in names if key_of(name) not in taken)
        taken.add(key_of(free))
        yield free
