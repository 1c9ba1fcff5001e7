"""Every solved gate set as columns: the proof by list, for CSV and pandas alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.sets import AskedSets, mask_of, places_of
from ductcalc.arrays import Flags, Floats, Places

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class SetTable:
    """A row per solved set, plain ones first, then the named ones (sets,).

    open: (sets, machines). air_m3_s: (sets, machines), what enters there, with a shut gate what it leaks; nan when a
    set has no answer. name: of a named set. helpers: open machines that make no chips. section, speed_m_s,
    needed_m_s: the slowest section. largest, forbidden: largest sets in which nobody is short, smallest ones in
    which somebody is; False for all when not every set was solved.
    """

    machines: tuple[str, ...]
    name: tuple[str, ...]
    open: Flags
    helpers: tuple[str, ...]
    air_m3_s: Floats
    section: tuple[str, ...]
    speed_m_s: Floats
    needed_m_s: Floats
    served: Flags
    may_run: Flags
    settling: Places
    word: tuple[str, ...]
    largest: Flags
    forbidden: Flags


def set_table(gates: Gates) -> SetTable:
    """Return the table of a shop's gate sets."""
    parts = [_part(gates, gates.asked, ("",) * len(gates.asked.opened))]
    if gates.named_asked is not None:
        parts.append(_part(gates, gates.named_asked, tuple(case.name for case in gates.named)))
    one, *other = parts
    joined: dict[str, Any] = {}
    for field in fields(SetTable):
        values = [getattr(part, field.name) for part in parts]
        if field.name != "machines":
            joined[field.name] = sum(values, ()) if isinstance(values[0], tuple) else np.concatenate(values)
    return SetTable(machines=gates.machines, **joined) if other else one


def _part(gates: Gates, asked: AskedSets, names: tuple[str, ...]) -> SetTable:
    judged, store = asked.judged, asked.store
    solved, plain = judged.solved, asked is gates.asked
    columns, slowest = np.arange(judged.count), judged.slowest
    moving = np.isfinite(judged.case_settling_share) & solved
    speed = judged.section_flow_m3_s[slowest, columns] / store.yardstick.deciding_area[slowest, 0]
    names_of = [section.name for section in store.model.sections]
    return SetTable(
        machines=gates.machines,
        name=names,
        open=judged.asked[store.row].T,
        helpers=tuple(_helpers(asked, number) for number in range(judged.count)),
        air_m3_s=np.where(solved[:, None], judged.machine_flow_m3_s[store.row].T, np.nan),
        section=tuple(names_of[s] if m else "" for s, m in zip(slowest.tolist(), moving.tolist(), strict=True)),
        speed_m_s=np.where(moving, speed, np.nan),
        needed_m_s=np.where(moving, judged.needed_m_s[slowest, columns], np.nan),
        served=judged.served,
        may_run=judged.may_run,
        settling=np.where(solved, judged.settling, 0),
        word=tuple(judged.word(number) for number in range(judged.count)),
        largest=_marked(gates, asked, [case.asked for case in gates.largest] if plain else []),
        forbidden=_marked(gates, asked, gates.forbidden if plain else []),
    )


def _helpers(asked: AskedSets, number: int) -> str:
    helping = asked.opened[number] & ~asked.running[number]
    return ", ".join(asked.store.machines[place] for place in places_of(helping))


def _marked(gates: Gates, asked: AskedSets, groups: Sequence[Sequence[str]]) -> Flags:
    """Return which sets (sets,) are among some groups of machines."""
    place = {machine: number for number, machine in enumerate(gates.machines)}
    wanted = {mask_of(place[machine] for machine in group) for group in groups}
    return np.array([mask in wanted for mask in asked.opened], dtype=bool)


def gates_frame(gates: Gates) -> pandas.DataFrame:
    """Return every solved gate set: a boolean column per machine, its air, the slowest section, the word; SI units."""
    import pandas

    table = set_table(gates)
    columns: dict[str, Any] = {machine: table.open[:, n] for n, machine in enumerate(table.machines)}
    columns["named set"] = list(table.name)
    columns["helpers"] = list(table.helpers)
    columns |= {f"air {machine} [m3/s]": table.air_m3_s[:, n] for n, machine in enumerate(table.machines)}
    columns |= {
        "slowest section": list(table.section),
        "speed [m/s]": table.speed_m_s,
        "needed speed [m/s]": table.needed_m_s,
        "served": table.served,
        "may run": table.may_run,
        "settling sections": table.settling,
        "word": list(table.word),
        "largest": table.largest,
        "forbidden": table.forbidden,
    }
    return pandas.DataFrame(columns)
