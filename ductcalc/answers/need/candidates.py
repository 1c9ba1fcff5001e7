"""Collectors held against the need: what each has to spare at the wanted flows, and where it really settles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Collector, Shop


@dataclass(frozen=True)
class CandidateCollector:
    """A collector on the shop's ducts, dirty filter. provisional: only the two figures on its box are known.

    cases: where it really settles; `wanted.margin_pa` of each is what it has to spare at the wanted flows.
    """

    name: str
    provisional: bool
    cases: tuple[Case, ...]
    remarks: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 when everything asked for is served and nothing settles, 1 when not, 3 when a case has no answer."""
        if not all(case.solved for case in self.cases):
            return 3
        return 0 if all(case.well for case in self.cases) else 1

    @property
    def tightest(self) -> Case:
        """The case with the least to spare at the wanted flows; one beyond the curve's end has less than any."""
        return min(self.cases, key=_to_spare)

    @property
    def served(self) -> tuple[Case, ...]:
        """Cases in which every machine gets its air."""
        return tuple(case for case in self.cases if case.served)


def _to_spare(case: Case) -> float:
    return float("-inf") if case.wanted.margin_pa is None else case.wanted.margin_pa


def candidates_of(
    collectors: Sequence[tuple[str, Shop]], shop: Shop, choices: Sequence[Choice], junction: Junction
) -> tuple[CandidateCollector, ...]:
    """Return each collector on the ducts of its shop; one that says nothing of cyclone and filter takes those written.

    Raises InputError for one without a curve.
    """
    own = shop.collectors[0] if len(shop.collectors) == 1 and not shop.collectors[0].has_curve else None
    return tuple(_candidate(name, one, own, choices, junction) for name, one in collectors)


def _candidate(
    name: str, shop: Shop, own: Collector | None, choices: Sequence[Choice], junction: Junction
) -> CandidateCollector:
    taken = own is not None and any(one.silent for one in shop.collectors)
    if own is not None:
        shop = replace(shop, collectors=tuple(_with_parts(one, own) for one in shop.collectors))
    model = build_model(shop, junction)
    collector = collector_of(model)
    cases = read_cases(solve_choices(model, choices, ("loaded",), tells_wanted=True))
    said = ("cyclone and filter as the shop's own collector table writes them",) if taken else ()
    return CandidateCollector(name, collector.provisional, cases, (*said, *collector.remarks))


def _with_parts(candidate: Collector, own: Collector) -> Collector:
    if not candidate.silent:
        return candidate
    return replace(
        candidate,
        cyclone=own.cyclone,
        filter_clean=own.filter_clean,
        filter_loaded=own.filter_loaded,
        absent=own.absent,
    )
