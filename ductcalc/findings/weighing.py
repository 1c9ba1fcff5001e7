"""Weighs what the rules see: every observation solved with and without in one batch, audited, sorted by effect."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Ask, Choice, choice_of, default_choices
from ductcalc.cases.judged import SETTLES, JudgedCases, air_grade, limits
from ductcalc.cases.solving import solve_choices
from ductcalc.cases.variants import outcomes
from ductcalc.catalog import fact
from ductcalc.errors import InputError
from ductcalc.findings.finding import HANDFUL, NOTHING_SEEN, Effect, Finding, Findings, Measure
from ductcalc.findings.observation import Observation, Watch
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules import RULES
from ductcalc.findings.subject import Subject, subject_of
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import SectionCache
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

NUMBERS_WEIGHED = 60_000
"""Sections times observations that are weighed at most: beyond it the rest is only counted."""


class _Seen(NamedTuple):
    rule: Rule
    observation: Observation


class _Question(NamedTuple):
    """A changed shop, and whose figure in it is asked."""

    model: Model
    watch: Watch


def findings_of(shop: Shop, asks: Sequence[Ask | Choice] | None = None, junction: Junction | None = None) -> Findings:
    """Return what the rules see in a shop, weighed in every machine alone and every named set, or in what is asked for.

    Raises InputError when the shop cannot be hung together. A shop without a collector gives none.
    """
    return findings_in(build_model(shop, junction), asks)


def findings_in(model: Model, asks: Sequence[Ask | Choice] | None = None) -> Findings:
    """Return the same of a shop whose numbers are decided already."""
    choices = default_choices(model) if asks is None else tuple(choice_of(model, ask) for ask in asks)
    if model.collector is None or not choices:
        return NOTHING_SEEN
    return found_in(model, choices, read_cases(solve_choices(model, choices, ("loaded",))))


def found_in(model: Model, choices: Sequence[Choice], cases: Sequence[Case]) -> Findings:
    """Return what the rules see in a shop whose choices were solved with the loaded filter, weighed."""
    settings = model.shop.settings.findings
    off = {key_of(name) for name in settings.off}
    off_at = {key_of(where): set(map(key_of, names)) for where, names in settings.off_at.items()}
    made = SectionCache()
    subject = subject_of(model, choices, cases, made)
    rules = [rule for rule in RULES if key_of(rule.name) not in off]
    seen = [
        _Seen(rule, observation)
        for rule in rules
        for observation in rule.look(subject)
        if not any(key_of(rule.name) in off_at.get(where, ()) for where in _where(subject, observation))
    ]
    most = max(HANDFUL, NUMBERS_WEIGHED // len(subject.model.sections))
    weighed = list(_weighed(subject, _fairly(seen, most), made))
    symptoms = {rule.name for rule in RULES if rule.symptom}
    told = [one for one in weighed if one.rule not in symptoms or not _explained(one, weighed)]
    doubts = {rule.name for rule in RULES if rule.moves_all}
    ordered = sorted(told, key=lambda found: (not found.caution, found.rule not in doubts, -found.effect.share))
    names = [rule.name for rule in RULES if key_of(rule.name) in off]
    names += [f"{name} at {where}" for where, off_there in settings.off_at.items() for name in off_there]
    return Findings(tuple(ordered), max(0, len(seen) - most), tuple(names))


def _where(subject: Subject, observation: Observation) -> set[str]:
    """Return compared names of the run and machine that an observation is about: of its row, and its own name.

    A row through which one machine's air passes alone is that machine's.
    """
    found = {key_of(observation.name)}
    for one in subject.pieces:
        if one.piece.place is not None and one.piece.place == observation.place:
            ports = subject.ports_above[subject.section_number[one.name]] if one.section else ()
            machines = {key_of(subject.model.ports[port].machine) for port in ports}
            found |= {key_of(one.run.name), *(machines if len(machines) == 1 else ())}
    return found


def _fairly(seen: Sequence[_Seen], most: int) -> list[_Seen]:
    """Return at most so many observations, of every rule as evenly as can be."""
    if len(seen) <= most:
        return list(seen)
    turns: dict[str, int] = {}
    numbered = []
    for one in seen:
        turns[one.rule.name] = turns.get(one.rule.name, 0) + 1
        numbered.append((turns[one.rule.name], one))
    numbered.sort(key=lambda pair: pair[0])
    return [one for _, one in numbered[:most]]


def _weighed(
    subject: Subject, seen: Sequence[_Seen], made: SectionCache
) -> Iterator[Finding]:
    """Yield the observations that matter, each with what it is worth."""
    questions = {number: found for number, one in enumerate(seen) if (found := _question(subject, one, made))}
    after = _solved(questions, subject.choices)
    for number, one in enumerate(seen):
        if number not in questions:
            if one.observation.change is None or one.observation.amount is not None or not subject.cases:
                yield _finding(one, _own(subject, one.observation))
            continue
        effect = _effect(subject, questions[number].watch, *after[number])
        if one.rule.caution or one.rule.always or _matters(one, effect):
            yield _finding(one, effect)


def _question(subject: Subject, seen: _Seen, made: SectionCache) -> _Question | None:
    """Return the changed shop of an observation and whose figure is asked; None without a change or a figure."""
    change, watch = seen.observation.change, seen.observation.watch
    if change is None or watch is None:
        return None
    base = subject.model
    try:
        return _Question(build_model(change.apply(base.shop), base.junction, loading=base.loading, made=made), watch)
    except InputError:
        return None


def _solved(questions: Mapping[int, _Question], choices: Sequence[Choice]) -> dict[int, tuple[JudgedCases, int]]:
    """Solve every changed shop in every watched case, all in one batch; return each question's outcome and column."""
    used = sorted({question.watch.case for question in questions.values()})
    if not used:
        return {}
    found = outcomes([q.model for q in questions.values()], [choices[case] for case in used], audited=True)
    columns = (used.index(question.watch.case) for question in questions.values())
    return dict(zip(questions, zip(found, columns, strict=True), strict=True))


