"""Gates: missing, taken as tight, sets that open too much, neighbours that take too much."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from ductcalc.cases.case import Case
from ductcalc.catalog import fact, gate_part_open
from ductcalc.errors import Place
from ductcalc.findings.observation import Means, Observation, Watch
from ductcalc.findings.phrase import Phrase, flow, say, share
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject
from ductcalc.model.machine import port_k
from ductcalc.model.model import ModelPort
from ductcalc.shop.change import Change, cell_value, together
from ductcalc.shop.names import key_of, the
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, in_run, run_named, standing

SETTINGS = "shop.toml"
OPENINGS = (0.75, 0.625, 0.5, 0.375)
"""Shares of a gate's travel that a cure may leave open, the widest first."""


def tight_gates(subject: Subject) -> Iterator[Observation]:
    """See gates that are said to be tight when shut."""
    yield from _odd_leaks(
        subject,
        lambda leak: leak == 0.0,
        lambda _, usual: say("no leak is counted; usual gates leak through about {} of their bore", share(usual)),
        say("leave the leak blank, and keep the slides clean"),
        "counts",
    )


def leaky_gates(subject: Subject) -> Iterator[Observation]:
    """See gates that are said to leak through far more of their bore than any slide in order."""
    yield from _odd_leaks(
        subject,
        lambda leak: leak > fact("findings", "large leak").value,
        lambda leak, usual: say(
            "a leak through {} of the bore when shut is counted; usual gates leak through about {}",
            share(leak),
            share(usual),
        ),
        say("check the figure, or mend the slides"),
        "mends",
    )


def _odd_leaks(
    subject: Subject,
    odd: Callable[[float], bool],
    what: Callable[[float, float], Phrase],
    cure: Phrase,
    means: Means,
) -> Iterator[Observation]:
    """See gates of which an odd leak is written, in their rows or in the settings for all; mended, they leak as usual.

    what: the words for the largest such leak and the usual one, as shares of the bore.
    """
    stated = subject.shop.settings.gates.leak
    everywhere = stated is not None and odd(stated)
    found = [one for one in subject.of_kind("gate") if one.piece.leak is not None and odd(one.piece.leak)]
    if not found and not everywhere:
        return
    largest = max([one.piece.leak or 0.0 for one in found] + [stated or 0.0] * everywhere)
    usual = fact("gate", "leak").value if everywhere or not stated else stated
    yield Observation(
        Place(SETTINGS, key="gates.leak") if everywhere else found[0].piece.place,
        "shut gates" if everywhere or len(found) > 1 else f"gate in {found[0].run.name}",
        what(largest, usual),
        cure,
        Change("shut gates leak as usual", lambda shop: _leaking_as_usual(shop, odd)),
        means,
        subject.watch_worst(),
    )


def _leaking_as_usual(shop: Shop, odd: Callable[[float], bool]) -> Shop:
    """Return the shop with every odd leak left blank."""

    def blank(leak: float | None) -> float | None:
        return None if leak is None or odd(leak) else leak

    runs = tuple(replace(run, pieces=tuple(replace(p, leak=blank(p.leak)) for p in run.pieces)) for run in shop.runs)
    gates = shop.settings.gates._replace(leak=blank(shop.settings.gates.leak))
    return replace(shop, runs=runs, settings=replace(shop.settings, gates=gates))


def without_gate(subject: Subject) -> Iterator[Observation]:
    """See every machine that no gate shuts, in a shop of several; one with a blower of its own needs its way open."""
    model, free = subject.model, subject.model.opening.always_open
    if len(model.machines) < 2:
        return
    blowing = {key_of(machine.name) for machine in subject.shop.settings.machines if machine.own_blower_pa}
    ungated = {
        machine: [p for p in model.ports_of[key_of(machine)] if free[p] and not model.ports[p].off]
        for machine in model.machines
        if key_of(machine) not in blowing
    }
    found = {machine: ports for machine, ports in ungated.items() if ports}
    if len(found) > 1 and len(found) == len(model.machines):
        yield _no_gate_at_all(subject, found)
        return
    for machine, ports in found.items():
        if all(key_of(model.ports[p].run) in subject.copies for p in ports):
            continue
        others = tuple(
            p for p, other in enumerate(model.ports) if key_of(other.machine) != key_of(machine) and not other.off
        )
        yield Observation(
            model.hanging.ports[ports[0]].hung.piece.place,
            machine,
            say("no gate is on its way: it always takes air from the others"),
            say("put a gate behind its port or hose"),
            together(f"{machine}: gated", [_with_gate(model.ports[p].run) for p in ports]),
            watch=subject.watch_ports(others),
        )


