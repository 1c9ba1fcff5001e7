"""From a model and a choice of open ports to the arrays that the solver takes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ductcalc.model.air import Air
from ductcalc.model.decided import Pick, middle
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model
from ductcalc.model.opening import OpenState
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.friction import HANDBOOK_EXPONENT, handbook_friction_per_m
from ductcalc.physics.leakage import joint_leak_constant
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.bore import hydraulic_diameter, perimeter
from ductcalc.shop.names import key_of
from ductcalc.solve.numbers import FrictionRows, Numbers

Floats = NDArray[np.float64]


def numbers_of(model: Model, state: OpenState, pick: Pick = middle) -> Numbers:
    """Return the solver's arrays (sections, cases) for what is open, with each decided number as picked."""
    sections, density = model.sections, model.air.density_kg_m3
    load = float(loaded_duct_factor(model.loading))
    heads, ports = _heads(model, state, pick)
    bodies = [section.body for section in sections]
    body = load * np.array([[_fixed(s.body, density, pick)] for s in sections])
    extra = np.array([[shut_extra(model, section.body, pick)] for section in sections])
    shut = state.shut.astype(np.float64)
    closed, sealed = _closed(model, state, np.isinf(extra[:, 0]))
    added = np.where(state.shut, np.where(np.isinf(extra), 0.0, extra), 0.0)
    colebrook = model.friction == "colebrook"
    return Numbers(
        density_kg_m3=density,
        fixed=body + heads + added,
        before=ports,
        shut=shut,
        closed=closed,
        leak=np.where(sealed, 0.0, _leak(model, state, pick)),
        friction=_friction(bodies, model.air, pick, load) if colebrook else _no_friction(),
        power=None if colebrook else _handbook(bodies, density, pick, load),
        power_exponent=HANDBOOK_EXPONENT,
        source=own_blowers(model, state),
        wye_load=None if load == 1.0 else np.array([[load]]),
    )


def own_blowers(model: Model, state: OpenState) -> Floats | None:
    """Return what running machines' own blowers push [Pa] at the start of their sections (sections, cases)."""
    pushing = {key_of(m.name): m.own_blower_pa for m in model.shop.settings.machines if m.own_blower_pa is not None}
    if not pushing:
        return None
    found = np.zeros_like(state.live, dtype=np.float64)
    for number, port in enumerate(model.ports):
        found[port.section] += np.where(state.running[number], pushing.get(key_of(port.machine), 0.0), 0.0)
    return found


def _charged(loss: Loss, density: float, k: float) -> float:
    return k * 0.5 * density / loss.area_m2**2


def _fixed(losses: tuple[Loss, ...], density: float, pick: Pick) -> float:
    return sum(_charged(loss, density, pick(loss.k)) for loss in losses if loss.k is not None)


def _shutting(body: tuple[Loss, ...], density: float, pick: Pick) -> float:
    total = 0.0
    for loss in body:
        if loss.shut_k is None:
            continue
        assert loss.k is not None
        total += _charged(loss, density, pick(loss.shut_k) - pick(loss.k))
    return total


def _heads(model: Model, state: OpenState, pick: Pick) -> tuple[Floats, Floats]:
    """Resistance of the port that feeds each section with its reducer, and of the port alone."""
    density = model.air.density_kg_m3
    load = float(loaded_duct_factor(model.loading))
    most = max((len(section.heads) for section in model.sections), default=0)
    whole = np.zeros((len(model.sections), max(most, 1)))
    alone = np.zeros_like(whole)
    for number, section in enumerate(model.sections):
        for place, head in enumerate(section.heads):
            alone[number, place] = _fixed(head[:1], density, pick)
            whole[number, place] = alone[number, place] + load * _fixed(head[1:], density, pick)
    if most <= 1:
        return whole, alone
    feeding = model.opening.feeding(state)
    return np.take_along_axis(whole, feeding, 1), np.take_along_axis(alone, feeding, 1)


