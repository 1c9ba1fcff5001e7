"""What is written beside a stretch of the schematic, and the picture in words for those who do not see it."""

from __future__ import annotations

from ductcalc.answers.draw import Drawing, DrawnStretch
from ductcalc.cases.figures import MachineAnswer
from ductcalc.report.blocks import Span, plain
from ductcalc.report.check.sentences import case_title
from ductcalc.report.display import Display
from ductcalc.report.grades import AIR, CHIPS, air_span
from ductcalc.report.sentences import several


def machine_words(drawing: Drawing, stretch: DrawnStretch, display: Display) -> list[Span]:
    """Return the machines at the head of a stretch, with the air that each gets where a case is told."""
    told = {machine.machine: machine for machine in drawing.served(stretch)}
    lines: list[Span] = []
    for name in stretch.machines:
        machine = told.get(name)
        if machine is None or not machine.open:
            lines.append(Span(name, "strong"))
            continue
        lines += [Span(name, "strong"), Span(_air_words(machine, stretch.run, display))]
    return lines or ([Span("capped end")] if not stretch.comes_in and stretch.straight is None else [])


def _air_words(machine: MachineAnswer, run: str, display: Display) -> str:
    """Return what an open machine gets of what it wants; of one with several ports what the port of this run gets."""
    port = next((port for port in machine.ports if port.run == run), None) if len(machine.ports) > 1 else None
    if port is not None and machine.runs:
        got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough)
        return f"{got} of {display.flow(port.wanted_m3_s)}, {AIR[port.grade].text}"
    word = air_span(machine).text
    if not machine.asked:
        return f"{display.flow(machine.flow_m3_s)}, {word}"
    got = display.got_number(machine.flow_m3_s, machine.wanted_m3_s, machine.served)
    return f"{got} of {display.flow(machine.wanted_m3_s)}, {word}"


def stretch_words(drawing: Drawing, number: int, display: Display) -> str:
    """Return size, length and elbows of a stretch; in a case its flow, its speed and its grade."""
    stretch, air = drawing.stretches[number], drawing.air(number)
    size = " to ".join(display.size_number(bore) for bore in stretch.bores_m)
    said = [f"{size} {display.unit('size')}"] if size else []
    said += [display.written_length(stretch.length_m)] if stretch.length_m else []
    elbows = sum(piece.count for piece in stretch.pieces if piece.kind == "elbow")
    said += [several(elbows, "elbow")] if elbows else []
    said += [piece.name for piece in stretch.pieces if piece.kind == "gate" and piece.name]
    words = ", ".join(said)
    if stretch.taking is False:
        return f"{words}: shut"
    if air is None:
        return words
    grade = {"moves": "chips move", "no chips": "no chips", "idle": "no chips", "no length": ""}.get(air.word)
    grade = plain(CHIPS[air.word]) if grade is None else grade
    speed = display.speed(air.deciding_velocity_m_s)
    return f"{words}: " + ", ".join(part for part in (display.flow(air.flow_m3_s), speed, grade) if part)


def titled(drawing: Drawing, number: int, display: Display) -> str:
    """Return what a stretch is called, with everything that is told of it."""
    stretch = drawing.stretches[number]
    said = [stretch.title, *(span.text for span in machine_words(drawing, stretch, display))]
    return "; ".join(part for part in (*said, stretch_words(drawing, number, display)) if part)


def described(drawing: Drawing, display: Display) -> str:
    """Return the picture in words."""
    longest = max(stretch.begins_m for stretch in drawing.stretches)
    said = (
        f"{several(len(drawing.stretches), 'stretch', 'stretches')} of duct, {display.length(longest)} at most from a"
        f" machine to {drawing.collector}, which stands at the left."
    )
    return said if drawing.case is None else f"{said} Air {filter_words(drawing)}."


def filter_words(drawing: Drawing) -> str:
    """Return for which case air is told."""
    assert drawing.case is not None
    return f"with {case_title(drawing.case)}, dirty filter"
