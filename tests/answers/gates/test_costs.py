"""Forgotten and leaking gates against the check on the changed shop; what opening a gate can never do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.gates import forgotten
from ductcalc.answers.gates.forgotten import tightest
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.sets import GateSets
from ductcalc.cases.choices import Choice
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.gate_shops import random_rows
from tests.scenes import BARE, Rows, cap, end, gate, other, port, run, shop, tight, wye

SEEDS = range(4)
NAMED = {"leak": "1.5 %"}


@cache
def rows(seed: int) -> Rows:
    return random_rows(np.random.default_rng(100 + seed), 4)


def made(seed: int, table: Rows | None = None, **settings: object) -> Shop:
    return ductcalc.shop_from_rows(table or rows(seed), BARE, settings or {"gates": NAMED})


@cache
def found(seed: int) -> Gates:
    return gates(made(seed))


def air(of: Shop, *machines: str) -> dict[str, float]:
    case = ductcalc.check(of, [ductcalc.Ask.machines(*machines)]).loaded[0]
    return {m.machine: m.flow_m3_s for m in case.machines}


@pytest.mark.parametrize("seed", SEEDS)
def test_a_forgotten_gate_costs_what_the_check_says(seed: int) -> None:
    assert found(seed).left_open
    for left in found(seed).left_open:
        assert left.alone_m3_s == pytest.approx(air(made(seed), left.machine)[left.machine], rel=1e-9)
        then = {gate: air(made(seed), left.machine, gate)[left.machine] for gate, _ in left.by_gate}
        assert dict(left.by_gate) == pytest.approx(then, rel=1e-9)
        assert left.worst_gate == min(then, key=lambda gate: then[gate])
        assert left.worst_m3_s == min(flow for _, flow in left.by_gate)
        case = ductcalc.check(made(seed), [Choice("", (left.machine, left.worst_gate), (left.worst_gate,))]).loaded[0]
        assert left.grade == case.machine(left.machine).grade


@pytest.mark.parametrize("seed", SEEDS)
def test_other_gates_are_all_but_those_on_the_same_hose(seed: int) -> None:
    apart = [set(pair) for pair in found(seed).sharing]
    assert found(seed).left_open
    for left in found(seed).left_open:
        expected = {m for m in found(seed).machines if m != left.machine and {m, left.machine} not in apart}
        assert {gate for gate, _ in left.by_gate} == expected


@pytest.mark.parametrize("seed", SEEDS)
def test_leaks_cost_what_the_check_says_of_the_changed_shop(seed: int) -> None:
    assert found(seed).leaks
    for leak in found(seed).leaks:
        assert leak.stated_m3_s == pytest.approx(air(made(seed), leak.machine)[leak.machine], rel=1e-9)
        assert [share for share, _ in leak.by_share] == [0.0, 0.01, 0.03]
        for share, flow in leak.by_share:
            changed = made(seed, gates={"leak": f"{100.0 * share:g} %"})
            assert flow == pytest.approx(air(changed, leak.machine)[leak.machine], rel=1e-9)


def tightened(table: Sequence[dict[str, object]], number: int) -> Rows:
    """Return the table with the gate in this row tight."""
    return [{**row, "leak": "0 %"} if place == number else dict(row) for place, row in enumerate(table)]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_gate_whose_tightness_matters_most_is_that_of_an_exhaustive_trial(seed: int) -> None:
    table, names = rows(seed), found(seed).machines
    asks = [ductcalc.Ask.machines(name) for name in names]

    def alone(of: Shop) -> np.ndarray:
        loaded = ductcalc.check(of, asks).loaded
        return np.array([case.machine(name).flow_m3_s for case, name in zip(loaded, names, strict=True)])

    before = alone(made(seed))
    gains = {}
    run_name = ""
    for number, row in enumerate(table):
        run_name = str(row.get("run") or run_name)
        if row["piece"] == "gate":
            gains[run_name] = alone(made(seed, tightened(table, number), gates=NAMED)) - before
    best = max(gains, key=lambda name: gains[name].sum())
    told = found(seed).tightest
    assert told is not None
    assert told.section.rsplit(" ", 1)[0] == best
    assert told.gain_m3_s == pytest.approx(gains[best].sum(), rel=1e-6)
    assert told.most_gained == names[int(gains[best].argmax())]
    assert told.most_gain_m3_s == pytest.approx(gains[best].max(), rel=1e-6)


def test_tight_gates_have_no_tightest() -> None:
    assert gates(made(0, gates={"leak": "0 %"})).tightest is None


def test_a_tightness_that_the_audit_refuses_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    store = GateSets(build_model(made(0)))
    assert tightest(store) is not None
    true = forgotten.numbers_of

    def broken(*arguments: Any) -> Any:
        numbers = true(*arguments)
        return replace(numbers, fixed=numbers.fixed * (1.0 - 1e-5))

    monkeypatch.setattr(forgotten, "numbers_of", broken)
    assert tightest(store) is None


def flat_shop(rng: np.random.Generator, leak: str) -> Shop:
    """Draw a main of fixed coefficients alone: no lengths, no leaking joints, wyes with a coefficient of their own."""
    count = 5
    main = [cap("6 in")]
    drops: Rows = []
    for number in range(count):
        main += [
            wye(f"d{number}", "6 in", k=round(float(rng.uniform(0.1, 1.0)), 3)),
            other(round(float(rng.uniform(0, 1)), 3)),
        ]
        bore = str(rng.choice(["3 in", "4 in", "5 in"]))
        drops += run(f"d{number}", port(f"m{number}", bore, k=round(float(rng.uniform(0.3, 5.0)), 3)), gate(bore))
    build = shop if leak != "0 %" else tight
    return build(run("main", *main, end()), drops, gates={"leak": leak}, method={"joint_leakage": "none"})


@pytest.mark.parametrize("leak", ["0 %", "2 %"])
@pytest.mark.parametrize("seed", range(6))
def test_opening_a_gate_never_lowers_the_total_flow_when_coefficients_are_constant(seed: int, leak: str) -> None:
    asked = gates(flat_shop(np.random.default_rng(seed), leak)).asked
    flow = asked.judged.section_flow_m3_s[asked.store.model.tree.root]
    total = dict(zip(asked.opened, flow, strict=True))
    assert len(total) == 31
    pairs = [(mask, mask | 1 << bit) for mask in total for bit in range(5) if not mask >> bit & 1]
    assert all(total[more] >= total[fewer] * (1.0 - 1e-10) for fewer, more in pairs)
    assert any(total[more] > total[fewer] * 1.01 for fewer, more in pairs)


def test_a_machine_that_no_gate_shuts_is_not_forgotten() -> None:
    free = shop(
        run("main", port("saw", "4 in", k=1), wye("drop", "5 in"), end()),
        run("drop", port("sander", "4 in", k=1), gate()),
    )
    told = {left.machine: [name for name, _ in left.by_gate] for left in gates(free).left_open}
    assert told == {"saw": ["sander"], "sander": []}
