"""The verdict words, in one place: what counts as served, short, more than needed, settling."""

from __future__ import annotations

from typing import Literal

import numpy as np

from ductcalc.catalog import fact

MachineWord = Literal["served", "short", "far more", "open", "shut", "off"]
SectionWord = Literal["moves", "slow", "settles", "idle", "no chips"]
Status = Literal["solved", "beyond the curve", "not converged"]

ROUNDING = 1e-9
FAR_MORE = 1.5
"""Air over wanted from which a machine is told that it has far more than it needs: our judgement, no source."""


def is_enough(flow_m3_s: float, wanted_m3_s: float) -> bool:
    """Whether a port gets at least the air it wants (both in m3/s)."""
    return flow_m3_s >= wanted_m3_s * (1.0 - ROUNDING)


def machine_word(asked: bool, is_open: bool, off: bool, served: bool, least_share: float) -> MachineWord:
    """Return a machine's word; `least_share` is flow over wanted at its poorest port."""
    if off:
        return "off"
    if not is_open:
        return "shut"
    if not asked:
        return "open"
    if not served:
        return "short"
    return "far more" if least_share >= FAR_MORE else "served"


def settling_speed(needed_m_s: float) -> float:
    """Speed [m/s] below which chips settle on the flat: a graded share of the full one (trade custom, 3500 fpm)."""
    return needed_m_s * fact("transport", "graded share").value


def section_word(
    velocity_m_s: float, riser_m_s: float | None, needed_m_s: float | None, carries_air: bool
) -> SectionWord:
    """Return a section's word: the slowest bore is graded, where the duct rises the full speed is needed.

    velocity_m_s, riser_m_s: speed in the slowest bore, and in the slowest rising one (None: nothing rises).
    needed_m_s: the speed its material needs, None when no chips pass.
    """
    if needed_m_s is None:
        return "no chips" if carries_air else "idle"
    least = 1.0 - ROUNDING
    if riser_m_s is not None and riser_m_s < needed_m_s * least:
        return "settles"
    if velocity_m_s >= needed_m_s * least:
        return "moves"
    return "slow" if velocity_m_s >= settling_speed(needed_m_s) * least else "settles"


def status_word(converged: bool, passed: bool, flow_m3_s: float, last_flow_m3_s: float) -> Status:
    """Return whether a case is an answer: solved and audited, past the curve's end, or not found."""
    if not converged or not np.isfinite(flow_m3_s):
        return "not converged"
    if flow_m3_s > last_flow_m3_s * (1.0 + ROUNDING):
        return "beyond the curve"
    return "solved" if passed else "not converged"
