"""Machines' ports: too small, starved, counted as nothing, or misread."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ductcalc.cases.judged import air_grade
from ductcalc.catalog import fact, hood_entry
from ductcalc.findings.changes import widened_drop
from ductcalc.findings.observation import Observation, Watch
from ductcalc.findings.phrase import area, flow, length, pressure, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject
from ductcalc.model.machine import RATED_DENSITY_KG_M3, port_k
from ductcalc.model.model import ModelPort
from ductcalc.physics.velocity import bore_area, velocity, velocity_pressure
from ductcalc.shop.change import Change, cell_value
from ductcalc.shop.hanging import Port
from ductcalc.shop.names import key_of, the
from ductcalc.shop.piece import Drop, Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import in_run, run_named


def _usable(subject: Subject) -> Iterator[tuple[int, ModelPort, Port]]:
    """Yield number, decided port and hung port of every port in use that is written, not copied by `like`."""
    for number, (port, hung) in enumerate(zip(subject.model.ports, subject.model.hanging.ports, strict=True)):
        if not port.off and key_of(port.run) not in subject.copies:
            yield number, port, hung


def _number_in_run(subject: Subject, port: Port) -> int:
    """Return which port of its run it is, from 1."""
    same = [p for p in subject.model.hanging.ports if key_of(p.run) == key_of(port.run)]
    return same.index(port) + 1


def _port_field(subject: Subject, port: Port, field: str, value: object, label: str) -> Change:
    return cell_value(port.run, "port", _number_in_run(subject, port), field, value, f"{port.machine}: {label}")


def uncounted(subject: Subject) -> Iterator[Observation]:
    """See every port that is written as taking nothing."""
    least = fact("findings", "least port loss").value
    for number, port, hung in _usable(subject):
        piece = hung.hung.piece
        if piece.k is None or piece.k >= least:
            continue
        yield Observation(
            piece.place,
            port.machine,
            say("its port counts as taking nothing (k {}); the smoothest mouth takes some", f"{piece.k:g}"),
            say("leave k blank, or write the machine's stated suction under drop"),
            _port_field(subject, hung, "k", None, "its own resistance counted"),
            "counts",
            subject.watch_ports((number,)),
        )


def static_or_total(subject: Subject) -> Iterator[Observation]:
    """See every stated suction hardly more than the air's own velocity pressure, unless its hood is as smooth."""
    for number, port, hung in _usable(subject):
        piece = hung.hung.piece
        if piece.drop is None or piece.drop.total or piece.k is not None:
            continue
        if port_k(piece, port.bore_m, subject.shop.settings.method).value >= _least_k(piece):
            continue
        yield Observation(
            piece.place,
            port.machine,
            say(
                "its stated suction of {} is hardly more than the velocity pressure of its air ({})",
                pressure(piece.drop.pressure_pa), pressure(_vp(piece.drop, port.bore_m)),
            ),
            say("write total behind it if it is a loss of total pressure; else look up at which flow it was read"),
            _port_field(subject, hung, "drop", replace(piece.drop, total=True), "its suction read as a total loss"),
            "otherwise",
            subject.watch_ports((number,)),
        )  # fmt: skip


def _least_k(piece: Piece) -> float:
    """Return the loss on VP below which a stated suction is doubted: a bell or taper takes less than other mouths."""
    limit = fact("findings", "hardly more than VP").value
    angle = piece.angles_deg[0] if piece.angles_deg else None
    return limit if piece.style is None else min(limit, hood_entry(piece.style, angle).low)


def _vp(drop: Drop, bore_m: float) -> float:
    speed = drop.speed_m_s if drop.speed_m_s is not None else float(velocity(drop.flow_m3_s or 0.0, bore_m))
    return float(velocity_pressure(RATED_DENSITY_KG_M3, speed))


