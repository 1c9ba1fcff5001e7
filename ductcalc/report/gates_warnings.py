"""What a gate report tells unasked, with figures: starved ports, throttled cabinets, own blowers."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.told import BlowerAnswer, InletAnswer, SplitAnswer
from ductcalc.report.blocks import Block, Heading
from ductcalc.report.closing import noted
from ductcalc.report.display import Display
from ductcalc.report.gates_sentences import area, got_of
from ductcalc.report.sentences import capitalised, listed, the

MOST_OF_THE_LOSS = 0.5
"""Share of a port's loss from which on a cabinet's opening is named as the first thing to mend."""


def warning_blocks(gates: Gates, display: Display) -> Iterator[Block]:
    """Yield the warnings of a shop, none when there is nothing to warn of."""
    told = gates.told
    throttled = {inlet.machine for inlet in told.inlets if (inlet.share or 0.0) >= MOST_OF_THE_LOSS}
    said = [
        *(_split(split, split.machine in throttled, display) for split in told.splits if split.starved is not None),
        *(_inlet(inlet, display) for inlet in told.inlets),
        *(_blower(blower, display) for blower in told.blowers),
    ]
    if said:
        yield Heading("Warnings")
        for words in said:
            yield noted(words)


def _split(split: SplitAnswer, throttled: bool, display: Display) -> str:
    assert split.starved is not None
    shares = listed([f"{p.run} {got_of(p.flow_m3_s, p.wanted_m3_s, p.enough, display)}" for p in split.ports])
    easy = [port.run for port in split.ports if port.enough]
    if easy:
        where = f"short at its port {split.starved.run}"
        cure = f"shut {listed(easy)} a little, or hang a wider hose at {split.starved.run}"
    else:
        where = "short at every port" if len(split.ports) > 2 else "short at both ports"
        cure = "the way from there to the collector is too narrow for both"
    if throttled:
        cure = "give its cabinet a larger opening first"
    return capitalised(f"{the(split.machine)} alone is {where} ({shares}): {cure}.")


def _inlet(inlet: InletAnswer, display: Display) -> str:
    said = (
        f"{the(inlet.machine)} lets air in through {area(inlet.inlet_m2, display)}, less than its port's"
        f" {area(inlet.port_m2, display)}"
    )
    if inlet.share is None:
        return capitalised(f"{said}; its loss was stated outright, so the opening is not reckoned on its own.")
    return capitalised(f"{said}: {display.share(inlet.share)} of what the port loses arises there.")


def _blower(blower: BlowerAnswer, display: Display) -> str:
    said = f"{the(blower.machine)} has a blower of its own, {display.pressure(blower.own_pa)}"
    if blower.flow_m3_s is not None and blower.without_m3_s is not None:
        said += (
            f": alone it moves {display.flow(blower.flow_m3_s)}, {display.flow_number(blower.without_m3_s)} with its"
            " blower still"
        )
    return capitalised(f"{said}. Never run it with its gate shut: its chips would come out of the next open gate.")
