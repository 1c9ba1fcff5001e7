"""Does the collector serve the machines: the verdict on every case asked for, and what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ductcalc.answers.case import CaseAnswer, MachineAnswer
from ductcalc.answers.case_reading import read_cases
from ductcalc.answers.choices import Ask, Choice, choice_of, every_machine_alone, named_sets
from ductcalc.answers.sensitivity import MethodAnswer, WorthAnswer, sensitivity
from ductcalc.answers.solving import collector_of, solve_choices, wanted_of
from ductcalc.errors import InputError, Problem
from ductcalc.model.air import Air
from ductcalc.model.model import Model, build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas



@dataclass(frozen=True)
class KeyMachine:
    """A machine that the verdict names, with the case in which it is judged."""

    machine: str
    case: str
    length_m: float
    margin_pa: float | None
    answer: MachineAnswer | None


@dataclass(frozen=True)
class Check:
    """The verdict. `cases`: choice by choice, loaded filter first. The loaded filter decides.

    worst, farthest, greediest: least margin, longest way, most air wanted. subject: the machine and case that
    assumptions and other methods are shown for. by_curve: air of the subject on each advertised curve.
    chips: the subject at a planer's full cut, when it is such a machine. unused: things written, not used yet.
    """

    shop: str
    junction: Junction
    cases: tuple[CaseAnswer, ...]
    by_default: bool
    farthest: KeyMachine
    worst: KeyMachine
    greediest: KeyMachine
    subject: KeyMachine
    assumptions: tuple[WorthAnswer, ...]
    methods: tuple[MethodAnswer, ...]
    by_curve: tuple[MethodAnswer, ...]
    chips: MethodAnswer | None
    always_open: tuple[str, ...]
    air: Air
    provisional: bool
    shut_off_pa: float
    remarks: tuple[str, ...]
    unused: tuple[str, ...]

    @property
    def loaded(self) -> tuple[CaseAnswer, ...]:
        """The cases with the loaded filter, on which the verdict stands."""
        return tuple(case for case in self.cases if case.filter == "loaded")

    @property
    def all_well(self) -> bool:
        """Whether everything asked for is served and nothing settles, with the loaded filter."""
        return all(case.all_well for case in self.loaded)

    @property
    def unanswered(self) -> tuple[CaseAnswer, ...]:
        """Cases without an answer."""
        return tuple(case for case in self.loaded if not case.solved)

    def clean(self, loaded: CaseAnswer) -> CaseAnswer:
        """Return the case with the clean filter that belongs to a loaded one."""
        return self.cases[self.cases.index(loaded) + 1]

    def frame(self, table: str = "machines") -> pandas.DataFrame:
        """Return `machines`, `sections`, `paths` or `cases` as a pandas table, the unit in every column name."""
        from ductcalc.answers.frames import check_frame

        return check_frame(self, table)


def check(shop: Shop, asks: Sequence[Ask | Choice] | None = None, junction: Junction | None = None) -> Check:
    """Return the verdict on a shop: every machine alone and every named set, or what was asked for.

    Raises InputError when the shop has no collector or cannot be hung together.
    """
    model = build_model(shop, junction)
    collector = collector_of(model)
    asked = _default_choices(model) if asks is None else tuple(choice_of(model, ask) for ask in asks)
    if not asked:
        raise InputError([Problem("nothing is asked for", "name machines or a gate set, or leave the choice out")])
    cases = read_cases(solve_choices(model, asked))
    loaded = [(choice, cases[2 * number]) for number, choice in enumerate(asked)]
    named = key_machines(model, [case for _, case in loaded])
    subject = named[1]
    choice = next(c for c, case in loaded if case.name == subject.case)
    depends = sensitivity(model, choice, subject.machine)
    return Check(
        shop=shop.name,
        junction=model.junction,
        cases=cases,
        by_default=asks is None,
        farthest=named[0],
        worst=named[1],
        greediest=named[2],
        subject=subject,
        assumptions=depends.assumptions,
        methods=depends.methods,
        by_curve=depends.by_curve,
        chips=depends.chips,
        always_open=_always_open(model),
        air=model.air,
        provisional=collector.provisional,
        shut_off_pa=float(collector.supply("clean").available_at(0.0)),
        remarks=(*shop.remarks, *collector.remarks, *_remarks(model)),
        unused=_unused(shop),
    )


def _default_choices(model: Model) -> tuple[Choice, ...]:
    alone = every_machine_alone(model)
    if not alone:
        raise InputError([Problem("every machine is switched off", "write the air one of them wants under flow")])
    return (*alone, *named_sets(model))


def key_machines(model: Model, cases: Sequence[CaseAnswer]) -> tuple[KeyMachine, KeyMachine, KeyMachine]:
    """Return the farthest, the worst and the greediest machine over all cases."""
    found = [
        _key(model, case, path.machine, path.length_m, case.wanted.margin_pa, path.excess_pa)
        for case in cases
        for path in case.wanted.paths
        if path.machine in case.asked
    ]
    if not found:
        found = [
            _key(model, case, machine, 0.0, None, 0.0)
            for case in cases
            for machine in (case.asked or model.machines[:1])
        ]
    worst = min(found, key=lambda pair: pair[1])[0]
    farthest = max(found, key=lambda pair: pair[0].length_m)[0]
    greediest = max(found, key=lambda pair: pair[2])[0]
    return farthest, worst, greediest


def _key(
    model: Model, case: CaseAnswer, machine: str, length_m: float, margin: float | None, excess: float
) -> tuple[KeyMachine, float, float]:
    answer = next((m for m in case.machines if m.machine == machine), None)
    own = None if margin is None else margin + excess
    rank = -1e12 - case.wanted.suction_total_pa + excess if own is None else own
    usual = np.array([port.wanted_m3_s for port in model.ports])
    wanted = answer.wanted_m3_s if answer else wanted_of(model, usual, machine)
    return KeyMachine(machine, case.name, length_m, own, answer), rank, wanted


def _always_open(model: Model) -> tuple[str, ...]:
    names = (p.machine for p, free in zip(model.ports, model.opening.always_open, strict=True) if free)
    return tuple(dict.fromkeys(names))


def _remarks(model: Model) -> tuple[str, ...]:
    """Return short remarks on wyes and bends that the method treats in their own way."""
    found = []
    for wye, shape in zip(model.wyes, model.tree.wyes, strict=True):
        where = f"wye in {wye.hung.run}" + (f" ({wye.hung.piece.place})" if wye.hung.piece.place else "")
        if any(angle >= 75.0 for angle in shape.angles_deg):
            found.append(f"{where}: a branch at 75 degrees or more loses far more than one at 45")
        for section in shape.streams:
            if model.tree.end_area_m2[section] > shape.outlet_area_m2 * (1.0 + 1e-9):
                found.append(f"{where}: {model.sections[section].name} arrives in a larger bore than the outlet")
    return tuple(found)


def _unused(shop: Shop) -> tuple[str, ...]:
    """Return what is written and read but does not yet change any figure."""
    settings, found = shop.settings, []
    metal = [m.name for m in settings.machines if m.metal]
    if metal:
        found.append(f"metal = true of {', '.join(metal)} (never let sparks or metal into a wood duct)")
    if settings.room.exhaust is not None or settings.room.heater:
        found.append("[room]")
    if any(p.power_w is not None for c in shop.collectors for p in c.blower):
        found.append("the blower's power")
    return tuple(found)
