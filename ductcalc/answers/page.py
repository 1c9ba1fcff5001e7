"""All that is told of a shop on one page: each question's own answer, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.answers.chart import Chart, chart
from ductcalc.answers.check import Check, check
from ductcalc.answers.draw import Drawing, drawing_of
from ductcalc.answers.expect import Expect, expect
from ductcalc.answers.gates.card import Card, card_of
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.sets import Progress
from ductcalc.answers.losses import Losses, losses
from ductcalc.answers.parts.parts import Parts, parts
from ductcalc.answers.running import Running, running
from ductcalc.cases.choices import choose_open, default_choices
from ductcalc.model.model import build_model
from ductcalc.shop.settings import Junction, RunningSettings
from ductcalc.shop.shop import Shop


@dataclass(frozen=True)
class Everything:
    """The answers of a page. drawing, losses: of the case that decides; losses is None where that has no answer.

    running: None where the settings say nothing of it.
    """

    check: Check
    drawing: Drawing
    chart: Chart
    losses: Losses | None
    gates: Gates
    card: Card
    parts: Parts
    expect: Expect
    running: Running | None


def page(shop: Shop, junction: Junction | None = None, progress: Progress | None = None) -> Everything:
    """Return the answers to all that a page tells; raises as `check` and `gates` do."""
    verdict = check(shop, None, junction)
    subject = next(case for case in verdict.loaded if case.name == verdict.subject.case)
    model = build_model(shop, junction)
    named = {choice.name: choice for choice in default_choices(model)}
    choice = named.get(subject.name) or choose_open(model, [verdict.subject.machine])
    way = losses(shop, choice, verdict.subject.machine, junction) if subject.solved else None
    learned = gates(shop, 2, junction, progress)
    return Everything(
        check=verdict,
        drawing=drawing_of(model, subject),
        chart=chart(shop, None, junction),
        losses=way,
        gates=learned,
        card=card_of(learned),
        parts=parts(shop),
        expect=expect(shop, None, junction),
        running=running(shop, verdict) if shop.settings.running != RunningSettings() else None,
    )
