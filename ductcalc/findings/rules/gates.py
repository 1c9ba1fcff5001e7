"""Gates: missing, taken as tight, sets that open too much, neighbours that take too much."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import fact
from ductcalc.errors import Place
from ductcalc.findings.phrase import flow, say, share
from ductcalc.findings.rule import Rule
from ductcalc.findings.sighting import Sighting, Watch
from ductcalc.findings.subject import SeenCase, Subject
from ductcalc.shop.change import Change, cell_value, gate_leak
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import Standing, in_run, run_named, standing

SETTINGS = "shop.toml"
HALF = 0.5


def tight_gates(subject: Subject) -> Iterator[Sighting]:
    """See gates that are said to be tight when shut."""
    tight = [one for one in subject.of_kind("gate") if one.piece.leak == 0.0]
    everywhere = subject.shop.settings.gates.leak == 0.0
    if not tight and not everywhere:
        return
    usual = fact("gate", "leak").value
    place = Place(SETTINGS, key="gates.leak") if everywhere else tight[0].piece.place
    yield Sighting(
        place,
        "shut gates" if everywhere else f"gate in {tight[0].run.name}",
        say("taken as tight when shut; usual gates leak through about {} of their bore", share(usual)),
        say("leave the leak blank, and keep the slides clean"),
        gate_leak(usual),
        "counts",
        subject.watch_worst(),
    )


def without_gate(subject: Subject) -> Iterator[Sighting]:
    """See every machine that no gate shuts, in a shop of several."""
    model, free = subject.model, subject.model.opening.always_open
    if len(model.machines) < 2 or free.all():
        return
    for number, port in enumerate(model.ports):
        if not free[number] or port.off:
            continue
        others = tuple(
            p for p, other in enumerate(model.ports) if key_of(other.machine) != key_of(port.machine) and not other.off
        )
        yield Sighting(
            model.hanging.ports[number].hung.piece.place,
            port.machine,
            say("no gate is on its way, so that it always takes air from the others"),
            say("put a gate behind its port or hose"),
            _with_gate(port.run),
            watch=subject.watch_ports(others),
        )


def _with_gate(run: str) -> Change:
    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        behind = max(n for n, piece in enumerate(pieces) if piece.kind == "port") + 1
        gate = Piece("gate", size_m=pieces[behind - 1].size_m, place=pieces[0].place)
        return in_run(shop, run, [*pieces[:behind], gate, *pieces[behind:]])

    return Change(f"{run}: a gate behind the port", apply)


def greedy_neighbours(subject: Subject) -> Iterator[Sighting]:
    """See every case in which one machine takes far more than it wants while another is short."""
    for number, case in enumerate(subject.cases):
        found = _poor_and_rich(subject, case)
        if found is None:
            continue
        poor, rich = (subject.model.ports[p] for p in found)
        gate = _own_gate(subject, rich.run)
        if gate is None:
            continue
        yield Sighting(
            gate.piece.place,
            f'set "{case.name}"',
            say(
                "{} takes {} of {} wanted while {} gets {} of {}",
                rich.machine, flow(case.port_flow_m3_s[found[1]]), flow(case.wanted_m3_s[found[1]]),
                poor.machine, flow(case.port_flow_m3_s[found[0]]), flow(case.wanted_m3_s[found[0]]),
            ),
            say("shut the gate of {} about half when both run", rich.run),
            cell_value(rich.run, "gate", gate.number, "opening", HALF, f"{rich.run}: gate half open"),
            watch=Watch(number, poor.machine, poor.run),
        )  # fmt: skip


def _poor_and_rich(subject: Subject, case: SeenCase) -> tuple[int, int] | None:
    """Return the port that is shortest in a case and the one of another machine that takes most over its wish."""
    model = subject.model
    running = [p for p, port in enumerate(model.ports) if key_of(port.machine) in case.running and not port.off]
    if len(case.running) < 2 or not running:
        return None
    shares = {p: float(case.port_flow_m3_s[p] / case.wanted_m3_s[p]) for p in running}
    poor = min(running, key=lambda p: shares[p])
    others = [p for p in running if key_of(model.ports[p].machine) != key_of(model.ports[poor].machine)]
    rich = max(others, key=lambda p: shares[p], default=poor)
    if shares[poor] >= fact("findings", "short").value or shares[rich] < fact("findings", "greedy").value:
        return None
    return poor, rich


def _own_gate(subject: Subject, run: str) -> Standing | None:
    found = run_named(subject.shop, run)
    return next((one for one in standing(found) if one.piece.kind == "gate" and one.section == 1), None)


def all_at_once(subject: Subject) -> Iterator[Sighting]:
    """See every named set that opens all machines of a shop of many."""
    model = subject.model
    usable = {key_of(p.machine) for p in model.ports if not p.off}
    if len(usable) < fact("findings", "many machines").value:
        return
    for gate_set in subject.shop.settings.gates.sets:
        opened = {key_of(name) for name in gate_set.open}
        if not opened >= usable:
            continue
        wanted = {key: sum(model.ports[p].wanted_m3_s for p in model.ports_of[key]) for key in usable}
        largest = max(wanted, key=lambda key: wanted[key])
        total = sum(wanted.values())
        yield Sighting(
            Place(SETTINGS, key=f"gates.sets.{gate_set.name}"),
            f'set "{gate_set.name}"',
            say(
                "all {} machines at once want {}, {} alone wants {}; the blower ends at {}",
                len(usable), flow(total), _spelled(subject, largest), flow(wanted[largest]),
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
