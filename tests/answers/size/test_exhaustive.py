"""Against every design that keeps the rules, on small shops: as many sets that may run, and within 3 % of its cost."""

from __future__ import annotations

import os
from itertools import product

import numpy as np
import pytest

from ductcalc.answers.size.cost import Costs
from ductcalc.answers.size.search import DesignSearch
from ductcalc.answers.size.stretches import plan_of
from ductcalc.cases.choices import every_machine_alone, named_sets
from ductcalc.cases.solving import solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.answers.size.shops import sensible

LONG = bool(os.environ.get("DUCTCALC_LONG"))
MOST, NEAR = 3000, 1.03


def search_of(shop: Shop) -> DesignSearch:
    model = build_model(shop)
    choices = (*every_machine_alone(model), *named_sets(model))
    plan = plan_of(model)
    costs, _ = Costs.of(plan, model)
    now = solve_choices(model, choices, ("loaded",)).judged
    return DesignSearch(plan, choices, np.ones(len(choices), bool), now, costs)


@pytest.mark.parametrize("seed", range(30 if LONG else 4))
@pytest.mark.parametrize("spoilt", [False, True])
def test_steps_find_what_trying_everything_finds(seed: int, spoilt: bool) -> None:
    search = search_of(sensible(200 + seed, machines=2 + seed % 2, spoilt=spoilt))
    best, plan = search.best(), search.plan
    sizes = [stretch.sizes_m or (stretch.written_m,) for stretch in plan.stretches]
    every = [design for design in product(*sizes) if plan.upward(design) == design]
    assert best is not None and len(every) > 1
    if len(every) > MOST:
        every = every[:: len(every) // MOST + 1]
    whole = min(search.solve(every), key=lambda one: one.key)
    assert best.key[:-1] <= whole.key[:-1]
    if best.key[:-1] == whole.key[:-1]:
        assert best.key[-1] <= NEAR * whole.key[-1]
