"""Does the collector serve the machines: the verdict on every case asked for, and what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.chances import Chance, Sample, Widening, drawn
from ductcalc.cases.choices import (
    MOST_ALONE,
    Ask,
    Choice,
    choice_of,
    default_choices,
    every_machine_alone,
    no_machine,
)
from ductcalc.cases.key_machines import KeyMachine, key_machines
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.cases.worth import MethodAnswer, WorthAnswer, other_ways, sensitivity
from ductcalc.catalog import fact
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import found_in
from ductcalc.model.air import Air
from ductcalc.model.model import Model, build_model
from ductcalc.shop.settings import Junction, RoomSettings
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas


NUMBERS_AT_ONCE = 500_000
"""Sections times choices that are solved at once."""

@dataclass(frozen=True)
class Check:
    """The verdict. `cases`: choice by choice, loaded filter first. The loaded filter decides.

    worst, farthest, greediest: least margin, longest way, most air wanted. subject: the machine and case that
    assumptions and other methods are shown for. by_curve: air of the subject on each advertised curve.
    turned_by: for each choice the other wye methods and curves by which its verdict would be another one.
    chips: the subject at a planer's full cut, when it is such a machine. thin_air: share by which the blower pulls less
    than its papers say, 0 where nobody would notice. room, metal: where the air goes,
    machines marked as throwing metal. unused: things written, not used yet. findings:
    unasked warnings. changes: what was changed, in words. asked: the choices.
    """

    shop: str
    junction: Junction
    cases: tuple[Case, ...]
    by_default: bool
    farthest: KeyMachine
    worst: KeyMachine
    greediest: KeyMachine
    subject: KeyMachine
    assumptions: tuple[WorthAnswer, ...]
    methods: tuple[MethodAnswer, ...]
    by_curve: tuple[MethodAnswer, ...]
    turned_by: tuple[tuple[str, ...], ...]
    chips: MethodAnswer | None
    always_open: tuple[str, ...]
    air: Air
    thin_air: float
    provisional: bool
    shut_off_pa: float
    room: RoomSettings
    metal: tuple[str, ...]
    remarks: tuple[str, ...]
    unused: tuple[str, ...]
    findings: Findings = NOTHING_SEEN
    changes: tuple[str, ...] = ()
    asked: tuple[Choice, ...] = ()

    @cached_property
    def sample(self) -> Sample:
        """Drawn shops in the choices asked for, in their order, loaded filter."""
        return drawn(self.cases[0].judged.model, self.asked)

    def chance(self, case: Case, machine: str) -> Chance | None:
        """Return a machine's band of air and its chances in a case; None with the clean filter and where it rests."""
        if case.filter != "loaded" or not case.solved or not case.machine(machine).runs:
            return None
        return self.sample.chance(machine, self.loaded.index(case))

    @cached_property
    def widest(self) -> tuple[Widening, ...]:
        """What widens the band of the machine and case that decides most."""
        column = next((n for n, case in enumerate(self.loaded) if case.name == self.subject.case and case.solved), None)
        return () if column is None else self.sample.widest(self.subject.machine, column)

    @property
    def loaded(self) -> tuple[Case, ...]:
        """The cases with the loaded filter, on which the verdict stands."""
        return tuple(case for case in self.cases if case.filter == "loaded")

    @property
    def well(self) -> bool:
        """Whether everything asked for is served and nothing settles, with the loaded filter."""
        return all(case.well for case in self.loaded)

    @property
    def unanswered(self) -> tuple[Case, ...]:
        """Cases without an answer."""
        return tuple(case for case in self.loaded if not case.solved)

    def clean(self, loaded: Case) -> Case:
        """Return the case with the clean filter that belongs to a loaded one."""
        return self.cases[self.cases.index(loaded) + 1]

    def frame(self, table: str = "machines") -> pandas.DataFrame:
        """Return `machines`, `chances`, `sections`, `paths` or `cases` as a pandas table, units in its column names."""
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
    cases = _in_blocks(model, asked)
    loaded = [(choice, cases[2 * number]) for number, choice in enumerate(asked)]
    named = key_machines(model, [case for _, case in loaded])
    subject = named[1]
    column = next(n for n, (_, case) in enumerate(loaded) if case.name == subject.case)
    ways = other_ways(model, asked)
    depends = sensitivity(model, asked[column], subject.machine, ways, column)
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
        turned_by=ways.turning([case for _, case in loaded]),
        chips=depends.chips,
        always_open=model.always_open,
        air=model.air,
        thin_air=_thin_air(model),
        provisional=collector.provisional,
        shut_off_pa=float(collector.supply("clean").available_at(0.0)),
        room=shop.settings.room,
        metal=tuple(m.name for m in shop.settings.machines if m.metal),
        remarks=(*shop.remarks, *collector.remarks),
        unused=_unused(shop),
        findings=found_in(model, asked, [case for _, case in loaded]),
        changes=shop.changes,
        asked=asked,
    )


def _in_blocks(model: Model, asked: Sequence[Choice]) -> tuple[Case, ...]:
    """Solve the choices some at a time, so that memory stays bounded in a shop of a thousand ports."""
    size = max(1, NUMBERS_AT_ONCE // len(model.sections))
    blocks = (asked[first : first + size] for first in range(0, len(asked), size))
    return tuple(case for block in blocks for case in read_cases(solve_choices(model, block, tells_wanted=True)))


def _default_choices(model: Model) -> tuple[Choice, ...]:
    alone = every_machine_alone(model)
    if not alone:
        raise no_machine(model)
    if len(alone) > MOST_ALONE:
        raise InputError(
            [
                Problem(
                    f"{len(alone)} machines are too many to take each on its own",
                    "choose some with --open or --set, or take --all-open",
                )
            ]
        )
    return default_choices(model)


def _thin_air(model: Model) -> float:
    """Return the share of its curve's density that the local air lacks, 0 below what counts as thin."""
    missing = 1.0 - model.air.density_kg_m3 / collector_of(model).rated.density_kg_m3
    return missing if missing >= fact("findings", "thin air").value else 0.0


def _unused(shop: Shop) -> tuple[str, ...]:
    """Return what is written and read but does not yet change any figure or remark."""
    lone = any(sum(p.power_w is not None for p in collector.blower) == 1 for collector in shop.collectors)
    return ("the blower's power, which takes two points or more",) if lone else ()