def small_openings(subject: Subject) -> Iterator[Observation]:
    """See every cabinet that lets in less air than its port could take away.

    A suction or loss that was stated for the machine has its openings in it already.
    """
    for number, port, hung in _usable(subject):
        piece, bore = hung.hung.piece, float(bore_area(port.bore_m))
        if piece.inlet_m2 is None or piece.inlet_m2 >= bore * (1.0 - 1e-9):
            continue
        if piece.k is not None or piece.drop is not None:
            continue
        more = fact("findings", "enough opening").value * bore
        yield Observation(
            piece.place,
            port.machine,
            say("air gets in through {}, and its port has {}", area(piece.inlet_m2), area(bore)),
            say("give the cabinet an opening of {} or more", area(more)),
            _port_field(subject, hung, "inlet_m2", more, "a larger opening"),
            watch=subject.watch_ports((number,)),
        )


def small_ports(subject: Subject) -> Iterator[Observation]:
    """See every port made for a shop vacuum on a fan that cannot pull like one."""
    small, most = _small_bore(subject), _largest_pressure(subject)
    for number, port, hung in _usable(subject):
        if port.bore_m >= small or _other_port(subject, port):
            continue
        wider = widened_drop(subject, port.run)
        larger = say("a larger port and hose") if wider is None else say("a port and hose of {}", size(wider[1]))
        yield Observation(
            hung.hung.piece.place,
            port.machine,
            say("its port has {}, on a fan that pulls {} at most", size(port.bore_m), pressure(most)),
            ("hang ", *larger, ", or use a shop vacuum there"),
            None if wider is None else wider[0],
            watch=subject.watch_ports((number,)),
        )


def _small_bore(subject: Subject) -> float:
    """Return the bore [m] below which a port is too small for this fan, a nominal size's play off; 0 for a vacuum."""
    weak = _largest_pressure(subject) < fact("findings", "vacuum suction").value
    return fact("findings", "small port").value * (1.0 - fact("findings", "nominal play").value) if weak else 0.0


def _largest_pressure(subject: Subject) -> float:
    """Return the most that the blower pulls by its table [Pa]."""
    known = subject.collector.collector
    points = max((point.pressure_pa for point in known.blower), default=0.0)
    return points if known.advertised is None else max(points, known.advertised.pressure_pa)


def _other_port(subject: Subject, port: ModelPort) -> bool:
    """Whether the machine has a larger port beside this one."""
    return any(subject.model.ports[p].bore_m > port.bore_m for p in subject.model.ports_of[key_of(port.machine)])


def uneven_ports(subject: Subject) -> Iterator[Observation]:
    """See every machine whose one port takes more than it wants while the other is short."""
    short = fact("findings", "short").value
    for machine in subject.model.machines:
        ports = [p for p in subject.model.ports_of[key_of(machine)] if not subject.model.ports[p].off]
        found = subject.case_of(machine)
        if len(ports) < 2 or found is None or _namesake(subject, ports):
            continue
        case = subject.cases[found]
        shares = {p: float(case.port_flow_m3_s[p] / case.port_wanted_m3_s[p]) for p in ports}
        poor, rich = min(ports, key=lambda p: shares[p]), max(ports, key=lambda p: shares[p])
        if shares[poor] >= short or air_grade(shares[rich]) != "ok":
            continue
        wider = widened_drop(subject, subject.model.ports[poor].run)
        if wider is None:
            continue
        yield Observation(
            subject.model.hanging.ports[poor].hung.piece.place,
            machine,
            say(
                "its port {} gets {} of {} wanted, its port {} {} of {}",
                subject.model.ports[poor].run,
                flow(case.port_flow_m3_s[poor]),
                flow(case.port_wanted_m3_s[poor]),
                subject.model.ports[rich].run,
                flow(case.port_flow_m3_s[rich]),
                flow(case.port_wanted_m3_s[rich]),
            ),
            say(
                "hang a {} port and hose at {}, or throttle {} a little",
                size(wider[1]),
                subject.model.ports[poor].run,
                subject.model.ports[rich].run,
            ),
            wider[0],
            watch=Watch(found, machine, subject.model.ports[poor].run),
        )


