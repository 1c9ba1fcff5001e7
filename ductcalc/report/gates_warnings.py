"""What a gate report tells unasked, with figures: starved ports, throttled cabinets, own blowers."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.told import BlowerAnswer, InletAnswer, SplitAnswer
from ductcalc.report.blocks import Block, Heading
from ductcalc.report.closing import noted
from ductcalc.report.display import Display
from ductcalc.report.gates_sentences import area
from ductcalc.report.sentences import capitalised, listed, the


def warning_blocks(gates: Gates, display: Display) -> Iterator[Block]:
    """Yield the warnings of a shop, none when there is nothing to warn of."""
    told = gates.told
    said = [
        *(_split(split, display) for split in told.splits if split.starved is not None),
        *(_inlet(inlet, display) for inlet in told.inlets),
        *(_blower(blower, display) for blower in told.blowers),
    ]
    if said:
        yield Heading("Warnings")
        for words in said:
            yield noted(words)


def _split(split: SplitAnswer, display: Display) -> str:
    assert split.starved is not None
    shares = listed(
        [
            f"{display.got_number(p.flow_m3_s, p.wanted_m3_s, p.enough)} of {display.flow(p.wanted_m3_s)} at {p.run}"
            for p in split.ports
        ]
    )
    easy = [port.run for port in split.ports if port.enough]
    cure = f"throttle {listed(easy)} or enlarge {split.starved.run}" if easy else f"enlarge {split.starved.run}"
    return capitalised(f"{the(split.machine)} alone starves its port {split.starved.run}: {shares}; {cure}.")


def _inlet(inlet: InletAnswer, display: Display) -> str:
    said = (
        f"{the(inlet.machine)} lets air in through {area(inlet.inlet_m2, display)}, less than its port's"
        f" {area(inlet.port_m2, display)}"
    )
    if inlet.share is None:
        return capitalised(f"{said}; its loss was stated outright, so the opening is not reckoned on its own.")
    return capitalised(f"{said}: that opening makes {display.share(inlet.share)} of what its port loses.")


def _blower(blower: BlowerAnswer, display: Display) -> str:
    said = f"{the(blower.machine)} has a blower of its own, {display.pressure(blower.own_pa)}"
    if blower.flow_m3_s is not None and blower.without_m3_s is not None:
        said += (
            f": alone it moves {display.flow_number(blower.flow_m3_s)}, and"
            f" {display.flow(blower.without_m3_s)} with its blower still"
        )
    return capitalised(f"{said}. Never run it with its gate shut: its chips would come out of the next open gate.")
