"""The wall card: what may be opened alone, with a helper, together, and what not; when to clean the filter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.answers.gates.school import School
from ductcalc.answers.gates.sets import Progress, any_two_of
from ductcalc.answers.gates.sorting import exit_code, sorted_singles
from ductcalc.cases.case import Case, read_cases
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
    """A named set; helped: with which more gates it may run, where chips settle without."""

    case: Case
    helped: HelperAnswer | None

    @property
    def more_helpers(self) -> tuple[str, ...]:
        """Machines whose gates help it."""
        return () if self.helped is None else self.helped.helpers


@dataclass(frozen=True, slots=True)
class Card:
    """What hangs on the wall.

    order: all machines as in the table. alone: those that may run alone. with_helper: machines and pairs that may
    with a helper's gate open. together: pairs that may; any_two_of: those with nothing weak, told in groups of which
    any two may run, and the pairs that are left. not_allowed: machines that may not run alone, helped or not.
    never_allowed: those of them that may run in no set at all, as far as every set was solved. three_or_more: maximal
    sets of three machines and more that may run, and whether all their parts may too; None when not every set was
    solved: then school says what holds of all of them.
    one_hose: pairs that share one. own_blowers: machines that have one. pairs: how many pairs there are; unknown_pairs:
    of how many nothing is known. unsettled: sets for which no flow was found that passes the audit.
    exit_code, findings: as of the gate sets.
    """

    shop: str
    order: tuple[str, ...]
    alone: tuple[Case, ...]
    with_helper: tuple[HelperAnswer, ...]
    together: tuple[Case, ...]
    any_two_of: tuple[tuple[str, ...], ...]
    named: tuple[NamedOnCard, ...]
    not_allowed: tuple[Case, ...]
    never_allowed: tuple[str, ...]
    three_or_more: tuple[tuple[Case, bool], ...] | None
    one_hose: tuple[tuple[str, str], ...]
    own_blowers: tuple[str, ...]
    pairs: int
    unknown_pairs: int
    always_open: tuple[str, ...]
    provisional: bool
    filter: FilterReading | None
    exit_code: int
    school: School
    findings: Findings = NOTHING_SEEN
    unsettled: int = 0


def card(shop: Shop, junction: Junction | None = None, progress: Progress | None = None) -> Card:
    """Return the wall card of a shop; raises as `gates` does."""
    return card_of(gates(shop, 2, junction, progress))


def card_of(learned: Gates) -> Card:
    """Return the wall card from what was learned of all sets of up to two machines at the least."""
    found = sorted_singles(learned)
    together = tuple(case for case in learned.together if len(case.asked) == 2 and case.may_run)
    helped = {one.before.name for one in found.company}
    refused = tuple(case for case in learned.singles if not case.may_run and case.name not in helped)
    never = _never(learned)
    return Card(
        shop=learned.shop,
        order=learned.machines,
        alone=found.may_run,
        with_helper=tuple(one for one in learned.helped if one.cured and not _is_named(learned, one)),
        together=together,
        any_two_of=any_two_of([(c.asked[0], c.asked[1]) for c in together if c.word == "ok"], learned.machines),
        named=tuple(_named(learned)),
        not_allowed=refused,
        never_allowed=tuple(case.name for case in refused if case.name in never),
        three_or_more=_three_or_more(learned),
        one_hose=learned.sharing,
        own_blowers=tuple(blower.machine for blower in learned.told.blowers),
        pairs=len(learned.together),
        unknown_pairs=sum(not case.solved for case in learned.together),
        always_open=learned.told.always_open,
        provisional=learned.told.provisional,
        filter=_filter_reading(learned, found.may_run),
        exit_code=exit_code(learned),
        school=learned.school,
        findings=learned.findings,
        unsettled=learned.unsettled,
    )


def _never(learned: Gates) -> set[str]:
    """Return the machines that may run in no set, helped or not; none where not every set was solved."""
    if not learned.exact:
        return set()
    some = {name for case in (*learned.largest_fine, *learned.named) if case.may_run for name in case.running}
    some |= {name for helped in learned.helped if helped.cured for name in helped.before.running}
    return set(learned.machines) - some


def _three_or_more(learned: Gates) -> tuple[tuple[Case, bool], ...] | None:
    if not learned.exact:
        return None
    asked = learned.asked
    fine = {mask for mask, good in zip(asked.opened, asked.judged.may_run.tolist(), strict=True) if good}
    places = {machine: place for place, machine in enumerate(learned.machines)}
    sets = (case for case in learned.largest_fine if len(case.asked) > 2)
    return tuple((case, _all_parts([places[name] for name in case.asked], fine)) for case in sets)


def _all_parts(places: Sequence[int], fine: set[int]) -> bool:
    """Whether every set of some of these machines may run."""
    masks = [0]
    for place in places:
        masks += [mask | 1 << place for mask in masks]
    return all(mask in fine for mask in masks[1:])


def _is_named(learned: Gates, helped: HelperAnswer) -> bool:
    return any(helped.before.judged is case.judged for case in learned.named)


def _named(learned: Gates) -> Iterator[NamedOnCard]:
    more = {one.before.name: one for one in learned.helped if one.cured and _is_named(learned, one)}
    return (NamedOnCard(case, more.get(case.name)) for case in learned.named)


def _filter_reading(learned: Gates, allowed: Sequence[Case]) -> FilterReading | None:
    """Read the filter at the machine that draws most air of those that may run alone: its pressure tells most there."""
    some = [m for case in allowed or learned.singles for m in case.machines if m.asked]
    best = max(some, key=lambda machine: machine.flow_m3_s, default=None)
    model = learned.asked.store.model
    if best is None or model.collector is None or model.collector.filter_loaded is None:
        return None
    loaded, clean = read_cases(solve_choices(model, [choice_of(model, Ask.machines(best.machine))]))
    if loaded.collector is None or clean.collector is None or loaded.collector.filter_pa is None:
        return None
    return FilterReading(
        machine=best.machine,
        machine_off=not allowed,
        gated=best.machine not in learned.told.always_open,
        clean_pa=clean.collector.filter_pa or 0.0,
        loaded_pa=loaded.collector.filter_pa,
        assumed=model.collector.filter_loaded.pressure_pa.assumed is not None,
    )
