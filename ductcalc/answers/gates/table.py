"""Every solved gate set as columns: the proof by list, for CSV and pandas alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.sets import mask_of, places_of
from ductcalc.answers.gates.verdicts import Verdicts

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class SetTable:
    """A row per solved set, plain ones first, then the named ones (sets,).

    open: (sets, machines). air_m3_s: (sets, machines), what enters there, with a shut gate what it leaks; nan when a
    set has no answer. name: of a named set. helpers: open machines that make no chips. section, speed_m_s,
    needed_m_s: the slowest section. largest, forbidden: largest sets with everybody served, smallest ones that are
    not; False for all when not every set was solved.
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
    settling: NDArray[np.intp]
    word: tuple[str, ...]
    largest: Flags
    forbidden: Flags


def set_table(gates: Gates) -> SetTable:
    """Return the table of a shop's gate sets."""
    parts = [(gates.judged, ("",) * len(gates.judged.open))]
    if gates.named_judged is not None:
        parts.append((gates.named_judged, tuple(answer.name for answer in gates.named)))
    tables = [_part(gates, judged, names) for judged, names in parts]
    if len(tables) == 1:
        return tables[0]
    one, other = tables
    joined: dict[str, Any] = {
        field: np.concatenate([getattr(one, field), getattr(other, field)])
        for field in ("open", "air_m3_s", "speed_m_s", "needed_m_s", "served", "settling", "largest", "forbidden")
    }
    words = ("name", "helpers", "section", "word")
    told: dict[str, Any] = {field: getattr(one, field) + getattr(other, field) for field in words}
    return SetTable(machines=gates.machines, **joined, **told)


def _part(gates: Gates, judged: Verdicts, names: tuple[str, ...]) -> SetTable:
    count, sets = len(judged.open), judged.sets
    masks = np.array(judged.open, dtype=object)
    opened = np.array([[bool(mask >> place & 1) for place in range(len(gates.machines))] for mask in masks], dtype=bool)
    moving = np.isfinite(judged.speed_share) & judged.solved
    speed, needed, _ = judged.speeds(np.arange(count))
    solved = judged.solved
    plain = judged is gates.judged
    return SetTable(
        machines=gates.machines,
        name=names,
        open=opened,
        helpers=tuple(_helpers(judged, number) for number in range(count)),
        air_m3_s=np.where(solved[:, None], sets.flow_m3_s[judged.rows], np.nan),
        section=tuple(
            sets.model.sections[section].name if moves else ""
            for section, moves in zip(judged.slowest.tolist(), moving.tolist(), strict=True)
        ),
        speed_m_s=np.where(moving, speed, np.nan),
        needed_m_s=np.where(moving, needed, np.nan),
        served=solved & judged.served,
        settling=np.where(solved, judged.settling, 0),
        word=tuple(judged.word(number) for number in range(count)),
        largest=_marked(gates, judged, [a.open for a in gates.largest] if plain else []),
        forbidden=_marked(gates, judged, gates.forbidden if plain else []),
    )


def _helpers(judged: Verdicts, number: int) -> str:
    helping = judged.open[number] & ~judged.running[number]
    return ", ".join(judged.sets.machines[place] for place in places_of(helping))


def _marked(gates: Gates, judged: Verdicts, groups: Sequence[Sequence[str]]) -> Flags:
    """Return which sets (sets,) are among some groups of machines."""
    place = {machine: number for number, machine in enumerate(gates.machines)}
    wanted = {mask_of(place[machine] for machine in group) for group in groups}
    return np.array([mask in wanted for mask in judged.open], dtype=bool)