def _no_gate_at_all(subject: Subject, found: Mapping[str, Sequence[int]]) -> Observation:
    model = subject.model
    first = next(iter(found.values()))[0]
    every = [_with_gate(model.ports[p].run) for ports in found.values() for p in ports]
    return Observation(
        model.hanging.ports[first].hung.piece.place,
        f"all {len(found)} machines",
        say("none of them has a gate: all of them take air at once"),
        say("put a gate behind every port or hose"),
        together("a gate for every machine", every),
        watch=subject.watch_worst(),
    )


def shared_gates(subject: Subject) -> Iterator[Observation]:
    """See every gate behind a wye that is the only one of several machines: it opens all of them at once."""
    model = subject.model
    for section, ports in _behind_one_gate(subject).items():
        watch = subject.watch_ports(tuple(ports))
        if watch is None or key_of(model.sections[section].run) in subject.copies:
            continue
        case, machine = subject.cases[watch.case], watch.machine or ""
        others = [p for p in ports if key_of(model.ports[p].machine) != key_of(machine)]
        names = dict.fromkeys(the(model.ports[p].machine) for p in others)
        gate = next(one for one in subject.of_kind("gate") if one.name == model.sections[section].name)
        yield Observation(
            gate.piece.place,
            f"gate in {gate.run.name}",
            say(
                "it opens {} along with {}. Then {} of air comes in there",
                " and ".join(names), the(machine), flow(case.port_flow_m3_s[others].sum()),
            ),
            say("put a gate in each branch ahead of the wye; if both are one machine, give them one name"),
            together("a gate for each", [_with_gate(run) for run in dict.fromkeys(model.ports[p].run for p in ports)]),
            watch=watch,
        )  # fmt: skip


def _behind_one_gate(subject: Subject) -> dict[int, list[int]]:
    """Return for each gated section the ports of which it holds the first gate, where these are of several machines."""
    model, found = subject.model, dict[int, list[int]]()
    for number, port in enumerate(model.ports):
        gated = (section for section in model.path(number) if model.opening.gated[section])
        first = None if port.off else next(gated, None)
        if first is not None:
            found.setdefault(first, []).append(number)
    return {
        section: ports
        for section, ports in found.items()
        if len({model.ports[p].section for p in ports}) > 1
        and len({key_of(model.ports[p].machine) for p in ports}) > 1
    }


def _with_gate(run: str) -> Change:
    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        behind = max(n for n, piece in enumerate(pieces) if piece.kind == "port") + 1
        behind += behind < len(pieces) and pieces[behind].kind == "flex"
        gate = Piece("gate", size_m=pieces[behind - 1].size_m, place=pieces[0].place)
        return in_run(shop, run, [*pieces[:behind], gate, *pieces[behind:]])

    return Change(f"{run}: a gate behind port and hose", apply)


def greedy_neighbours(subject: Subject) -> Iterator[Observation]:
    """See every case in which one machine takes far more than it wants while another is short."""
    for number, case in enumerate(subject.cases):
        found = _poor_and_rich(subject, case)
        if found is None:
            continue
        poor, rich = (subject.model.ports[p] for p in found)
        gate = _own_gate(subject, rich.run)
        opening = None if gate is None else _opening(subject, case, found[1])
        if gate is None or opening is None or (gate.piece.opening or 1.0) <= opening:
            continue
        yield Observation(
            gate.piece.place,
            f'set "{case.name}"',
            say(
                "{} takes {} of {} wanted, and {} gets {} of {}",
                _at(subject, rich), flow(case.port_flow_m3_s[found[1]]), flow(case.port_wanted_m3_s[found[1]]),
                _at(subject, poor), flow(case.port_flow_m3_s[found[0]]), flow(case.port_wanted_m3_s[found[0]]),
            ),
            say("leave the gate of {} {} open when both run", rich.run, share(opening)),
            cell_value(rich.run, "gate", gate.number, "opening", opening, f"{rich.run}: gate {100 * opening:g} % open"),
            watch=Watch(number, poor.machine, poor.run),
        )  # fmt: skip


