"""Which machines are to be open: what a person may ask for, turned into cases."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import numpy as np

from ductcalc.arrays import Flags
from ductcalc.errors import InputError, Problem
from ductcalc.model.model import Model
from ductcalc.model.opening import sharing
from ductcalc.shop.names import key_of, parted_at_and
from ductcalc.shop.settings import GateSet
from ductcalc.units.wording import quoted

MOST_ALONE = 400
"""Most machines that are taken each on its own without being asked for by name."""


def _none() -> Mapping[str, float]:
    return MappingProxyType({})


@dataclass(frozen=True)
class Choice:
    """A case to be solved: its name, the machines asked for, those of them that only help, wanted flows of its own.

    wanted_m3_s: by the form in which names are compared. note: what had to be decided about it.
    """

    name: str
    machines: tuple[str, ...]
    helpers: tuple[str, ...] = ()
    wanted_m3_s: Mapping[str, float] = field(default_factory=_none)
    note: str | None = None

    def runs(self, machine: str) -> bool:
        """Whether a machine makes chips in this case."""
        key = key_of(machine)
        return key in map(key_of, self.machines) and key not in map(key_of, self.helpers)

    def asks(self, machine: str) -> bool:
        """Whether a machine was asked for."""
        return key_of(machine) in map(key_of, self.machines)


@dataclass(frozen=True)
class Ask:
    """A choice of open machines before the shop is read: by names, everything (but some), or a named gate set.

    >>> Ask.machines("band saw", "planer").names
    ('band saw', 'planer')
    """

    kind: Literal["machines", "everything", "set"]
    names: tuple[str, ...] = ()

    @classmethod
    def machines(cls, *names: str) -> Ask:
        """Ask for these machines to be open and all others shut."""
        return cls("machines", names)

    @classmethod
    def everything(cls, *, but: Sequence[str] = ()) -> Ask:
        """Ask for every machine to be open, some excepted."""
        return cls("everything", tuple(but))

    @classmethod
    def gate_set(cls, name: str) -> Ask:
        """Ask for a named gate set of the shop's settings."""
        return cls("set", (name,))


def choice_of(model: Model, ask: Ask | Choice) -> Choice:
    """Return the case that was asked for; raises InputError for unknown names and clashing hoses."""
    if isinstance(ask, Choice):
        return ask
    if ask.kind == "machines":
        return choose_open(model, ask.names)
    if ask.kind == "everything":
        return choose_all(model, ask.names)
    return choose_set(model, ask.names[0])


def usable_machines(model: Model) -> tuple[str, ...]:
    """Return machines that are not switched off."""
    return tuple(m for m in model.machines if not all(model.ports[p].off for p in model.ports_of[key_of(m)]))


def no_machine(model: Model) -> InputError:
    """Return the error of a shop in which no machine can be opened."""
    if not model.ports:
        return InputError([Problem("no machine is written", "start a run with a port row for each machine")])
    return InputError([Problem("every machine is switched off", "write the air one of them wants under flow")])


def every_machine_alone(model: Model) -> tuple[Choice, ...]:
    """Return a case for each machine on its own."""
    return tuple(Choice(machine, (machine,)) for machine in usable_machines(model))


def named_sets(model: Model) -> tuple[Choice, ...]:
    """Return a case for each named gate set of the shop's settings."""
    return tuple(_of_set(model, gate_set) for gate_set in model.shop.settings.gates.sets)


def default_choices(model: Model) -> tuple[Choice, ...]:
    """Return the cases taken without a choice: every machine alone, unless they are too many, and every named set."""
    alone = every_machine_alone(model)
    return (*(alone if len(alone) <= MOST_ALONE else ()), *named_sets(model))


def choose_open(model: Model, names: Sequence[str]) -> Choice:
    """Return the case in which these machines are open; raises InputError for unknown or clashing ones."""
    machines = _known(model, names)
    if not machines:
        raise InputError([Problem("no machine is named", "machines: " + ", ".join(usable_machines(model)))])
    _refuse_clashes(model, machines)
    return Choice(", ".join(machines), machines)


def choose_set(model: Model, name: str) -> Choice:
    """Return the case of a named gate set."""
    sets = {key_of(s.name): s for s in model.shop.settings.gates.sets}
    if key_of(name) in sets:
        return _of_set(model, sets[key_of(name)])
    near = difflib.get_close_matches(key_of(name), list(sets), cutoff=0.5)
    known = ", ".join(s.name for s in sets.values()) or "none are written in shop.toml"
    hint = f"did you mean {sets[near[0]].name}?" if near else f"named sets: {known}"
    raise InputError([Problem(f"no gate set is named {quoted(name)}", hint, given=name)])


