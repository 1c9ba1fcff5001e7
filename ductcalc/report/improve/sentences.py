"""What to change first, in plain words, and what has to be known to read the figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ductcalc.answers.improve.candidate import Kind
from ductcalc.answers.improve.collector import FASTER
from ductcalc.answers.improve.fittings import longest_radius
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.harm import HARMS, CaseEffect
from ductcalc.answers.improve.improve import Improve, Together
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.cases.judged import limits
from ductcalc.physics.fan import scaled_flow, scaled_power, scaled_pressure
from ductcalc.report.blocks import glued
from ductcalc.report.check.sentences import case_title, settling_words, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.improve.words import changes_words, signed_share
from ductcalc.report.sentences import capitalised, listed, several, the

NUMBERS = {2: "pair", 3: "three"}
SAID: dict[Kind, str] = {
    "bigger port": "A bigger port wants the same air. Its mouth loses less; throat and cabinet of the machine take at"
    " the same air what they took. Its hose goes along, what follows gets a taper.",
    "wider throat": "With a wider throat too: the machine is opened up as far as its port, and loses as little there.",
    "second port": "A second port is like the first, with half the air wanted at each: an own hose beside the first"
    " one's, joined at a 45 degree wye right behind. Throat and cabinet of the machine take at the same air what they"
    " took.",
    "second opening": "With an opening of its own into the machine the second port has as much throat as the first.",
    "helper gate": "A gate that is open as well lets air in and no chips; it must be opened each time.",
    "straighter hose": "A hose pulled straight keeps its length and loses its bends.",
    "tight gates": "Tight gates leak what a usual gate does.",
    "smoother hood": "A smoother hood is for bare ends of pipe; a taper is one of 30 degrees included.",
    "pipe for hose": "Pipe in place of hose is as long as the hose, its bends become elbows of the default build; for"
    " machines that stay where they are.",
    "shorter hose": "A shorter hose keeps its bends: pulled straight it gains more.",
    "clean filter": "A cleaned filter gains that until it is loaded again.",
    "no outlet duct": "Without its outlet duct the collector blows into the room behind the filter.",
    "pipe size": "Another pipe size is that of the whole stretch, hose and gate with it, and of what must follow so"
    " that nothing shrinks on the way. Written reducers follow; machine's port and the collector keep theirs (write the"
    " collector's where its cell is blank), and tapers are assumed between.",
}


def verdict(answer: Improve, display: Display) -> str:
    """Return the first line: what the subject gets, and what would help it most."""
    if not answer.case.solved:
        return capitalised(f"no answer for {case_title(answer.case)}: {why_no_answer(answer.case, display)}.")
    now = capitalised(f"{who(answer)} gets {_of_wanted(answer, display)}, dirty filter{_as_it_is(answer, display)}.")
    return f"{now} {_advice(answer, display)}"


def _advice(answer: Improve, display: Display) -> str:
    """Say what helps most without harm elsewhere, else what helps most and its price."""
    if answer.settles:
        return _moving_advice(answer, display)
    best, other = answer.first, answer.unharming
    if answer.case.well:
        more = f" More air: {_brings(other, display)}." if other is not None else ""
        return f"It is served; nothing need change.{more}"
    if other is not None:
        return f"{_without_harm(other, display)}.{_not_enough(answer)}"
    if best is None and (nearest := next((one for one in answer.gains if one.leads), None)) is not None:
        return f"No single change is sure to help. Nearest: {_brings(nearest, display)}; it may as well bring nothing."
    if best is not None:
        said = capitalised(f"{changes_words(best.candidates, display)} would give it {_air(best, display)}")
        return f"Every change that helps has a price elsewhere. {said}, but {_harm(best, display)}."
    if answer.gains:
        return "Only last resorts help; they are in the list."
    return f"No single change brings {display.share(LEAST_BAND)} or more."


def _moving_advice(answer: Improve, display: Display) -> str:
    """Say what keeps chips moving, and at what price; what brings only air is no cure."""
    cures = [one for one in answer.gains if one.leads and not (one.inside or one.case.settling)]
    together = answer.together
    other = next((one for one in cures if not one.harms), None)
    if other is not None:
        return f"{_without_harm(other, display)}; {_moving(other)}."
    if together is not None and not together.case.settling:
        said = f"{changes_words(together.candidates, display)}, {_air(together, display)}; {_moving(together)}"
        alone = "keeps its chips moving without a price elsewhere" if cures else "keeps its chips moving"
        return f"No single change {alone}. Together: {said}."
    if cures:
        said = capitalised(f"{changes_words(cures[0].candidates, display)} would, at {_air(cures[0], display)}")
        price = _harm(cures[0], display)
        return f"Every change that keeps its chips moving has a price elsewhere. {said}, but {price}."
    nearest = next((one for one in (together, answer.unharming) if one is not None and answer.comes_near(one)), None)
    own = ", or a collector of its own" if len(answer.case.machines) > 1 else ""
    others = f" Another blower may{own}." if answer.subject.alone else ""
    if nearest is None:
        return f"No change tried keeps its chips moving, or comes near.{others}"
    said = f"{changes_words(nearest.candidates, display)}: {settling_words(nearest.case.settling[0], display)}"
    return f"No change tried keeps its chips moving. Nearest comes {said}.{others}"


def _without_harm(one: Gain, display: Display) -> str:
    return f"Best change without side effects: {_brings(one, display)}"


def _brings(one: Gain, display: Display) -> str:
    return f"{changes_words(one.candidates, display)}, {_air(one, display)}"


def _air(one: Gain, display: Display) -> str:
    return glued(f"{display.flow(one.flow_m3_s)} ({signed_share(one.gain_share)} %)")


def _moving(one: Gain) -> str:
    return "chips then move slowly" if one.case.chips == "slow" else "chips then move"


def _not_enough(answer: Improve) -> str:
    """Say so where no single change serves the subject, and what may."""
    if answer.case.well or any(one.case.well and one.leads for one in answer.gains):
        return ""
    if answer.together is not None and answer.together.case.well:
        return " No single change serves it, several together do."
    others = answer.subject.alone and len(answer.case.machines) > 1
    return f" No single change serves it{'; a collector of its own may' if others else ''}."


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


def _harm(found: Gain, display: Display) -> str:
    """Say the worst harm in words, and in how many more cases something gets worse."""
    first = min(found.harms, key=lambda effect: (effect.case is not found.case, HARMS.index(effect.word)))
    said = _harmed(first, display)
    cases = len({id(effect.case) for effect in found.harms}) - 1
    return said + (f", and {several(cases, 'other case')} would be worse" if cases else "")


def _harmed(worst: CaseEffect, display: Display) -> str:
    title, slow, poor = case_title(worst.now), worst.section, worst.machine
    if slow is not None and worst.before is None:
        return f"chips would settle with {title}: {settling_words(slow, display)}"
    if slow is not None:
        return (
            f"where chips settle already with {title} it would be slower still: {slow.section} at"
            f" {display.speed(slow.deciding_velocity_m_s)} in place of {display.speed(worst.before or 0.0)}"
        )
    if poor is None:
        return f"{title} would have no answer"
    whose = title if worst.now.alone else f"{the(poor.machine)} with {title}"
    return f"{whose} would fall short" if worst.before is None else f"{whose}, short already, would get less air still"


def none_together(found: Together, answer: Improve, display: Display) -> str:
    """Say why no pair or three is told."""
    name = NUMBERS[found.size]
    if not found.tried:
        return f"No {name} of changes can be made."
    return (
        f"No {name} of the {several(found.tried, name)} tried brings more than"
        f" {display.share(LEAST_BAND)} beyond the best of its parts."
    )


def left_out(answer: Improve, display: Display) -> str:
    """Say how many changes were tried and are not listed."""
    few = answer.tried - len(answer.gains) - answer.lost - answer.unaudited
    less = "does not clearly help and is" if few == 1 else "do not clearly help and are"
    said = f"{several(answer.tried, 'change')} tried; {few} {less} not listed"
    if answer.lost:
        said += f"; {answer.lost} leave the case without an answer on the blower's points"
    if answer.unaudited:
        said += f"; {answer.unaudited} failed the second calculation and are not shown"
    return f"{said}."


def notes(answer: Improve, display: Display) -> Iterator[str]:
    """Yield what has to be known to read the figures."""
    yield f"Gains under {display.share(LEAST_BAND)} of the air are not listed (judgement, no source)."
    yield _common_band(answer)
    yield (
        "More air: the difference of two full calculations, each audited, rounded once, so that it may be 1 apart from"
        " that of the rounded figures. All is with the dirty filter, but for a cleaned one."
    )
    yield from _per_cent(answer)
    yield (
        "Marks tell which cases (every machine alone, every named set) are worse or better than now. SETTLES, SHORT: a"
        " section or a machine of which that is not so as the shop stands; NO ANSWER likewise; slower still, less air"
        f" still: bad already, and worse by more than {display.share(LEAST_BAND)}, or by"
        f" {display.share(1.0 - limits().just_short)} in a case that is short of air. What makes"
        " no case worse has none of these. Cases"
        f" solved for each change listed: {answer.cases}. A case that may run then and could not is never worse."
    )
    if answer.pool > 1:
        yield (
            "Together: every pair and every three that does not change one thing twice was solved, of the"
            f" {answer.pool} changes that bring most alone; other changes were not tried together. One is told when it"
            " clearly beats the best of its parts; without harm: fewer changes without harm."
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
    if any(found.machine.short_at_a_port for found in told(answer)):
        yield (
            "Short at one port while all of its ports together have enough: the machine's air would do, were it shared"
            " out as wanted. A second port put beside the first counts with it in what is got and in per cent, but each"
            " must get its own to be served."
        )


def _at_port(answer: Improve) -> str:
    return f" at its port {answer.subject.run}" if answer.subject.several else ""


def _common_band(answer: Improve) -> str:
    of = "slowest speed" if answer.settles else "air"
    return (
        f"80 % band: by how much the {of} grows in eight of ten shops like this one. What is not known of hose,"
        " machines, filter and wyes is the same before and after. In band: it may as well bring nothing. A"
        " cleaned filter has no band: it always helps."
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
