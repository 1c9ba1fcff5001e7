"""Loss of every section at given flows, with its slope; friction carries its Colebrook root from call to call."""

from __future__ import annotations

import numpy as np

from ductcalc.arrays import Floats
from ductcalc.physics.friction import TURBULENT_REYNOLDS, colebrook_step, explicit_root, with_laminar
from ductcalc.solve.numbers import FrictionRows, Numbers
from ductcalc.solve.tree import rows_of


def first_root(rows: FrictionRows, flow_m3_s: Floats) -> Floats:
    """Return a starting Colebrook root (rows, cases) at the given section flows."""
    reynolds = rows_of(flow_m3_s, rows.section) * rows.reynolds_per_flow
    return np.asarray(explicit_root(np.maximum(reynolds, TURBULENT_REYNOLDS), rows.roughness))


def friction_terms(rows: FrictionRows, root: Floats, flow_m3_s: Floats) -> tuple[Floats, Floats, Floats]:
    """Return (new root, loss per flow [Pa s/m3], slope [Pa s/m3]) of each friction row at its section's flow."""
    flow = rows_of(flow_m3_s, rows.section)
    reynolds = flow * rows.reynolds_per_flow
    root, steepness = map(
        np.asarray, colebrook_step(root, np.maximum(reynolds, TURBULENT_REYNOLDS), rows.roughness)
    )
    factor = 1.0 / (root * root)
    slow = reynolds < TURBULENT_REYNOLDS
    if slow.any():
        factor[slow], steepness[slow] = with_laminar(factor[slow], steepness[slow], reynolds[slow])
    per_flow = factor * rows.loss * flow
    return root, per_flow, per_flow * (2.0 + steepness)


def section_losses(
    numbers: Numbers, root: Floats, flow_m3_s: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return (new root, loss [Pa], slope [Pa s/m3]) of every section (sections, cases) at the given flows."""
    per_flow = numbers.fixed * flow_m3_s
    slope = 2.0 * per_flow
    if len(numbers.friction.section):
        root, row_loss, row_slope = friction_terms(numbers.friction, root, flow_m3_s)
        for stretch in numbers.friction.rounds:
            section = numbers.friction.section[stretch]
            per_flow[section] += row_loss[stretch]
            slope[section] += row_slope[stretch]
    loss = per_flow * flow_m3_s
    if numbers.power is not None:
        extra = numbers.power * flow_m3_s ** (numbers.power_exponent - 1.0)
        loss += extra * flow_m3_s
        slope += numbers.power_exponent * extra
    return root, loss, slope
