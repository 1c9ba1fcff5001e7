"""Changes in words: what is changed, where, and what that does in other cases."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from ductcalc.answers.improve.candidate import Candidate, Kind
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.harm import CaseEffect, EffectWord
from ductcalc.physics.fan import scaled_power
from ductcalc.report.blocks import Span, glued
from ductcalc.report.check.sentences import case_title
from ductcalc.report.display import Display
from ductcalc.report.grades import Spans, air_span, beside, case_spans
from ductcalc.report.sentences import listed, several, the

CELLS: dict[EffectWord, str] = {
    "no answer": "NO ANSWER",
    "short": "SHORT",
    "just short": "just short",
    "settles": "CHIPS SETTLE",
    "less air": "less air still",
    "slower": "slower still",
    "fine": "then ok",
    "may run": "may run then",
    "served": "served",
    "moves": "moving",
    "answered": "answered",
}
MARKS: dict[EffectWord, str] = {
    "no answer": "NO ANSWER",
    "short": "falls SHORT",
    "just short": "falls just short",
    "settles": "CHIPS SETTLE",
    "less air": "less air still",
    "slower": "slower still",
    "fine": "becomes fine",
    "may run": "may run then",
    "served": "is served then",
    "moves": "keeps chips moving then",
    "answered": "has an answer then",
}


def change_words(one: Candidate, display: Display) -> str:
    """Return what a change is, as a noun with its article, and where."""
    return f"{_what(one, display)}{_where(one)}"


def changes_words(candidates: Sequence[Candidate], display: Display) -> str:
    """Return changes made together, those of one place side by side."""
    places: dict[str, list[str]] = {}
    for one in candidates:
        places.setdefault(_where(one), []).append(_what(one, display))
    return listed([f"{listed(said)}{place}" for place, said in places.items()])


def _what(one: Candidate, display: Display) -> str:
    """Return what a change is, without its place. Sizes, lengths and shares are those of its `before` and `after`."""
    before, after = one.before, one.after
    words: dict[Kind, Callable[[], str]] = {
        "pipe size": lambda: f"{_size(after, display)} pipe in place of {_size(before, display)}",
        "main size": lambda: f"{_size(after, display)} pipe in place of {_size(before, display)}",
        "shorter hose": lambda: f"a hose of {_length(after, display)} in place of {_length(before, display)}",
        "straighter hose": lambda: "the hose pulled straight",
        "pipe for hose": lambda: f"{_length(before, display)} of pipe{_with_elbows(one)} in place of hose",
        "easier elbows": lambda: _elbows(one),
        "slanted wye": lambda: f"a wye at {_angle(after)} in place of {_angle(before)}",
        "bigger port": lambda: f"a port of {_size(after, display)} in place of {_size(before, display)}",
        "second port": lambda: "a second port beside the first",
        "wider throat": lambda: (
            f"a port of {_size(after, display)} in place of {_size(before, display)}, with a wider throat too"
        ),
        "second opening": lambda: "a second port beside the first, with an opening of its own into the machine",
        "smoother hood": lambda: f"a {after} hood in place of a {before} one",
        "clean filter": lambda: "a cleaned filter",
        "helper gate": lambda: f"{the(one.machine or '')}'s gate open as well",
        "helper shut": lambda: f"{the(one.machine or '')}'s gate shut",
        "one at a time": lambda: "one machine at a time",
        "new gate": lambda: f"a gate for {the(one.machine or '')}, shut",
        "tight gates": lambda: f"gates that leak {_percent(after)} in place of {_percent(before)}",
        "sealed joints": lambda: "sealed duct joints",
        "no outlet duct": lambda: "taking off the outlet duct",
        "outdoors": lambda: "exhausting outdoors without a filter (see the caution)",
        "faster blower": lambda: f"a blower turned {_faster(after)}",
    }
    return words[one.kind]()


def _where(one: Candidate) -> str:
    """Return where a change is: the run of a single piece, the section of what goes by section."""
    if one.kind == "main size":
        return f" ({stretches(one.sections)})"
    by_section = one.kind in ("pipe size", "slanted wye", "easier elbows")
    place = one.section if by_section else one.run
    return f" ({place})" if place else ""


def stretches(sections: Sequence[str]) -> str:
    """Return sections by their runs, those that follow one another as from and to."""
    numbers: dict[str, list[int]] = {}
    for name in sections:
        run, _, number = name.rpartition(" ")
        numbers.setdefault(run, []).append(int(number))
    return ", ".join(f"{run} {_numbers(sorted(mine))}" for run, mine in numbers.items())


def _numbers(numbers: Sequence[int]) -> str:
    if len(numbers) > 1 and _follow(numbers):
        return f"{numbers[0]} to {numbers[-1]}"
    return listed([str(number) for number in numbers])


def _follow(numbers: Sequence[int]) -> bool:
    return list(numbers) == list(range(numbers[0], numbers[0] + len(numbers)))


def _with_elbows(one: Candidate) -> str:
    return f" and {several(one.bends, 'elbow')}" if one.bends else ""


def _elbows(one: Candidate) -> str:
    count = several(one.bends or 1, "elbow")
    if one.measured == "radius":
        now = "" if one.before is None else f" in place of R/D {_number(one.before):g}"
        return f"{count} of {one.build} build with R/D {_number(one.after):g}{now}"
    return f"{count} of {one.after} build in place of {one.before}"


def _number(value: object) -> float:
    assert isinstance(value, float)
    return value


def _size(value: object, display: Display) -> str:
    return display.size(_number(value))


def _length(value: object, display: Display) -> str:
    return display.written_length(_number(value))


def _angle(value: object) -> str:
    return glued(f"{_number(value):g} deg")


def _faster(speed: object) -> str:
    """Say how much faster, and what that loads the motor with by the fan laws."""
    times = _number(speed)
    load = round(float(scaled_power(1.0, 1.0, times)) - 1.0, 2)
    return f"{_percent(times - 1.0)} faster (motor load {_percent(load)} more)"


def _percent(share: object) -> str:
    return glued(f"{round(100.0 * _number(share), 2):g} %")


def signed_share(share: float) -> str:
    """Show by how much air grows, in whole per cent from 10 on, else to a tenth."""
    percent = 100.0 * share
    return f"{percent:+.0f}" if abs(percent) >= 9.95 else f"{percent:+.1f}"


def band_words(found: Gain) -> str:
    """Show between what per cent the gain lies; nothing where that was not drawn."""
    return "" if found.apart is None else " to ".join(signed_share(end - 1.0) for end in found.apart)


def rows_words(one: Candidate) -> str:
    """Return the rows of the duct table that a change is about."""
    if not one.rows:
        return ""
    parts: list[list[int]] = []
    for row in sorted(one.rows):
        if parts and row == parts[-1][-1] + 1:
            parts[-1].append(row)
        else:
            parts.append([row])
    return ", ".join(f"{part[0]}-{part[-1]}" if len(part) > 2 else ", ".join(map(str, part)) for part in parts)


def elsewhere(found: Gain) -> str:
    """Say in a table cell what changes do: marks first, with the case or in how many, then what is better."""
    said = _counted(found.effects)
    return "; ".join(said if found.poorest is None else [*said, f"poorest then: {found.poorest}"])


def grade_of(found: Gain) -> Spans:
    """Return the subject's grade, and that of its whole case where this one is another."""
    own = beside(air_span(found.machine), found.slowest)
    chips = "moves" if found.slowest is None else found.slowest.word
    if len(found.case.running) == 1 or (found.case.air, found.case.chips) == (found.machine.grade, chips):
        return own
    return *own, Span(" (set: "), *case_spans(found.case), Span(")")


