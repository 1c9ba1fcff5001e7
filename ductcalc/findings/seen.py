"""What the rules look at, from what was solved: the cases of a shop as arrays over its ports and sections."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ductcalc.cases.case import CaseAnswer
from ductcalc.cases.choices import Choice
from ductcalc.findings.subject import SeenCase, Subject
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import MadeSections
from ductcalc.shop.hanging import spelled_out
from ductcalc.shop.names import key_of


def subject_of(
    model: Model, choices: Sequence[Choice], cases: Sequence[CaseAnswer], made: MadeSections | None = None
) -> Subject:
    """Return what the rules look at: a shop spelled out, and those of its cases that have an answer."""
    plain = build_model(spelled_out(model.shop), model.junction, loading=model.loading, made=made)
    seen = tuple(_seen_case(plain, choice, case) for choice, case in zip(choices, cases, strict=True) if case.solved)
    copies = frozenset(key_of(run.name) for run in model.shop.runs if run.pieces[0].kind == "like")
    return Subject(plain, seen, copies)


def _seen_case(model: Model, choice: Choice, case: CaseAnswer) -> SeenCase:
    """Return a solved case as arrays over the ports and sections of a model."""
    flows = {(key_of(m.machine), key_of(p.run)): p for m in case.machines for p in m.ports}
    ports = [flows.get((key_of(p.machine), key_of(p.run))) for p in model.ports]
    by_name = {section.section: section for section in case.sections}
    sections = [by_name[section.name] for section in model.sections]
    assert case.collector is not None
    wanted = case.wanted
    return SeenCase(
        name=case.name,
        machines=choice.machines,
        running=frozenset(key_of(m) for m in choice.machines if choice.runs(m)),
        port_flow_m3_s=np.array([0.0 if p is None else p.flow_m3_s for p in ports]),
        wanted_m3_s=np.array([1.0 if p is None else p.wanted_m3_s for p in ports]),
        section_flow_m3_s=np.array([s.flow_m3_s for s in sections]),
        speed_m_s=np.array([s.velocity_m_s for s in sections]),
        needed_m_s=np.array([s.needed_velocity_m_s or 0.0 for s in sections]),
        settles=np.array([s.word == "settles" for s in sections], dtype=bool),
        collector_flow_m3_s=case.collector.flow_m3_s,
        suction_pa=case.collector.inlet_static_pa,
        need_pa=wanted.suction_total_pa,
        spare_pa=wanted.margin_pa,
    )
