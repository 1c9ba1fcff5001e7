"""What to change first, in plain words, and what has to be known to read the figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ductcalc.answers.improve.candidate import Kind
from ductcalc.answers.improve.collector import FASTER
from ductcalc.answers.improve.fittings import longest_radius
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.harm import HARMS, CaseEffect
from ductcalc.answers.improve.improve import Improve, Together
from ductcalc.physics.fan import scaled_flow, scaled_power, scaled_pressure
from ductcalc.report.blocks import glued
from ductcalc.report.check.sentences import case_title, settling_words, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.improve.words import changes_words, signed_share
from ductcalc.report.sentences import capitalised, listed, several, the

NUMBERS = {2: "pair", 3: "three"}
SAID: dict[Kind, str] = {
    "bigger port": "A bigger port wants the same air and keeps its loss coefficient, now on the bigger bore; its hose"
    " goes along, what follows gets a taper. If the machine itself resists behind its port, it gains less.",
    "second port": "A second port is like the first, with half the air wanted at each: an own hose beside the first"
    " one's, joined at a 45 degree wye right behind. If the machine itself resists, it gains less.",
    "smoother hood": "A smoother hood is for bare ends of pipe; a taper is one of 30 degrees included.",
    "pipe for hose": "Pipe in place of hose is as long as the hose, its bends become elbows of the default build; for"
    " machines that stay where they are.",
    "shorter hose": "A shorter hose keeps its bends: pulled straight it gains more.",
    "clean filter": "A cleaned filter gains that until it is loaded again.",
    "no outlet duct": "Without its outlet duct the collector blows into the room behind the filter.",
    "pipe size": "Another pipe size is that of the whole stretch, hose and gate with it; machine's port, written"
    " reducers and the collector keep theirs (write the collector's where its cell is blank), and tapers are assumed"
    " between.",
}


def verdict(answer: Improve, display: Display) -> str:
    """Return the first line: what the subject gets, and what would help it most."""
    if not answer.case.solved:
        return capitalised(f"no answer for {case_title(answer.case)}: {why_no_answer(answer.case, display)}.")
    now = capitalised(f"{who(answer)} gets {_of_wanted(answer, display)}, dirty filter{_as_it_is(answer, display)}.")
    if not answer.gains:
        return f"{now} No single change brings {display.share(answer.band.share)} or more."
    best, other = answer.gains[0], answer.unharming
    if other is not None:
        said = f"Best change without side effects: {_then(other, display)}."
        serves = answer.case.served or any(one.served for one in answer.gains)
        return f"{now} {said}" if serves else f"{now} {said} No single change serves it."
    said = capitalised(f"{_would(best, display)}{f', but {_harm(best, display)}' if best.harms else ''}.")
    return f"{now} Every change that helps has a price elsewhere, or is a last resort. {said}"


def _as_it_is(answer: Improve, display: Display) -> str:
    """Say where chips settle in the subject's case."""
    settling = answer.case.settling
    return f"; chips settle in {settling_words(settling[0], display)}" if settling else ""


def who(answer: Improve) -> str:
    """Return the subject: the machine alone, or in its set."""
    machine = the(answer.subject.machine)
    return f"{machine} alone" if answer.subject.alone else f"with {case_title(answer.case)}, {machine}"


def _of_wanted(answer: Improve, display: Display) -> str:
    got = display.got_number(answer.air_m3_s, answer.wanted_m3_s, answer.case.air == "ok")
    at = f" at its port {answer.subject.run}" if answer.subject.several else ""
    return f"{got} of {display.flow(answer.wanted_m3_s)}{at}"


def _would(found: Gain, display: Display) -> str:
    return f"{changes_words(found.candidates, display)} would give it {_figures(found, display)}"


def _then(found: Gain, display: Display) -> str:
    return f"{changes_words(found.candidates, display)}, {_figures(found, display)}"


