"""How the shop is used: a gate opened or shut besides, one machine at a time; and gates, where air is lost at them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

from ductcalc.answers.improve.candidate import JOINED, Candidate
from ductcalc.cases.choices import Choice, usable_machines
from ductcalc.catalog import fact, joint_leakage
from ductcalc.model.model import Model
from ductcalc.shop.change import Change, gate_leak
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import in_run, run_named

NOTHING = Change("used otherwise", lambda shop: shop)


def other_uses(model: Model, choice: Choice, settles: bool) -> Iterator[Candidate]:
    """Yield other ways to use the shop: where chips settle, every gate that may stay open besides; else gates shut."""
    for machine in usable_machines(model):
        if settles and not choice.asks(machine) and not _clashes(model, choice, machine):
            yield _gate("helper gate", machine)
        if machine in choice.helpers:
            yield _gate("helper shut", machine)
    running = [machine for machine in choice.machines if choice.runs(machine)]
    if len(running) > 1:
        touched = frozenset(("gate", key_of(machine)) for machine in model.machines)
        yield Candidate(
            "one at a time", NOTHING, "count", float(len(running)), 1.0, touches=touched, use=one_at_a_time
        )


def _clashes(model: Model, choice: Choice, machine: str) -> bool:
    """Whether a machine hangs on a hose that one of the choice takes."""
    taken = {model.ports[p].section for m in choice.machines for p in model.ports_of[key_of(m)]}
    return any(model.ports[p].section in taken for p in model.ports_of[key_of(machine)])


def _gate(kind: Literal["helper gate", "helper shut"], machine: str) -> Candidate:
    opens = kind == "helper gate"
    return Candidate(
        kind,
        NOTHING,
        "state",
        "shut" if opens else "open",
        "open" if opens else "shut",
        touches=frozenset([("gate", key_of(machine))]),
        use=(lambda choice: (with_helper(choice, machine),)) if opens else (lambda choice: (without(choice, machine),)),
        machine=machine,
    )


def with_helper(choice: Choice, machine: str) -> Choice:
    """Return a choice with the gate of one more machine open, which makes no chips."""
    return replace(choice, machines=(*choice.machines, machine), helpers=(*choice.helpers, machine))


def without(choice: Choice, machine: str) -> Choice:
    """Return a choice with a helper's gate shut."""
    machines, helpers = (tuple(m for m in names if m != machine) for names in (choice.machines, choice.helpers))
    return replace(choice, machines=machines, helpers=helpers)


def one_at_a_time(choice: Choice) -> tuple[Choice, ...]:
    """Return a case for each running machine of a choice, all other gates shut."""
    running = (machine for machine in choice.machines if choice.runs(machine))
    return tuple(Choice(machine, (machine,), wanted_m3_s=choice.wanted_m3_s) for machine in running)


def tightness(model: Model, choice: Choice) -> Iterator[Candidate]:
    """Yield a gate for each machine that has none and is not asked for, tight gates, and joints that are sealed."""
    for port, free in zip(model.ports, model.opening.always_open, strict=True):
        if free and not port.off and not choice.asks(port.machine):
            touched = frozenset([("gate", key_of(port.machine))])
            step = new_gate(port.run)
            yield Candidate(
                "new gate", step, "state", "none", "shut", port.run, touches=touched, rank=JOINED, machine=port.machine
            )
    usual = fact("gate", "leak").value
    gates = [p.leak for run in model.shop.runs for p in run.pieces if p.kind == "gate"]
    most = max((model.shop.settings.gates.leak if leak is None else leak for leak in gates), key=_known, default=None)
    if _known(most) > usual:
        yield Candidate("tight gates", gate_leak(usual), "share", most, usual, touches=frozenset(["gate leak"]))
    sealed, stated = joint_leakage(None).value, model.shop.settings.method.joint_leakage_class
    if stated is not None and stated > sealed:
        yield Candidate("sealed joints", _sealed(), "count", stated, sealed, touches=frozenset(["joints"]))


def _known(leak: float | None) -> float:
    return 0.0 if leak is None else leak


def new_gate(run: str) -> Change:
    """Put a gate into a run, behind its ports and the hose there."""

    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        behind = (n for n, piece in enumerate(pieces) if piece.kind not in ("port", "flex"))
        place = next(behind, len(pieces))
        gate = Piece("gate", size_m=pieces[place - 1].size_m, place=pieces[place - 1].place)
        return in_run(shop, run, [*pieces[:place], gate, *pieces[place:]])

    return Change(f"{run}: a gate", apply)


def _sealed() -> Change:
    def apply(shop: Shop) -> Shop:
        method = shop.settings.method._replace(joint_leakage_class=None)
        return replace(shop, settings=replace(shop.settings, method=method))

    return Change("joints sealed", apply)