def _at(subject: Subject, port: ModelPort) -> str:
    """Return a machine's name in a sentence, with the run of the port where it has several."""
    several = len(subject.model.ports_of[key_of(port.machine)]) > 1
    return f"{the(port.machine)} at {port.run}" if several else the(port.machine)


def _poor_and_rich(subject: Subject, case: Case) -> tuple[int, int] | None:
    """Return the port that is shortest in a case and the one of another machine that takes most over its wish."""
    model = subject.model
    running = [p for p, port in enumerate(model.ports) if key_of(port.machine) in case.running_keys and not port.off]
    if len(case.running) < 2 or not running:
        return None
    shares = {p: float(case.port_flow_m3_s[p] / case.port_wanted_m3_s[p]) for p in running}
    poor = min(running, key=lambda p: shares[p])
    others = [p for p in running if key_of(model.ports[p].machine) != key_of(model.ports[poor].machine)]
    rich = max(others, key=lambda p: shares[p], default=poor)
    if shares[poor] >= fact("findings", "short").value or shares[rich] < fact("findings", "greedy").value:
        return None
    return poor, rich


def _opening(subject: Subject, case: Case, port: int) -> float | None:
    """Return how far a port's gate may be shut so that the machine keeps what it wants; None when it may not.

    With no more air than its wish the port itself loses less than now, and that much a gate may take.
    """
    piece, bore = subject.model.hanging.ports[port].hung.piece, subject.model.ports[port].bore_m
    loss = port_k(piece, bore, subject.shop.settings.method).value
    spare = loss * (float(case.port_flow_m3_s[port] / case.port_wanted_m3_s[port]) ** 2 - 1.0)
    fitting = [opening for opening in OPENINGS if gate_part_open(opening).value - fact("gate", "open").value <= spare]
    return min(fitting, default=None)


def _own_gate(subject: Subject, run: str) -> PlacedPiece | None:
    found = run_named(subject.shop, run)
    return next((one for one in standing(found) if one.piece.kind == "gate" and one.section == 1), None)


def all_at_once(subject: Subject) -> Iterator[Observation]:
    """See every named set that opens all machines of a shop of many."""
    model = subject.model
    usable = dict.fromkeys(key_of(p.machine) for p in model.ports if not p.off)
    if len(usable) < fact("findings", "many machines").value:
        return
    for gate_set in subject.shop.settings.gates.sets:
        opened = {key_of(name) for name in gate_set.open}
        if not opened >= usable.keys():
            continue
        wanted = {key: sum(model.ports[p].wanted_m3_s for p in model.ports_of[key]) for key in usable}
        largest = max(wanted, key=lambda key: wanted[key])
        total = sum(wanted.values())
        yield Observation(
            Place(SETTINGS, key=f"gates.sets.{gate_set.name}"),
            f'set "{gate_set.name}"',
            say(
                "all {} machines at once want {}, {} alone wants {}. The blower ends at {}",
                len(usable), flow(total), the(_spelled(subject, largest)), flow(wanted[largest]),
                flow(subject.collector.supply("loaded").last_flow_m3_s),
            ),
            say("name the sets that really run together, and choose the collector by these"),
            amount=flow(total),
            share=1.0 - wanted[largest] / total,
        )  # fmt: skip


def _spelled(subject: Subject, key: str) -> str:
    return next(name for name in subject.model.machines if key_of(name) == key)


RULES = (
    Rule("tight gates", "gates that are said not to leak when shut", "the usual leak", "practice", tight_gates),
    Rule(
        "leaky gates",
        "a leak of shut gates above 5 % of their bore",
        "the figure checked, or the slides mended",
        "practice",
        leaky_gates,
        always=True,
    ),
    Rule(
        "shared gate",
        "a gate behind a wye that opens several machines at once",
        "a gate in each branch",
        "practice",
        shared_gates,
    ),
    Rule("no gate", "a machine among others that no gate shuts", "a gate behind its port", "practice", without_gate),
    Rule(
        "greedy neighbour",
        "a machine takes far more than it wants while another one of the set is short",
        "throttle its gate",
        "practice",
        greedy_neighbours,
    ),
    Rule(
        "all at once",
        "a named set that opens every machine of a shop of many",
        "the sets that really run together",
        "practice",
        all_at_once,
    ),
)