def _figures(found: Gain, display: Display) -> str:
    return glued(f"{display.flow(found.flow_m3_s)} ({signed_share(found.gain_share)} %)")


def _harm(found: Gain, display: Display) -> str:
    """Say the worst harm in words, and in how many more cases something gets worse."""
    first = min(found.harms, key=lambda effect: (effect.case.name != found.case.name, HARMS.index(effect.word)))
    said = _harmed(first, display)
    cases = len({id(effect.case) for effect in found.harms}) - 1
    return said + (f", and {several(cases, 'other case')} would be worse" if cases else "")


def _harmed(worst: CaseEffect, display: Display) -> str:
    title, slow, poor = case_title(worst.case), worst.section, worst.machine
    if slow is not None and worst.before is None:
        return f"chips would settle with {title}: {settling_words(slow, display)}"
    if slow is not None:
        return (
            f"where chips settle already with {title} it would be slower still: {slow.section} at"
            f" {display.speed(slow.deciding_velocity_m_s)} in place of {display.speed(worst.before or 0.0)}"
        )
    if poor is None:
        return f"{title} would have no answer"
    if worst.before is None:
        return f"{poor.machine} would fall short with {title}"
    return f"{poor.machine}, short already with {title}, would get less air still"


def none_together(found: Together, answer: Improve, display: Display) -> str:
    """Say why no pair or three is told."""
    name = NUMBERS[found.size]
    if not found.tried:
        return f"No {name} of changes can be made."
    return (
        f"No {name} of the {several(found.tried, name)} tried brings more than the band of"
        f" {display.share(answer.band.share)} beyond the best of its parts."
    )


def left_out(answer: Improve, display: Display) -> str:
    """Say how many changes were tried and are not listed."""
    few = answer.tried - len(answer.gains) - answer.lost - answer.unaudited
    less = "brings less than the band and is" if few == 1 else "bring less than the band and are"
    said = f"{several(answer.tried, 'change')} tried; {few} {less} not listed"
    if answer.lost:
        said += f"; {answer.lost} leave the case without an answer on the blower's points"
    if answer.unaudited:
        said += f"; {answer.unaudited} failed the second calculation and are not shown"
    return f"{said}."


def notes(answer: Improve, display: Display) -> Iterator[str]:
    """Yield what has to be known to read the figures."""
    yield _band(answer, display)
    yield (
        "More air: the difference of two full calculations, each audited, rounded once, so that it may be 1 apart from"
        " that of the rounded figures. All is with the dirty filter, but for a cleaned one."
    )
    yield from _per_cent(answer)
    yield (
        "Marks tell which cases (every machine alone, every named set) are worse or better than now. SETTLES, SHORT: a"
        " section or a machine of which that is not so as the shop stands; NO ANSWER likewise; slower still, less air"
        " still: bad already, and worse by more than the band. What makes no case worse has none of these. Cases"
        f" solved for each change listed: {answer.cases}."
    )
    if answer.pool > 1:
        yield (
            "Together: every pair and every three that does not change one thing twice was solved, of the"
            f" {answer.pool} changes that bring most alone; other changes were not tried together. One is told when it"
            " brings more than the band beyond the best of its parts; without harm: beyond fewer changes without harm."
        )
    yield from _likes(answer)
    kinds = {kind for found in told(answer) for kind in found.kinds}
    if "main size" in kinds:
        kinds.add("pipe size")
    yield from (words for kind, words in SAID.items() if kind in kinds)
    if "shorter hose" in kinds:
        yield (
            f"The least length of a hose is taken as {display.written_length(answer.least_hose_m)}; write least_hose"
            " under [improve] in shop.toml (default: common practice, no source)."
        )
    if "easier elbows" in kinds:
        yield f"Easier elbows have a bend radius of {longest_radius():g} diameters, mitred ones the default build."
    if "faster blower" in kinds:
        yield _faster(answer, display)
    if answer.priced:
        yield (
            "Money: parts that the changed shop takes beyond what hangs now, at the prices given, pipe re-used, work"
            " not counted. + says that more is to be paid: a part without a price, or a machine's port or hood, a"
            " motor, gates, a way outdoors; ? that nothing is known of the cost."
            f" {display.unit('flow')} for 1: air gained for each unit of money, blank where nothing is to be paid or"
            " the cost is not known in full; the column is left out where the page is too narrow, CSV has it."
        )


