"""What [running] of shop.toml says: hours, tariff, motor, heating, filter, drum and cuts, in SI units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Cut:
    """A cut that a machine takes without a pause: width [m], depth [m], feed [m/s], and the bulk that it makes."""

    machine: str
    width_m: float
    depth_m: float
    feed_m_s: float
    makes: str


@dataclass(frozen=True)
class RunningSettings:
    """All of it is optional; None means that it was not said.

    hours_s: time of running in a year [s]; heated_s: that part of it in which the room is heated [s]. tariff: money
    for a kilowatt-hour, currency: its word as written ("" without one). Efficiencies are shares [-].
    """

    hours_s: float | None = None
    tariff: float | None = None
    currency: str = ""
    motor_w: float | None = None
    motor_efficiency: float | None = None
    fan_efficiency: float | None = None
    inside_k: float | None = None
    outside_k: float | None = None
    heated_s: float | None = None
    filter_m2: float | None = None
    drum_m3: float | None = None
    wood_kg_m3: float | None = None
    cuts: tuple[Cut, ...] = ()