def one_names(subject: Subject) -> Iterator[Observation]:
    """See every name that two gated ports bear which stand too far apart for one machine."""
    model = subject.model
    for machine in model.machines:
        ports = [p for p in model.ports_of[key_of(machine)] if not model.ports[p].off]
        other, case = _namesake(subject, ports), subject.case_of(machine)
        if other is None or case is None:
            continue
        first, second, far = model.ports[ports[0]], model.ports[other], _apart(subject, ports[0], other)
        yield Observation(
            model.hanging.ports[other].hung.piece.place,
            machine,
            say(
                "its runs {} and {} are {} of duct apart; by one name they always open together",
                first.run, second.run, length(far),
            ),
            say("give the second machine a name of its own"),
            _renamed(second),
            "otherwise",
            Watch(case, machine, first.run),
        )  # fmt: skip


def _namesake(subject: Subject, ports: Sequence[int]) -> int | None:
    """Return the first of a machine's ports that stands too far from the first one; None where none does."""
    apart = fact("findings", "ports apart").value
    return next((port for port in ports[1:] if _apart(subject, ports[0], port) > apart), None)


def _apart(subject: Subject, port: int, other: int) -> float:
    """Return the length [m] of duct between two ports, each with a gate of its own ahead of where they meet; else 0."""
    model = subject.model
    ways = [model.path(port), model.path(other)]
    own = [[s for s in way if s not in ways[1 - n]] for n, way in enumerate(ways)]
    if not all(any(model.opening.gated[s] for s in way) for way in own):
        return 0.0
    return float(sum(loss.length_m for way in own for s in way for loss in model.sections[s].body))


def _renamed(port: ModelPort) -> Change:
    def apply(shop: Shop) -> Shop:
        pieces = (
            replace(piece, machine=f"{port.machine} 2") if piece.kind == "port" else piece
            for piece in run_named(shop, port.run).pieces
        )
        return in_run(shop, port.run, tuple(pieces))

    return Change(f"{port.run}: a name of its own", apply)


def near_but_short(subject: Subject) -> Iterator[Observation]:
    """See machines near the collector that are short on their own while the farthest one is served."""
    model = subject.model
    alone = {key_of(c.asked[0]): n for n, c in enumerate(subject.cases) if c.single}
    used = [p for p, port in enumerate(model.ports) if not port.off and key_of(port.machine) in alone]
    if len(used) < 2:
        return
    far = max(used, key=model.length_m)
    if subject.grade_of(far) != "ok":
        return
    for port in used:
        share = subject.share_of(port)
        near = model.length_m(port) < fact("findings", "near").value * model.length_m(far)
        machine = model.ports[port].machine
        single = len(model.ports_of[key_of(machine)]) == 1
        if share is None or share >= fact("findings", "short").value or not near or not single:
            continue
        if model.ports[port].bore_m < _small_bore(subject):
            continue
        wider = widened_drop(subject, model.ports[port].run)
        if wider is None:
            continue
        yield Observation(
            model.hanging.ports[port].hung.piece.place,
            machine,
            say(
                "it is {} from the collector and {}, and {} is served from {}. Its own drop of {} chokes it",
                length(model.length_m(port)), subject.grade_of(port) or "short", the(model.ports[far].machine),
                length(model.length_m(far)), size(model.ports[port].bore_m),
            ),
            say("give it a port and drop of {}", size(wider[1])),
            wider[0],
            watch=subject.watch_ports((port,)),
        )  # fmt: skip


RULES = (
    Rule("port not counted", "a port with a k of nothing", "count the machine's own resistance", "practice", uncounted),
    Rule(
        "static or total",
        "a stated suction hardly above the velocity pressure of the air",
        "the word total, or the right reading",
        "practice",
        static_or_total,
    ),
    Rule(
        "small opening",
        "a cabinet with less free opening than its port's area",
        "a larger opening for air to get in",
        "practice",
        small_openings,
    ),
    Rule(
        "small port",
        "a port below 3 in on a fan that pulls less than 15 inches of water",
        "a shop vacuum, or a larger port",
        "practice",
        small_ports,
    ),
    Rule(
        "uneven ports",
        "one port of a machine takes more than it wants while another is short",
        "throttle the one, or widen the other",
        "practice",
        uneven_ports,
    ),
    Rule(
        "one name",
        "two gated ports of one name that stand far apart",
        "a name of its own",
        "practice",
        one_names,
        always=True,
    ),
    Rule(
        "near but short",
        "a machine near the collector is short while the farthest one is served",
        "a wider port and hose",
        "practice",
        near_but_short,
    ),
)
