"""The wall card: what may be opened alone, with a helper, together, and what not; when to clean the filter."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.answers.case_reading import read_cases
from ductcalc.answers.choices import Ask, choice_of
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.solving import solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop


@dataclass(frozen=True)
class FilterReading:
    """Pressure across the filter [Pa] with this machine's gate alone open: just cleaned, and when to clean again."""

    machine: str
    clean_pa: float
    loaded_pa: float
    assumed: bool


@dataclass(frozen=True)
class Card:
    """What hangs on the wall. alone, with_helper (set, helper gates), together (pairs and named sets), not_allowed."""

    shop: str
    alone: tuple[str, ...]
    with_helper: tuple[tuple[str, tuple[str, ...]], ...]
    together: tuple[tuple[str, ...], ...]
    not_allowed: tuple[tuple[str, str], ...]
    one_hose: tuple[tuple[str, str], ...]
    filter: FilterReading | None


def card(shop: Shop, junction: Junction | None = None) -> Card:
    """Return the wall card of a shop; raises as `gates` does."""
    learned = gates(shop, 2, junction)
    helped = {answer.before.name: answer for answer in learned.helped}
    return Card(
        shop.name,
        tuple(a.name for a in learned.singles if a.word == "fine"),
        tuple(
            (a.name, helped[a.name].helpers)
            for a in (*learned.singles, *learned.named)
            if a.word == "settles" and a.name in helped and _still_served(helped[a.name].after)
        ),
        tuple(tuple(m.machine for m in a.machines) for a in learned.together if a.word == "fine"),
        tuple(
            (a.name, a.word)
            for a in learned.singles
            if a.word != "fine"
            and not (a.word == "settles" and a.name in helped and _still_served(helped[a.name].after))
        ),
        learned.sharing,
        _filter_reading(shop, learned, junction),
    )


def _still_served(after: object) -> bool:
    return getattr(after, "word", None) == "fine"


def _filter_reading(shop: Shop, learned: Gates, junction: Junction | None) -> FilterReading | None:
    """Read the filter at the machine alone that draws most air: its pressure tells most there."""
    best = max((m for a in learned.singles for m in a.machines), key=lambda machine: machine.flow_m3_s, default=None)
    model = build_model(shop, junction)
    if best is None or model.collector is None or model.collector.filter_loaded is None:
        return None
    loaded, clean = read_cases(solve_choices(model, [choice_of(model, Ask.machines(best.machine))]))
    if loaded.collector is None or clean.collector is None or loaded.collector.filter_pa is None:
        return None
    part = model.collector.filter_loaded
    return FilterReading(
        best.machine,
        clean.collector.filter_pa or 0.0,
        loaded.collector.filter_pa,
        part.pressure_pa.assumed is not None,
    )