def _closed(model: Model, state: OpenState, tight: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Sections that pass no air, and those of them whose joints feel no suction (behind a tight shut gate)."""
    dead = np.zeros(len(model.sections), dtype=bool)
    dead[[n for n, s in enumerate(model.sections) if not s.heads and model.tree.wye_above[n] < 0]] = True
    opening = model.opening
    used = {port.section for port in model.ports if not port.off}
    capped = [p.section for p in model.ports if p.off and p.section not in used and not opening.gated[p.section]]
    dead[capped] = True
    blocked = state.shut & tight[:, None]
    behind = np.zeros_like(blocked)
    for _, outlet, streams, _ in reversed(model.tree.walk):
        for stream in streams:
            behind[stream] = blocked[outlet] | behind[outlet]
    return dead[:, None] | blocked | behind, behind


def _leak(model: Model, state: OpenState, pick: Pick) -> Floats:
    share = pick(model.leakage_class)
    whole = np.array([[float(joint_leak_constant(share, s.surface_m2()))] for s in model.sections])
    after = np.array([[float(joint_leak_constant(share, s.surface_m2(True)))] for s in model.sections])
    return np.where(state.shut, after, whole)


def stretch_numbers(model: Model, bodies: Sequence[tuple[Loss, ...]], pick: Pick = middle) -> Numbers:
    """Return the solver's arrays of stretches of duct as if each were a section without ports, joints or shut gates.

    Losses at given flows are read from it (`solve.losses.section_losses`): it belongs to no tree.
    """
    density, load = model.air.density_kg_m3, float(loaded_duct_factor(model.loading))
    colebrook, none = model.friction == "colebrook", np.zeros((len(bodies), 1))
    return Numbers(
        density_kg_m3=density,
        fixed=load * np.array([[_fixed(body, density, pick)] for body in bodies]).reshape(-1, 1),
        before=none,
        shut=none,
        closed=none > 0.0,
        leak=none,
        friction=_friction(bodies, model.air, pick, load) if colebrook else _no_friction(),
        power=None if colebrook else _handbook(bodies, density, pick, load),
        power_exponent=HANDBOOK_EXPONENT,
    )


def shut_extra(model: Model, body: tuple[Loss, ...], pick: Pick = middle) -> float:
    """Return what shutting its gates adds to a stretch's resistance [Pa s2/m6]; infinite when one of them is tight."""
    return float(loaded_duct_factor(model.loading)) * _shutting(body, model.air.density_kg_m3, pick)


def _friction(bodies: Sequence[tuple[Loss, ...]], air: Air, pick: Pick, load: float) -> FrictionRows:
    """One row for each bore and roughness of a section; the first rows of all sections, then the second ones."""
    density, mu = air.density_kg_m3, air.viscosity_pa_s
    rows: list[tuple[int, int, float, float, float]] = []
    for number, body in enumerate(bodies):
        together: dict[tuple[float, float, str | None], list[float]] = {}
        for loss in body:
            if loss.has_friction:
                assert loss.roughness_m is not None and loss.factor is not None
                key = (loss.bore_m, loss.roughness_m.value, loss.roughness_m.assumed)
                row = together.setdefault(key, [pick(loss.roughness_m), 0.0])
                row[1] += loss.length_m * pick(loss.factor)
        rows += [(place, number, key[0], row[0], row[1]) for place, (key, row) in enumerate(together.items())]
    rows.sort(key=lambda row: row[:2])
    bore, rough, length = (np.array([row[part] for row in rows]).reshape(-1, 1) for part in (2, 3, 4))
    around, hydraulic = (
        np.array([of(row[2]) for row in rows]).reshape(-1, 1) for of in (perimeter, hydraulic_diameter)
    )
    area = np.pi / 4.0 * bore**2
    return FrictionRows(
        np.array([row[1] for row in rows], dtype=np.intp),
        load * length / hydraulic * 0.5 * density / area**2,
        4.0 * density / (around * mu),
        rough / hydraulic,
    )


def _no_friction() -> FrictionRows:
    empty = np.empty((0, 1))
    return FrictionRows(np.empty(0, dtype=np.intp), empty, empty, empty)


def _handbook(bodies: Sequence[tuple[Loss, ...]], density: float, pick: Pick, load: float) -> Floats:
    """Resistance [Pa s^p/m^3p] of straight lengths by the sheet's fitted formula, whose power of flow is 1.921."""
    total = np.zeros((len(bodies), 1))
    for number, body in enumerate(bodies):
        for loss in body:
            if loss.has_friction:
                assert loss.factor is not None
                like_round = float(bore_area(hydraulic_diameter(loss.bore_m))) / loss.area_m2
                per_m, _ = handbook_friction_per_m(1.0 / loss.area_m2, like_round)
                total[number] += load * pick(loss.factor) * loss.length_m * per_m * 0.5 * density / loss.area_m2**2
    return total
