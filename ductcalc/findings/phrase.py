"""Sentences with amounts in them that are put into a reader's units later."""

from __future__ import annotations

from typing import Literal, NamedTuple

Dimension = Literal["flow", "speed", "pressure", "size", "length", "area", "cloth", "share", "power"]


class Amount(NamedTuple):
    """A number in SI that a reader sees in his own units: m3/s, m/s, Pa, m (size, length, altitude), m2 (area, cloth),
    W, a share.
    """

    dimension: Dimension
    value: float


Phrase = tuple[str | Amount, ...]


def say(template: str, *parts: str | int | float | Amount) -> Phrase:
    """Return a sentence, each `{}` in turn replaced by a part; an amount stays an amount.

    Raises ValueError when there are more or fewer parts than places.

    >>> say("{} of hose", Amount("length", 3.0))
    (Amount(dimension='length', value=3.0), ' of hose')
    """
    texts = template.split("{}")
    found: list[str | Amount] = [texts[0]]
    for part, text in zip(parts, texts[1:], strict=True):
        found.append(part if isinstance(part, Amount) else f"{part}")
        found.append(text)
    return tuple(part for part in found if part != "")


def flow(value_m3_s: float) -> Amount:
    """Return an air flow [m3/s]."""
    return Amount("flow", float(value_m3_s))


def speed(value_m_s: float) -> Amount:
    """Return an air speed [m/s]."""
    return Amount("speed", float(value_m_s))


def pressure(value_pa: float) -> Amount:
    """Return a pressure [Pa]."""
    return Amount("pressure", float(value_pa))


def size(bore_m: float) -> Amount:
    """Return an inside diameter [m]."""
    return Amount("size", bore_m)


def length(value_m: float) -> Amount:
    """Return a length [m]."""
    return Amount("length", float(value_m))


def area(value_m2: float) -> Amount:
    """Return an area [m2]."""
    return Amount("area", float(value_m2))


def cloth(value_m2: float) -> Amount:
    """Return an area of filter [m2]."""
    return Amount("cloth", float(value_m2))


def share(value: float) -> Amount:
    """Return a share, shown in per cent."""
    return Amount("share", float(value))


def power(value_w: float) -> Amount:
    """Return a power [W]."""
    return Amount("power", float(value_w))