def worst_elsewhere(found: Gain) -> str:
    """Say the worst of that alone, the good things only where there is no harm; not of the subject's own case where it
    is one machine alone, whose grade is told.
    """
    others = [effect for effect in found.effects if effect.case is not found.case or not effect.now.alone]
    return next(iter(_counted([effect for effect in others if effect.harm] or others)), "")


def _counted(effects: Iterable[CaseEffect]) -> list[str]:
    counts: dict[EffectWord, list[CaseEffect]] = {}
    for effect in effects:
        counts.setdefault(effect.word, []).append(effect)
    return [f"{CELLS[word]}: {_names(counts[word])}" for word in CELLS if word in counts]


def _names(effects: Sequence[CaseEffect], most: int = 1) -> str:
    return effects[0].now.name if len(effects) <= most else f"{len(effects)} cases"


def effect_lines(effects: Iterable[CaseEffect], display: Display) -> list[str]:
    """Return what becomes of cases, word by word, each with the figure that decides."""
    grouped: dict[EffectWord, list[str]] = {}
    for effect in effects:
        grouped.setdefault(effect.word, []).append(_effect(effect, display))
    return [f"{MARKS[word]}: {'; '.join(grouped[word])}" for word in MARKS if word in grouped]


def _effect(effect: CaseEffect, display: Display) -> str:
    title = case_title(effect.now)
    slow, poor = effect.section, effect.machine
    if slow is not None:
        before = "" if effect.before is None else f" in place of {display.speed(effect.before)}"
        speed = f"{display.speed(slow.deciding_velocity_m_s)}{before}"
        return f"{title} ({slow.section} {speed}, least {display.speed(slow.settling_velocity_m_s or 0.0)})"
    if poor is None:
        return title
    if effect.before is not None:
        then = display.share(poor.least_share)
        return f"{title} ({poor.machine} {then} of its air in place of {display.share(effect.before)})"
    port = poor.poorest
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
    return f"{title} ({poor.machine} {got} of {display.flow(port.wanted_m3_s)})"
