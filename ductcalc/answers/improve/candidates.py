"""Every single change that is tried."""

from __future__ import annotations

from ductcalc.answers.improve.candidate import Candidate
from ductcalc.answers.improve.collector import whole_shop
from ductcalc.answers.improve.fittings import easier_elbows, slanted_wyes
from ductcalc.answers.improve.hoses import hoses
from ductcalc.answers.improve.ports import ports
from ductcalc.answers.improve.sizes import pipe_sizes
from ductcalc.model.model import Model


def candidates(model: Model) -> tuple[Candidate, ...]:
    """Return every single change of a shop that is spelled out, in the order of the families."""
    shop = model.shop
    return (
        *ports(shop),
        *hoses(shop),
        *pipe_sizes(shop),
        *easier_elbows(shop),
        *slanted_wyes(shop),
        *whole_shop(model),
    )
