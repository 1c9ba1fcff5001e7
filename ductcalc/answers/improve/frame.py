"""What to change first as pandas tables in SI units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas

    from ductcalc.answers.improve.gain import Gain
    from ductcalc.answers.improve.improve import Improve

GAINS = (
    "together",
    "changes",
    "kinds",
    "filter",
    "flow_m3_s",
    "gain_m3_s",
    "share",
    "gain_share",
    "served",
    "worse",
    "better",
    "cost",
    "gain_for_money_m3_s",
)
EFFECTS = ("together", "changes", "case", "word", "worse")


def improve_frame(answer: Improve, table: str) -> pandas.DataFrame:
    """Return `gains` (a row for each change, pair and three told) or `effects` (a row for each case that changes).

    Raises ValueError for another name.
    """
    import pandas

    told = [*answer.gains, *answer.pairs.told, *answer.threes.told]
    if table == "gains":
        return pandas.DataFrame([_gain(found) for found in told], columns=list(GAINS))
    if table == "effects":
        return pandas.DataFrame([row for found in told for row in _effects(found)], columns=list(EFFECTS))
    raise ValueError(f"{table!r} is not one of gains, effects")


def _labels(found: Gain) -> str:
    return " + ".join(one.step.label for one in found.candidates)


def _gain(found: Gain) -> list[Any]:
    return [
        len(found.candidates),
        _labels(found),
        " + ".join(found.kinds),
        found.filter,
        found.flow_m3_s,
        found.gain_m3_s,
        found.share,
        found.gain_share,
        found.served,
        len(found.harms),
        len(found.helps),
        None if found.price is None else found.price.cost,
        found.gain_for_money,
    ]


def _effects(found: Gain) -> Iterator[list[Any]]:
    for effect in found.effects:
        yield [len(found.candidates), _labels(found), effect.now.name, effect.word, effect.harm]
