"""The wall card: what may be opened alone, with a helper, together, and what not; when to clean the filter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ductcalc.answers.case_reading import read_cases
from ductcalc.answers.choices import Ask, choice_of
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.answers.gates.solved import Progress
from ductcalc.answers.gates.sorting import cured, exit_code, sorted_singles
from ductcalc.answers.gates.together import any_two_of
from ductcalc.answers.gates.verdicts import SetWord
from ductcalc.answers.solving import solve_choices
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop


@dataclass(frozen=True, slots=True)
class FilterReading:
    """Pressure across the filter [Pa] with this machine's gate alone open: just cleaned, and when to clean again."""

    machine: str
    clean_pa: float
    loaded_pa: float
    assumed: bool


@dataclass(frozen=True, slots=True)
class NamedOnCard:
    """A named set: machines that run, those whose gates only help, its word, more helpers that would make it fine."""

    name: str
    running: tuple[str, ...]
    helping: tuple[str, ...]
    word: SetWord
    more_helpers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """What hangs on the wall.

    alone: machines. with_helper: machine or pair, and the helper gates that make it fine. together: pairs;
    any_two_of: the same told in groups of which any two may run, and the pairs that are left.
    not_allowed: machines that may not run alone, helped or not, and why. one_hose: pairs that share one.
    pairs: how many pairs there are. exit_code: as of the gate sets.
    """

    shop: str
    alone: tuple[str, ...]
    with_helper: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]
    together: tuple[tuple[str, str], ...]
    any_two_of: tuple[tuple[str, ...], ...]
    named: tuple[NamedOnCard, ...]
    not_allowed: tuple[tuple[str, SetWord], ...]
    one_hose: tuple[tuple[str, str], ...]
    pairs: int
    always_open: tuple[str, ...]
    provisional: bool
    filter: FilterReading | None
    exit_code: int


def card(shop: Shop, junction: Junction | None = None, progress: Progress | None = None) -> Card:
    """Return the wall card of a shop; raises as `gates` does."""
    learned = gates(shop, 2, junction, progress)
    found = sorted_singles(learned)
    together = tuple((a.open[0], a.open[1]) for a in learned.together if a.word == "fine")
    fine = {answer.name for answer in (*found.fine, *(helped.before for helped in found.company))}
    return Card(
        learned.shop,
        tuple(a.name for a in found.fine),
        tuple(_with_helper(learned)),
        together,
        any_two_of(together, learned.machines),
        tuple(_named(learned)),
        tuple((a.name, a.word) for a in learned.singles if a.name not in fine),
        learned.sharing,
        len(learned.together),
        learned.told.always_open,
        learned.told.provisional,
        _filter_reading(learned),
        exit_code(learned),
    )


def _with_helper(learned: Gates) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    for helped in learned.helped:
        if cured(helped) and not _is_named(learned, helped):
            yield helped.before.open, helped.helpers


def _is_named(learned: Gates, helped: HelperAnswer) -> bool:
    return any(helped.before is answer or helped.before == answer for answer in learned.named)


def _named(learned: Gates) -> Iterator[NamedOnCard]:
    more = {h.before.name: h.helpers for h in learned.helped if cured(h) and _is_named(learned, h)}
    judged = learned.named_judged
    for number, answer in enumerate(learned.named):
        assert judged is not None
        places = [(p, m) for p, m in enumerate(learned.machines) if judged.open[number] >> p & 1]
        runs = tuple(m for p, m in places if judged.running[number] >> p & 1)
        helps = tuple(m for p, m in places if not judged.running[number] >> p & 1)
        yield NamedOnCard(answer.name, runs, helps, answer.word, more.get(answer.name, ()))


def _filter_reading(learned: Gates) -> FilterReading | None:
    """Read the filter at the machine alone that draws most air: its pressure tells most there."""
    best = max((m for a in learned.singles for m in a.machines), key=lambda machine: machine.flow_m3_s, default=None)
    model = learned.judged.sets.model
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