def choose_all(model: Model, but: Sequence[str] = ()) -> Choice:
    """Return the case in which every machine is open but some; of those that share a hose the first one."""
    left_out = set(map(key_of, _known(model, but))) if but else set()
    machines = [m for m in usable_machines(model) if key_of(m) not in left_out]
    kept, dropped = _without_clashes(model, machines)
    name = "all open" if not but else "all but " + ", ".join(_known(model, but))
    note = None
    if dropped:
        note = f"{', '.join(dropped)} left shut: shares a hose with a machine that is open"
    return Choice(name, tuple(kept), note=note)


def ports_named(model: Model, choices: Sequence[Choice]) -> Flags:
    """Return which ports are asked for, (ports, cases)."""
    named = np.zeros((len(model.ports), len(choices)), dtype=bool)
    for case, choice in enumerate(choices):
        taken: set[int] = set()
        for machine in choice.machines:
            for port in model.ports_of[key_of(machine)]:
                if not model.ports[port].off and model.ports[port].section not in taken:
                    named[port, case] = True
                    taken.add(model.ports[port].section)
    return named


def ports_running(model: Model, choices: Sequence[Choice], ports: Flags) -> Flags:
    """Return which of some ports (ports, cases) are of machines that run in their choice."""
    runs = np.array([[choice.runs(port.machine) for choice in choices] for port in model.ports], dtype=bool)
    return np.asarray(ports & runs.reshape(ports.shape))


def _of_set(model: Model, gate_set: GateSet) -> Choice:
    machines = _known(model, gate_set.open)
    helpers = _known(model, gate_set.helpers) if gate_set.helpers else ()
    everything = tuple(dict.fromkeys((*machines, *helpers)))
    _refuse_clashes(model, everything)
    wanted = {key_of(name): flow for name, flow in gate_set.flow_m3_s.items()}
    return Choice(gate_set.name, everything, helpers, MappingProxyType(wanted))


def _known(model: Model, names: Iterable[str]) -> tuple[str, ...]:
    known = {key_of(m): m for m in model.machines}
    usable = set(map(key_of, usable_machines(model)))
    problems, found = [], []
    for name in names:
        key = key_of(name)
        if key in known and key in usable:
            found.append(known[key])
        elif key in known:
            problems.append(
                Problem(
                    f'"{known[key]}" is switched off (its flow is off)',
                    "write the air it wants under flow to use it",
                    given=name,
                )
            )
        else:
            problems.append(_unknown(name, known))
    if problems:
        raise InputError(problems)
    return tuple(dict.fromkeys(found))


def _unknown(name: str, known: Mapping[str, str]) -> Problem:
    if parts := parted_at_and(name, known):
        hint = f'part machines with commas: "{", ".join(known[key_of(part)] for part in parts)}"'
        return Problem(f"no machine is named {quoted(name)}", hint, given=name)
    near = difflib.get_close_matches(key_of(name), list(known), n=3, cutoff=0.5)
    near += [key for key in known if key_of(name) and key_of(name) in key and key not in near]
    if near:
        hint = "did you mean " + " or ".join(known[key] for key in near[:3]) + "?"
    else:
        hint = "machines: " + ", ".join(known.values())
    return Problem(f"no machine is named {quoted(name)}", hint, given=name)


def _without_clashes(model: Model, machines: Sequence[str]) -> tuple[list[str], list[str]]:
    taken: set[int] = set()
    kept, dropped = [], []
    for machine in machines:
        sections = {model.ports[p].section for p in model.ports_of[key_of(machine)] if not model.ports[p].off}
        if sections & taken:
            dropped.append(machine)
        else:
            taken |= sections
            kept.append(machine)
    return kept, dropped


def clash(model: Model, machines: Sequence[str]) -> bool:
    """Whether two of these machines share a hose."""
    return bool(_without_clashes(model, machines)[1])


def _refuse_clashes(model: Model, machines: Sequence[str]) -> None:
    _, dropped = _without_clashes(model, machines)
    if not dropped:
        return
    shared = sharing(model.hanging.ports)
    names = next((n for n in shared.values() if key_of(dropped[0]) in map(key_of, n)), list(machines))
    raise InputError(
        [
            Problem(
                f"{' and '.join(dict.fromkeys(names))} share one hose and cannot be open together",
                "open one of them at a time",
                given=", ".join(machines),
            )
        ]
    )
