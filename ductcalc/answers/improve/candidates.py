"""Every single change that is tried."""

from __future__ import annotations

from ductcalc.answers.improve.candidate import Candidate
from ductcalc.answers.improve.collector import whole_shop
from ductcalc.answers.improve.fittings import easier_elbows, slanted_wyes
from ductcalc.answers.improve.hoses import hoses
from ductcalc.answers.improve.ports import ports
from ductcalc.answers.improve.sizes import pipe_sizes
from ductcalc.answers.improve.use import other_uses, tightness
from ductcalc.cases.choices import Choice
from ductcalc.model.model import Model


def candidates(model: Model, choice: Choice, settling: bool = False) -> tuple[Candidate, ...]:
    """Return every single change of a shop that is spelled out, in the order of the families.

    choice: the case that is improved; settling: whether chips do in it.
    """
    shop = model.shop
    return (
        *other_uses(model, choice, settling),
        *ports(model),
        *hoses(shop),
        *pipe_sizes(model, settling),
        *easier_elbows(shop),
        *slanted_wyes(shop),
        *tightness(model, choice),
        *whole_shop(model),
    )
