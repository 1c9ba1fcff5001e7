"""From a model and a choice of open ports to the arrays that the solver takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ductcalc.arrays import Flags, Floats
from ductcalc.model.air import Air
from ductcalc.model.decided import Decided, Pick, middle
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model
from ductcalc.model.opening import OpenState
from ductcalc.physics.amounts import Amount
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.friction import HANDBOOK_EXPONENT, handbook_friction_per_m
from ductcalc.physics.leakage import joint_leak_constant
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.bore import hydraulic_diameter, perimeter
from ductcalc.shop.names import key_of
from ductcalc.solve.numbers import FrictionRows, Numbers

Picking = Callable[[Decided], Amount]
"""A decided number as picked: one for all cases, or one for each (cases,)."""


def numbers_of(model: Model, state: OpenState, *picks: Pick) -> Numbers:
    """Return the solver's arrays (sections, cases) for what is open, each decided number as picked (none: as decided).

    Of several picks the cases are those of the state by the first, then by the second, and so on.
    """
    cases = state.shut.shape[1]
    pick: Picking = picks[0] if picks else middle
    if len(picks) > 1:
        state, pick = state.columns(np.tile(np.arange(cases), len(picks))), _side_by_side(picks, cases)
    sections, density = model.sections, model.air.density_kg_m3
    load = float(loaded_duct_factor(model.loading))
    heads, ports = _heads(model, state, pick)
    bodies = [section.body for section in sections]
    body = load * _rows([_fixed(own, density, pick) for own in bodies])
    extra = _rows([shut_extra(model, own, pick) for own in bodies])
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


def _side_by_side(picks: Sequence[Pick], cases: int) -> Picking:
    """Return all picks at once, each for so many cases."""
    return lambda decided: np.repeat(np.array([pick(decided) for pick in picks]), cases)


def _rows(values: Sequence[Amount]) -> Floats:
    """Return values, each one number or one for each case, as rows (values, 1 or cases)."""
    wide = next((len(value) for value in values if isinstance(value, np.ndarray)), None)
    if wide is None:
        return np.array(values, dtype=np.float64).reshape(-1, 1)
    return np.array([np.broadcast_to(value, (wide,)) for value in values])


def own_blowers(model: Model, state: OpenState) -> Floats | None:
    """Return what running machines' own blowers push [Pa] at the start of their sections (sections, cases)."""
    pushing = {key_of(m.name): m.own_blower_pa for m in model.shop.settings.machines if m.own_blower_pa is not None}
    if not pushing:
        return None
    found = np.zeros_like(state.live, dtype=np.float64)
    for number, port in enumerate(model.ports):
        found[port.section] += np.where(state.running[number], pushing.get(key_of(port.machine), 0.0), 0.0)
    return found


def _charged(loss: Loss, density: float, k: Amount) -> Amount:
    return k * 0.5 * density / loss.area_m2**2


def _fixed(losses: tuple[Loss, ...], density: float, pick: Picking) -> Amount:
    return sum(_charged(loss, density, pick(loss.k)) for loss in losses if loss.k is not None)


def _shutting(body: tuple[Loss, ...], density: float, pick: Picking) -> Amount:
    total: Amount = 0.0
    for loss in body:
        if loss.shut_k is None:
            continue
        assert loss.k is not None
        total += _charged(loss, density, pick(loss.shut_k) - pick(loss.k))
    return total


def _heads(model: Model, state: OpenState, pick: Picking) -> tuple[Floats, Floats]:
    """Resistance of the port that feeds each section with its reducer, and of the port alone."""
    density, load = model.air.density_kg_m3, float(loaded_duct_factor(model.loading))
    most = max(1, *(len(section.heads) for section in model.sections))
    heads = [section.heads[place : place + 1] for section in model.sections for place in range(most)]
    alone = _rows([sum(_fixed(head[:1], density, pick) for head in some) for some in heads])
    whole = alone + load * _rows([sum(_fixed(head[1:], density, pick) for head in some) for some in heads])
    if most == 1:
        return whole, alone
    feeding = model.opening.feeding(state) + most * np.arange(len(model.sections))[:, None]
    return np.take_along_axis(whole, feeding, 0), np.take_along_axis(alone, feeding, 0)


