"""A fault in words: what is wrong where, how much of it, and what to look at."""

from __future__ import annotations

from ductcalc.answers.diagnose.faults import FaultKind
from ductcalc.answers.diagnose.weighed import Suspect
from ductcalc.report.display import Display
from ductcalc.report.sentences import the

SAID: dict[FaultKind, str] = {
    "no fault": "nothing that these readings can show",
    "leak": "a leak in {where}",
    "gate not closing": "the gate at {where} does not close",
    "gate not opening": "the gate at {where} is not fully open",
    "plug": "a plug in {where}",
    "hose kinked or longer": "the hose of {where} is kinked or bunched",
    "port blocked": "{machine} is blocked ahead of the tap: hood, port or machine",
    "wrong size": "{where} was built in another size",
    "filter loaded": "the filter is loaded",
    "filter torn": "the filter is torn or bypassed",
    "bin leak": "air leaks in between the duct's end and the cyclone: bin, lid, cleanout",
    "blower slow": "the blower runs slow",
    "blower reversed": "the blower may run backwards",
    "altitude forgotten": "the air is thinner than written",
    "tube on the wrong side": "the tube at {where} was on the other side of the gate",
    "tube facing the stream": "the tube at {where} faced the stream",
    "one column read": "one column of the tube was read, not the difference of both",
    "something else": "something that is not in the list",
}
LOOK: dict[FaultKind, str] = {
    "no fault": "Nothing to do.",
    "leak": "Look for a joint that has come apart, a hole, an open cleanout there.",
    "gate not closing": "Look whether that gate is shut to the end, and for chips in its slot. Another opening there reads alike.",  # noqa: E501
    "gate not opening": "Look whether that gate is open to the end.",
    "plug": "Knock along that stretch, open it and look for chips.",
    "hose kinked or longer": "Pull the hose straight, look for a kink or chips in it, cut it to length.",
    "port blocked": "Stop the machine and look into its hood and port for chips and offcuts.",
    "wrong size": "Measure the pipe there and write what hangs.",
    "filter loaded": "Clean the filter with the power off, and read again.",
    "filter torn": "Look at the filter's cloth and seals.",
    "bin leak": "Look at the bin's seal and lid and at cleanouts ahead of the collector's inlet.",
    "blower slow": "Look at belt and pulleys; voltage and motor are work for an electrician.",
    "blower reversed": "Look at the arrow on the housing; the motor's wiring is work for an electrician.",
    "altitude forgotten": "Write altitude under [air] in shop.toml.",
    "tube on the wrong side": "Read again with the tube on the main's side of the gate.",
    "tube facing the stream": "Read again with the tube flush with the wall.",
    "one column read": "Read both columns and write the difference of their heights.",
    "something else": "Read again, and read more taps.",
}


def said(suspect: Suspect) -> str:
    """Return a fault in words, with its place; of two at once both."""
    words = SAID[suspect.kind].format(where=suspect.where, machine=the(suspect.where))
    return f"{words}, and {said(suspect.second)}" if suspect.second else words


def sized(suspect: Suspect, display: Display) -> str:
    """Return how much of it there is, with its band; nothing where it has no size."""
    if suspect.size is None or suspect.low is None or suspect.high is None:
        return ""
    low, high = suspect.low, suspect.high
    match suspect.size_of:
        case "open share":
            left = "is open" if suspect.kind in ("leak", "gate not closing", "bin leak") else "is left"
            return f"{_to(f'{100 * low:.0f}', f'{100 * high:.0f}')} % of the bore {left}"
        case "times":
            return f"{_to(f'{low:.2g}', f'{high:.2g}')} times its usual loss"
        case "speed":
            return f"{_to(f'{100 * low:.0f}', f'{100 * high:.0f}')} % of its speed"
        case "bore":
            return display.size(suspect.size)
        case "altitude":
            return f"as at {_to(display.altitude(low), display.altitude(high))}"
        case _:
            return ""


def _to(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def chance(probability: float) -> str:
    """Return a chance in whole per cent, never as certain or impossible."""
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"
