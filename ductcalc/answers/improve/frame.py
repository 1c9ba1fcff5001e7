"""What to change first as pandas tables in SI units."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from ductcalc.answers.columns import Column, Columns, frame
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.harm import CaseEffect

if TYPE_CHECKING:
    import pandas

    from ductcalc.answers.improve.improve import Improve


def _labels(found: Gain) -> str:
    return " + ".join(one.step.label for one in found.candidates)


GAINS: Columns[Gain] = (
    Column("together", lambda found: len(found.candidates)),
    Column("changes", _labels),
    Column("kinds", lambda found: " + ".join(found.kinds)),
    Column("filter", lambda found: found.filter),
    Column("flow", lambda found: found.flow_m3_s, "flow"),
    Column("gain", lambda found: found.gain_m3_s, "flow"),
    Column("share", lambda found: found.share),
    Column("gain_share", lambda found: found.gain_share),
    Column("inside_band", lambda found: found.inside),
    Column("served", lambda found: found.served),
    Column("worse", lambda found: len(found.harms)),
    Column("better", lambda found: len(found.helps)),
    Column("cost", lambda found: found.price and found.price.cost),
    Column("gain_for_money", lambda found: found.gain_for_money, "flow"),
)


class _Line(NamedTuple):
    """A change, pair or three told, and what becomes of one case with it."""

    found: Gain
    effect: CaseEffect


EFFECTS: Columns[_Line] = (
    Column("together", lambda line: len(line.found.candidates)),
    Column("changes", lambda line: _labels(line.found)),
    Column("case", lambda line: line.effect.now.name),
    Column("word", lambda line: line.effect.word),
    Column("worse", lambda line: line.effect.harm),
)


def improve_frame(answer: Improve, table: str) -> pandas.DataFrame:
    """Return `gains` (a row for each change, pair and three told) or `effects` (a row for each case that changes).

    Raises ValueError for another name.
    """
    told = [*answer.gains, *answer.pairs.told, *answer.threes.told]
    if table == "gains":
        return frame(GAINS, told)
    if table == "effects":
        return frame(EFFECTS, [_Line(found, effect) for found in told for effect in found.effects])
    raise ValueError(f"{table!r} is not one of gains, effects")