def _effect(subject: Subject, watch: Watch, outcome: JudgedCases, column: int) -> Effect:
    """Return what a change makes of the watched figure; without an answer only the figure as it stands."""
    case = subject.cases[watch.case]
    solved = bool(outcome.solved[column])
    if watch.section is not None:
        number = subject.section_number[watch.section]
        needed = float(case.needed_m_s[number])
        before = _speed(case.judged, watch.section, case.column)
        then = _speed(outcome, watch.section, column) if solved else None
        share = 0.0 if then is None else abs(then - before) / needed
        cured = solved and outcome.chips[_numbered(outcome.model, watch.section), column] != SETTLES
        return Effect("speed", before, then, None, None, watch.section, case.name, needed, share, bool(cured))
    ports = _ports(subject.model, watch)
    before, wanted = float(case.port_flow_m3_s[ports].sum()), float(case.port_wanted_m3_s[ports].sum())
    after = _ports(outcome.model, watch)
    then = float(outcome.port_flow_m3_s[after, column].sum()) if solved else None
    cured = solved and air_grade(float(outcome.port_share[after, column].min(initial=np.inf))) != "short"
    share = 0.0 if then is None else abs(then - before) / max(wanted, before)
    several = len(subject.model.ports_of[key_of(watch.machine or "")]) > 1
    run = watch.run if several else None
    return Effect("air", before, then, watch.machine, run, None, case.name, wanted, share, cured)


def _ports(model: Model, watch: Watch) -> list[int]:
    """Return the usable ports of a watched machine, or the one of its run that is watched."""
    ports = [p for p in model.ports_of[key_of(watch.machine or "")] if not model.ports[p].off]
    run = None if watch.run is None else key_of(watch.run)
    return [p for p in ports if run is None or key_of(model.ports[p].run) == run]


def _speed(outcome: JudgedCases, name: str, column: int) -> float:
    number = _numbered(outcome.model, name)
    section = outcome.model.sections[number]
    return float(outcome.section_flow_m3_s[number, column] / bore_area(section.widest_m or section.start_bore_m))


def _numbered(model: Model, name: str) -> int:
    return next(number for number, section in enumerate(model.sections) if section.name == name)


def _matters(seen: _Seen, effect: Effect) -> bool:
    """Whether a change does what it should, and enough of it, for a machine that has not far more than it needs."""
    if effect.difference is None or effect.before is None:
        return True
    observation, least = seen.observation, fact("findings", seen.rule.least).value
    enough = limits().far_more * (effect.wanted or 0.0)
    if observation.means == "mends" and effect.measure == "air" and effect.before >= enough:
        return False
    right = {"mends": effect.difference > 0.0, "counts": effect.difference < 0.0, "otherwise": True}
    return right[observation.means] and effect.share >= least


def _explained(symptom: Finding, every: Sequence[Finding]) -> bool:
    """Whether another finding's cure gives the machine of a case so much air that its chips would not settle."""
    effect = symptom.effect
    needed = effect.wanted or (effect.before or 0.0) / (1.0 - effect.share)
    cured = (
        (other.effect.after or 0.0) / other.effect.before
        for other in every
        if other.effect.measure == "air" and other.effect.before
        if effect.case in (other.effect.case, other.effect.machine)
    )
    return any((effect.before or 0.0) * times >= limits().level * needed for times in cured)


def _own(subject: Subject, observation: Observation) -> Effect:
    """Return the effect of an observation that brings its own figure, and whose it is where that is said."""
    if observation.amount is None:
        return Effect("none", None, share=observation.share)
    dimension, watch = observation.amount.dimension, observation.watch
    measure: Measure
    if dimension == "flow":
        measure = "air"
    elif dimension == "cloth":
        measure = "area"
    else:
        measure = dimension
    if watch is None or not subject.cases:
        return Effect(measure, observation.amount.value, share=observation.share)
    case = subject.cases[watch.case].name
    return Effect(
        measure, observation.amount.value, None, watch.machine, watch.run, watch.section, case, share=observation.share
    )


def _finding(seen: _Seen, effect: Effect) -> Finding:
    observation, place = seen.observation, seen.observation.place
    return Finding(
        rule=seen.rule.name,
        caution=seen.rule.caution,
        file=None if place is None else place.file,
        row=None if place is None else place.row,
        key=None if place is None else place.key,
        name=observation.name,
        what=observation.what,
        cure=observation.cure,
        means=observation.means,
        effect=effect,
    )
