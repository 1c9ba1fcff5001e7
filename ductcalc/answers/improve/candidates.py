"""What may be changed: every candidate for a case; other sizes of pipe, a section or a run at a time."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.improve.candidate import SECTION, Candidate
from ductcalc.answers.improve.collector import whole_shop
from ductcalc.answers.improve.fittings import easier_elbows, slanted_wyes
from ductcalc.answers.improve.hoses import hoses
from ductcalc.answers.improve.ports import ports
from ductcalc.answers.improve.use import other_uses, tightness
from ductcalc.answers.size.stretches import Design, Plan, plan_of
from ductcalc.cases.choices import Choice
from ductcalc.model.model import Model
from ductcalc.shop.change import sections_sized
from ductcalc.shop.names import key_of
from ductcalc.shop.standing import SAME_M, rows_of, run_named, standing


def candidates(model: Model, choice: Choice, settling: bool = False) -> tuple[Candidate, ...]:
    """Return every single change of a shop that is spelled out, in the order of the families.

    choice: the case that is improved; settling: whether chips do in it.
    """
    shop = model.shop
    return (
        *other_uses(model, choice, settling),
        *ports(model),
        *hoses(shop),
        *pipe_sizes(model, settling),
        *easier_elbows(shop),
        *slanted_wyes(shop),
        *tightness(model, choice),
        *whole_shop(model),
    )


FAR = 3
"""Sizes down that are tried where chips settle; elsewhere one."""


def pipe_sizes(model: Model, settles: bool) -> Iterator[Candidate]:
    """Yield every stretch a size up or down, or all in its widest bore, with what must follow it.

    settles: chips settle in the case that is improved, so that further sizes down are tried.
    """
    plan = plan_of(model)
    tried: set[Design] = set()
    for number in plan.free:
        for design in _designs(plan, number, settles):
            if design not in tried:
                tried.add(design)
                yield _candidate(plan, number, design)


def _designs(plan: Plan, number: int, settles: bool) -> Iterator[Design]:
    written = plan.written
    if len(plan.stretches[number].now_m) > 1:
        yield written
    if (up := plan.step(written, number, 1)) is not None:
        yield up
    down: Design | None = written
    for _ in range(FAR if settles else 1):
        down = None if down is None else plan.step(down, number, -1)
        if down is not None:
            yield down


def _candidate(plan: Plan, number: int, design: Design) -> Candidate:
    """Return the change from what is written to a design, told by the stretch that begins it."""
    first, written = plan.stretches[number], plan.written
    moved = [n for n in plan.free if n == number or abs(design[n] - written[n]) > SAME_M]
    sizes = {(key_of(plan.stretches[n].run), plan.stretches[n].number): design[n] for n in moved}
    runs = dict.fromkeys(plan.stretches[n].run for n in moved)
    pieces = [one for run in runs for one in standing(run_named(plan.shop, run))]
    mine = [one for one in pieces if (key_of(one.run.name), one.section) in sizes and not one.piece.traits.keeps_bore]
    same = abs(design[number] - first.written_m) < SAME_M
    return Candidate(
        "pipe size" if len(moved) == 1 else "main size",
        sections_sized(sizes),
        "size",
        min(first.now_m) if same else first.written_m,
        design[number],
        first.run if len(runs) == 1 else None,
        first.name if len(moved) == 1 else None,
        tuple(plan.stretches[n].name for n in moved),
        rows_of(mine),
        touches=frozenset(("bore", *key) for key in sizes),
        rank=SECTION,
    )
