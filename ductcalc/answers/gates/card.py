"""The wall card: what may be opened alone, with a helper, together, and what not; when to clean the filter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.answers.gates.solved import Progress
from ductcalc.answers.gates.sorting import exit_code, sorted_singles
from ductcalc.answers.gates.together import any_two_of
from ductcalc.answers.gates.verdicts import SetAnswer, SetWord
from ductcalc.cases.case_reading import read_cases
from ductcalc.cases.choices import Ask, choice_of
from ductcalc.cases.solving import solve_choices
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop


@dataclass(frozen=True, slots=True)
class FilterReading:
    """Pressure across the filter [Pa] with this machine's gate alone open: just cleaned, and when to clean again.

    machine_off: no machine may run alone, so that it is read with this one still. gated: whether a gate shuts it.
    """

    machine: str
    machine_off: bool
    gated: bool
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

    order: all machines as in the table. alone: machines. with_helper: machine or pair, and the helper gates that make
    it fine. together: pairs; any_two_of: the same told in groups of which any two may run, and the pairs that are left.
    not_allowed: machines that may not run alone, helped or not, and why. never_allowed: those of them that may run in
    no set at all, as far as every set was solved. three_or_more: maximal sets of three machines and more in which
    everything is fine, and whether that holds of all their parts too; None when not every set was solved.
    one_hose: pairs that share one. own_blowers: machines that have one. pairs: how many pairs there are; unknown_pairs:
    of how many nothing is known. unsettled: sets for which no flow was found that passes the audit.
    exit_code, findings: as of the gate sets.
    """

    shop: str
    order: tuple[str, ...]
    alone: tuple[str, ...]
    with_helper: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]
    together: tuple[tuple[str, str], ...]
    any_two_of: tuple[tuple[str, ...], ...]
    named: tuple[NamedOnCard, ...]
    not_allowed: tuple[tuple[str, SetWord], ...]
    never_allowed: tuple[str, ...]
    three_or_more: tuple[tuple[tuple[str, ...], bool], ...] | None
    one_hose: tuple[tuple[str, str], ...]
    own_blowers: tuple[str, ...]
    pairs: int
    unknown_pairs: int
    always_open: tuple[str, ...]
    provisional: bool
    filter: FilterReading | None
    exit_code: int
    findings: Findings = NOTHING_SEEN
    unsettled: int = 0


def card(shop: Shop, junction: Junction | None = None, progress: Progress | None = None) -> Card:
    """Return the wall card of a shop; raises as `gates` does."""
    learned = gates(shop, 2, junction, progress)
    found = sorted_singles(learned)
    together = tuple((a.open[0], a.open[1]) for a in learned.together if a.word == "fine")
    fine = {answer.name for answer in (*found.fine, *(helped.before for helped in found.company))}
    refused = tuple((a.name, a.word) for a in learned.singles if a.name not in fine)
    return Card(
        shop=learned.shop,
        order=learned.machines,
        alone=tuple(a.name for a in found.fine),
        with_helper=tuple(_with_helper(learned)),
        together=together,
        any_two_of=any_two_of(together, learned.machines),
        named=tuple(_named(learned)),
        not_allowed=refused,
        never_allowed=tuple(name for name, _ in refused if name in _never(learned)),
        three_or_more=_three_or_more(learned),
        one_hose=learned.sharing,
        own_blowers=tuple(blower.machine for blower in learned.told.blowers),
        pairs=len(learned.together),
        unknown_pairs=sum(answer.word == "no answer" for answer in learned.together),
        always_open=learned.told.always_open,
        provisional=learned.told.provisional,
        filter=_filter_reading(learned, found.fine),
        exit_code=exit_code(learned),
        findings=learned.findings,
        unsettled=learned.unsettled,
    )


def _never(learned: Gates) -> set[str]:
    """Return the machines that run well in no set, helped or not; none where not every set was solved."""
    if not learned.exact:
        return set()
    some = {name for answer in (*learned.largest_fine, *learned.named) if answer.word == "fine" for name in answer.open}
    some |= {m.machine for helped in learned.helped if helped.cured for m in helped.before.machines if not m.helper}
    return set(learned.machines) - some


def _three_or_more(learned: Gates) -> tuple[tuple[tuple[str, ...], bool], ...] | None:
    if not learned.exact:
        return None
    judged = learned.judged
    fine = {mask for mask, good in zip(judged.open, judged.fine.tolist(), strict=True) if good}
    places = {machine: place for place, machine in enumerate(learned.machines)}
    sets = (answer.open for answer in learned.largest_fine if len(answer.open) > 2)
    return tuple((names, _all_parts([places[name] for name in names], fine)) for names in sets)


def _all_parts(places: Sequence[int], fine: set[int]) -> bool:
    """Whether everything is fine in every set of some of these machines."""
    masks = [0]
    for place in places:
        masks += [mask | 1 << place for mask in masks]
    return all(mask in fine for mask in masks[1:])


def _with_helper(learned: Gates) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    for helped in learned.helped:
        if helped.cured and not _is_named(learned, helped):
            yield helped.before.open, helped.helpers


def _is_named(learned: Gates, helped: HelperAnswer) -> bool:
    return any(helped.before is answer or helped.before == answer for answer in learned.named)


def _named(learned: Gates) -> Iterator[NamedOnCard]:
    more = {h.before.name: h.helpers for h in learned.helped if h.cured and _is_named(learned, h)}
    judged = learned.named_judged
    for number, answer in enumerate(learned.named):
        assert judged is not None
        places = [(p, m) for p, m in enumerate(learned.machines) if judged.open[number] >> p & 1]
        runs = tuple(m for p, m in places if judged.running[number] >> p & 1)
        helps = tuple(m for p, m in places if not judged.running[number] >> p & 1)
        yield NamedOnCard(answer.name, runs, helps, answer.word, more.get(answer.name, ()))


def _filter_reading(learned: Gates, fine: Sequence[SetAnswer]) -> FilterReading | None:
    """Read the filter at the machine that draws most air of those that may run alone: its pressure tells most there."""
    some = [m for a in fine or learned.singles for m in a.machines]
    best = max(some, key=lambda machine: machine.flow_m3_s, default=None)
    model = learned.judged.sets.model
    if best is None or model.collector is None or model.collector.filter_loaded is None:
        return None
    loaded, clean = read_cases(solve_choices(model, [choice_of(model, Ask.machines(best.machine))]))
    if loaded.collector is None or clean.collector is None or loaded.collector.filter_pa is None:
        return None
    return FilterReading(
        machine=best.machine,
        machine_off=not fine,
        gated=best.machine not in learned.told.always_open,
        clean_pa=clean.collector.filter_pa or 0.0,
        loaded_pa=loaded.collector.filter_pa,
        assumed=model.collector.filter_loaded.pressure_pa.assumed is not None,
    )
