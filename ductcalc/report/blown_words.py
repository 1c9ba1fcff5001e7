"""Air that a machine's own blower pushes out of other machines' ports: told at the top, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.cases.case import Case, MachineAnswer, PortAnswer
from ductcalc.report.blocks import Block, Paragraph, Span
from ductcalc.report.check_sentences import case_title
from ductcalc.report.display import Display
from ductcalc.report.sentences import listed, several, the

ROUGH = (
    "These are rough figures: what a stream loses that turns round in a wye is known to a factor of two or so. Dust and"
    " chips may come out with this air."
)


def blown_blocks(cases: Sequence[Case], display: Display) -> Iterator[Block]:
    """Yield a warning for every port that air is blown out of in some of these cases."""
    said = [*blown_sentences(cases, display)]
    for sentence in said:
        yield Paragraph((Span(sentence, "warn"),))
    if said:
        yield Paragraph(ROUGH)


def blown_sentences(cases: Sequence[Case], display: Display) -> Iterator[str]:
    """Yield a sentence for every port that air is blown out of, in the case where that is most."""
    found: dict[tuple[str, str], list[tuple[Case, MachineAnswer, PortAnswer]]] = {}
    for case in cases:
        for machine, port in case.blown_out:
            found.setdefault((machine.machine, port.run), []).append((case, machine, port))
    for times in found.values():
        case, machine, port = min(times, key=lambda one: one[2].flow_m3_s)
        at = f" at its port {port.run}" if len(machine.ports) > 1 else ""
        more = f"; so it is in {several(len(times), 'case')}, most in this one" if len(times) > 1 else ""
        gate = "" if machine.open else ", through its shut gate"
        yield (
            f"Air blows OUT of {the(machine.machine)}{at}: {display.flow(-port.flow_m3_s)} with"
            f" {case_title(case)}{gate} ({_cause(case)}{more})."
        )


def _cause(case: Case) -> str:
    if not case.own_blowers:
        return "the rule for wyes drags it along; with another rule it may not"
    one = len(case.own_blowers) == 1
    whose = listed([f"{the(name)}'s" for name in case.own_blowers])
    return f"{whose} own blower{'' if one else 's'} push{'es' if one else ''} harder than the collector pulls there"
