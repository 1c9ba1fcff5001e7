"""A sizing as a pandas table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ductcalc.answers.size.reasons import Neighbour
from ductcalc.answers.size.sizing import SizedStretch, Sizing

if TYPE_CHECKING:
    import pandas

    from ductcalc.answers.size.drop import DropSize, DropSizing


def sizing_frame(sizing: Sizing) -> pandas.DataFrame:
    """Return a row for each stretch: bores now and chosen, and what the next sizes would do."""
    import pandas

    return pandas.DataFrame([_row(stretch) for stretch in sizing.stretches])


def _row(stretch: SizedStretch) -> dict[str, Any]:
    return {
        "stretch": stretch.stretch,
        "run": stretch.run,
        "now_m": max(stretch.now_m),
        "chosen_m": max(stretch.chosen_m),
        "held": stretch.held,
        **_beside("down", stretch.down),
        **_beside("up", stretch.up),
    }


def _beside(name: str, beside: Neighbour | None) -> dict[str, Any]:
    return {
        f"{name}_m": None if beside is None else beside.size_m,
        f"{name}_verdict": None if beside is None else beside.worst.kind,
        f"{name}_set": None if beside is None or not beside.worst.case else beside.worst.case,
        f"{name}_sets_lost": None if beside is None else beside.sets_lost,
        f"{name}_added_cost": None if beside is None else beside.added_cost,
    }


def drop_frame(drop: DropSizing) -> pandas.DataFrame:
    """Return a row for each size of a run: its poorest port, its slowest section, sets that are fine."""
    import pandas

    return pandas.DataFrame([_size(size) for size in drop.sizes])


def _size(size: DropSize) -> dict[str, Any]:
    poor, slow = size.poorest, size.slowest
    return {
        "size_m": size.size_m,
        "machine": None if poor is None else poor.machine,
        "flow_m3_s": None if poor is None else poor.flow_m3_s,
        "wanted_m3_s": None if poor is None else poor.wanted_m3_s,
        "slowest_section": None if slow is None else slow.section,
        "velocity_m_s": None if slow is None else slow.velocity_m_s,
        "needed_m_s": None if slow is None else slow.needed_m_s,
        "settling_velocity_m_s": None if slow is None else slow.settling_velocity_m_s,
        "sets": size.sets,
        "fine": size.fine,
        "all_fine": size.all_fine,
    }