def _likes(answer: Improve) -> Iterator[str]:
    """Say which runs cannot be changed in their rows alone."""
    placed = [one for found in told(answer) for one in found.candidates if one.run is not None]
    for run, source in dict.fromkeys((one.run, one.written_like) for one in placed if one.written_like):
        yield f"{run} needs its own rows: it is written as like {source}, and the row given is that one."
    for run, copies in dict.fromkeys((one.run, one.copies) for one in placed if one.copies):
        those = f"{listed(copies)} {'is' if len(copies) == 1 else 'are'} written as like {run}"
        yield f"{those} and would change with its rows: for a change of {run} alone, give the others their own rows."


def _per_cent(answer: Improve) -> Iterator[str]:
    """Say what the per cent are where they are not those of the air, and what a port short beside enough air is."""
    if answer.subject.several or not answer.subject.alone:
        yield (
            "Per cent are those by which the poorest running port of the case gets more of what it wants; the air is"
            f" that of {the(answer.subject.machine)}{_at_port(answer)}."
        )
    if any(found.short_at_a_port for found in told(answer)):
        yield (
            "SHORT AT A PORT: a machine's air would do, were it shared out as wanted among its ports. A second port put"
            " beside the first counts with it in what is got and in per cent, but each must get its own to be served."
        )


def _at_port(answer: Improve) -> str:
    return f" at its port {answer.subject.run}" if answer.subject.several else ""


def _band(answer: Improve, display: Display) -> str:
    band = display.share(answer.band.share)
    if answer.band.method is None:
        return f"The band is {band} of the air, the least that is told (judgement, no source)."
    return (
        f"The band is {band}: so far apart is the air of {the(answer.subject.machine)} when wyes are computed by"
        f" {answer.band.method} instead of {answer.junction}. What brings less is not told."
    )


def _faster(answer: Improve, display: Display) -> str:
    ratios = (scaled_flow(1.0, FASTER), scaled_pressure(1.0, 1.0, FASTER), scaled_power(1.0, 1.0, FASTER))
    flow, pressure, power = (f"{float(ratio):.3g}" for ratio in ratios)
    said = (
        f"A faster blower: by the fan laws every point of its curve has {flow} times the flow, {pressure} times the"
        f" pressure and {power} times the power"
    )
    found = next((one for one in answer.gains if one.kinds == ("faster blower",)), None)
    before = answer.case.collector.power_w if answer.case.collector else None
    after = found.case.collector.power_w if found is not None and found.case.collector else None
    if before is not None and after is not None:
        said += f"; here {display.power(after)} in place of {display.power(before)}"
    return f"{said}. Whether motor and wheel stand that is for the maker to say."


def told(answer: Improve) -> tuple[Gain, ...]:
    """Return everything that is told."""
    return (*answer.gains, *answer.pairs.told, *answer.threes.told)


def outdoors_words(answer: Improve, shown: Iterable[Gain], display: Display) -> list[str]:
    """Return what must be minded before the air is blown outdoors, where that is listed."""
    flows = [f.case.collector.flow_m3_s for f in shown if "outdoors" in f.kinds and f.case.collector]
    if not flows:
        return []
    heater = " A flued heater burns in this room." if answer.room.heater else ""
    return [
        f"Outdoors: up to {display.flow(max(flows))} would leave the room and must come back in, never down the flue of"
        f" a fuel-burning heater.{heater} What may be blown out unfiltered is for local codes to say."
    ]
