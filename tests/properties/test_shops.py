"""What must hold for every shop: units, order, batches, pressures along every path, energy."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import ductcalc
from ductcalc import Ask
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from tests.properties.random_shops import PLANS, Plan
from tests.scenes import NO_PARTS, cap, end, gate, other, points, port, rated, run, shop, tight, two_machines, wye

FEW = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
ALL_AND_FIRST = (Choice("all", ("m0", "m1")), Choice("first", ("m0",)), Choice("second", ("m1",)))


def cases(made: Shop) -> tuple[Case, ...]:
    return ductcalc.check(made, [Ask.everything(), Ask.machines("m0"), Ask.machines("m1")]).cases


def close(first: float, second: float, rel: float) -> bool:
    return math.isclose(first, second, rel_tol=rel, abs_tol=rel * 0.01)


@FEW
@given(PLANS)
def test_a_shop_in_inches_is_the_same_shop_in_metric(plan: Plan) -> None:
    for inch, metric in zip(cases(plan.shop("inch")), cases(plan.shop("metric")), strict=True):
        assert inch.status == metric.status
        for a, b in zip(inch.sections, metric.sections, strict=True):
            assert close(a.flow_m3_s, b.flow_m3_s, 1e-9)
            assert a.word == b.word
        if inch.wanted.margin_pa is not None and metric.wanted.margin_pa is not None:
            assert inch.wanted.margin_pa == pytest.approx(metric.wanted.margin_pa, rel=1e-7, abs=1e-5)


@FEW
@given(PLANS, st.randoms(use_true_random=False))
def test_the_order_of_runs_beside_the_main_does_not_matter(plan: Plan, random: object) -> None:
    order = list(range(len(plan.branches) - 1))
    random.shuffle(order)  # type: ignore[attr-defined]
    first, second = cases(plan.shop()), cases(plan.shop(order=tuple(order)))
    for a, b in zip(first, second, strict=True):
        flows = {m.machine: m.flow_m3_s for m in b.machines}
        for machine in a.machines:
            assert close(machine.flow_m3_s, flows[machine.machine], 1e-12)


def column(batch: Batch, choice: int, filter_: int) -> tuple[np.ndarray, ...]:
    n = choice * len(batch.filters) + filter_
    solved = batch.solved
    return solved.flow[:, n], solved.leak[:, n], solved.end[:, n]


@FEW
@given(PLANS)
def test_a_case_has_the_same_bits_alone_and_among_others(plan: Plan) -> None:
    model = build_model(plan.shop())
    together = solve_choices(model, ALL_AND_FIRST)
    for number, choice in enumerate(ALL_AND_FIRST):
        for place, filter_ in enumerate(together.filters):
            alone = solve_choices(model, [choice], (filter_,))
            for a, b in zip(column(together, number, place), column(alone, 0, 0), strict=True):
                assert a.tobytes() == b.tobytes()


@settings(parent=FEW, max_examples=60)
@given(PLANS)
def test_pressures_add_up_along_every_path(plan: Plan) -> None:
    batch = solve_choices(build_model(plan.shop()), ALL_AND_FIRST)
    assert batch.solved.converged.all()
    for residual in (batch.audit.pressure, batch.audit.mass, batch.audit.blower):
        assert residual.max() <= 1e-8


@FEW
@given(PLANS)
def test_the_blowers_power_is_spent_in_the_pieces(plan: Plan) -> None:
    """Suction at the duct's end times flow there is the sum of loss times flow, the wyes' share included.

    Air that enters through joints comes in at the section's end with the loss of that whole suction.
    """
    batch = solve_choices(build_model(plan.shop()), ALL_AND_FIRST)
    solved, root = batch.solved, batch.model.tree.root
    own = batch.table.by_section(batch.audit.losses, batch.model.tree.size)
    given_ = solved.end[root] * (solved.flow[root] + solved.leak[root])
    pieces = (own * solved.flow).sum(axis=0)
    joints = (solved.leak * solved.end).sum(axis=0)
    wyes = (batch.audit.junction * (solved.flow + solved.leak)).sum(axis=0)
    assert given_ == pytest.approx(pieces + joints + wyes, rel=1e-7)


@FEW
@given(
    st.lists(st.sampled_from([0.08, 0.1, 0.12, 0.14, 0.16]), min_size=2, max_size=5, unique=True),
    st.floats(0.2, 6.0),
    st.floats(2.0, 6.0),
)
def test_a_wider_port_never_lowers_the_air_of_a_machine_that_is_alone(
    bores: list[float], k: float, main_k: float
) -> None:
    """True in this form: only this machine open, nothing leaks, every coefficient written.

    The port's opening has the loss k on its own VP; what follows keeps its bore and its k.
    """

    def flow(bore: float) -> float:
        made = tight(
            run(
                "main",
                port("saw", f"{bore * 1000} mm", flow="20 m/s", k=k),
                {"piece": "reducer", "size": "140 mm", "k": "0.1"},
                other(main_k),
                end(),
            )
        )
        case = ductcalc.check(made).loaded[0]
        assert case.solved
        return case.machine("saw").flow_m3_s

    flows = [flow(bore) for bore in sorted(bores)]
    assert all(narrow <= wide * (1 + 1e-12) for narrow, wide in pairwise(flows))


@FEW
@given(st.floats(0.6, 1.4), st.sampled_from(["momentum", "handbook", "factored"]))
def test_thin_air_keeps_the_flow_and_scales_every_pressure(ratio: float, junction: str) -> None:
    """With coefficients only, a curve and a cyclone scale with density just as the losses do."""

    def solved(density: float) -> Case:
        made = tight(
            run(
                "main", port("m0", "100 mm", flow="20 m/s", k=2), other(0.7), wye("run 1", "150 mm"), other(0.4), end()
            ),
            run("run 1", port("m1", "120 mm", flow="20 m/s", k=3)),
            table=[
                *points(("0 m3/s", "3000 Pa"), ("0.3 m3/s", "2600 Pa"), ("0.9 m3/s", "100 Pa")),
                rated("cyclone", "0.3 m3/s", "400 Pa"),
                *NO_PARTS[1:],
            ],
            air={"density": f"{density} kg/m3"},
            method={"joint_leakage": "none", "junction": junction},
        )
        return ductcalc.check(made, [Ask.everything()]).loaded[0]

    normal, thin = solved(1.2), solved(1.2 * ratio)
    assert normal.collector is not None and thin.collector is not None
    for a, b in zip(normal.machines, thin.machines, strict=True):
        assert b.flow_m3_s == pytest.approx(a.flow_m3_s, rel=1e-9)
    assert thin.collector.inlet_total_pa == pytest.approx(ratio * normal.collector.inlet_total_pa, rel=1e-9)
    assert thin.collector.blower_pa == pytest.approx(ratio * normal.collector.blower_pa, rel=1e-9)


@pytest.mark.parametrize(
    ("one", "other_"),
    [
        ({"air": {"altitude": "1200 ft"}}, {"air": {"altitude": "365.76 m"}}),
        ({"air": {"temperature": "86 F"}}, {"air": {"temperature": "30 C"}}),
        ({"air": {"humidity": "40 %"}}, {"air": {"humidity": 0.4}}),
        ({"gates": {"leak": "2 %"}}, {"gates": {"leak": "2 percent"}}),
        ({"air": {"density": "0.075 lb/ft3"}}, {"air": {"density": f"{0.075 * 0.45359237 / 0.3048**3!r} kg/m3"}}),
    ],
)
def test_settings_mean_the_same_in_any_unit(one: dict[str, object], other_: dict[str, object]) -> None:
    first, second = (ductcalc.check(two_machines(**said)).loaded[0] for said in (one, other_))
    for a, b in zip(first.machines, second.machines, strict=True):
        assert a.flow_m3_s == pytest.approx(b.flow_m3_s, rel=1e-9)


def test_a_hundred_machines_on_one_main_pass_the_audit() -> None:
    names = [f"m{n}" for n in range(100)]
    main = run("main", cap("200 mm"))
    for name in names:
        main += [wye(f"drop {name}"), other(0.02)]
    main.append(end())
    drops = [run(f"drop {name}", port(name, "100 mm", flow="20 m/s", k=2), gate()) for name in names]
    batch = solve_choices(build_model(shop(main, *drops)), [Choice("a few", ("m3", "m50", "m98"))])
    assert batch.audit.passed.all()