def _closed(model: Model, state: OpenState, tight: Flags) -> tuple[Flags, Flags]:
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


def _leak(model: Model, state: OpenState, pick: Picking) -> Floats:
    surfaces = np.array([section.surfaces_m2 for section in model.sections])
    whole, after = surfaces[:, :1], surfaces[:, 1:]
    return np.asarray(joint_leak_constant(pick(model.leakage_class), np.where(state.shut, after, whole)))


def stretch_numbers(model: Model, bodies: Sequence[tuple[Loss, ...]], pick: Pick = middle) -> Numbers:
    """Return the solver's arrays of stretches of duct as if each were a section without ports, joints or shut gates.

    Losses at given flows are read from it (`solve.losses.section_losses`): it belongs to no tree.
    """
    density, load = model.air.density_kg_m3, float(loaded_duct_factor(model.loading))
    colebrook, none = model.friction == "colebrook", np.zeros((len(bodies), 1))
    return Numbers(
        density_kg_m3=density,
        fixed=load * _rows([_fixed(body, density, pick) for body in bodies]),
        before=none,
        shut=none,
        closed=none > 0.0,
        leak=none,
        friction=_friction(bodies, model.air, pick, load) if colebrook else _no_friction(),
        power=None if colebrook else _handbook(bodies, density, pick, load),
        power_exponent=HANDBOOK_EXPONENT,
    )


def shut_extra(model: Model, body: tuple[Loss, ...], pick: Picking = middle) -> Amount:
    """Return what shutting its gates adds to a stretch's resistance [Pa s2/m6]; infinite when one of them is tight."""
    return float(loaded_duct_factor(model.loading)) * _shutting(body, model.air.density_kg_m3, pick)


def _friction(bodies: Sequence[tuple[Loss, ...]], air: Air, pick: Picking, load: float) -> FrictionRows:
    """One row for each bore and roughness of a section; the first rows of all sections, then the second ones."""
    density, mu = air.density_kg_m3, air.viscosity_pa_s
    rows: list[tuple[int, int, float, Amount, Amount]] = []
    for number, body in enumerate(bodies):
        together: dict[tuple[float, float, str | None], list[Amount]] = {}
        for loss in body:
            if loss.has_friction:
                assert loss.roughness_m is not None and loss.factor is not None
                key = (loss.bore_m, loss.roughness_m.value, loss.roughness_m.assumed)
                row = together.setdefault(key, [pick(loss.roughness_m), 0.0])
                row[1] = row[1] + loss.length_m * pick(loss.factor)
        rows += [(place, number, key[0], row[0], row[1]) for place, (key, row) in enumerate(together.items())]
    rows.sort(key=lambda row: row[:2])
    bore, rough, length = (_rows([row[part] for row in rows]) for part in (2, 3, 4))
    around, hydraulic = (_rows([of(row[2]) for row in rows]) for of in (perimeter, hydraulic_diameter))
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


def _handbook(bodies: Sequence[tuple[Loss, ...]], density: float, pick: Picking, load: float) -> Floats:
    """Resistance [Pa s^p/m^3p] of straight lengths by the sheet's fitted formula, whose power of flow is 1.921."""
    return _rows([sum(_fitted(loss, density, pick, load) for loss in body if loss.has_friction) for body in bodies])


def _fitted(loss: Loss, density: float, pick: Picking, load: float) -> Amount:
    assert loss.factor is not None
    like_round = float(bore_area(hydraulic_diameter(loss.bore_m))) / loss.area_m2
    per_m, _ = handbook_friction_per_m(1.0 / loss.area_m2, like_round)
    return load * pick(loss.factor) * loss.length_m * per_m * 0.5 * density / loss.area_m2**2
