"""Fan laws, and the power of air and shaft."""

from __future__ import annotations

from ductcalc.physics.amounts import Amount


def scaled_flow(flow_m3_s: Amount, speed_ratio: Amount, size_ratio: Amount = 1.0) -> Amount:
    """Flow of a fan at another speed and size, Q (n/n0) (D/D0)^3 [m3/s]; density is without effect.

    Source: fan laws, as in Stoecker and Jones, Refrigeration and Air Conditioning, fan chapter.

    >>> scaled_flow(1.0, 2.0)
    2.0
    """
    return flow_m3_s * speed_ratio * size_ratio**3


def scaled_pressure(
    pressure_pa: Amount, density_ratio: Amount, speed_ratio: Amount = 1.0, size_ratio: Amount = 1.0
) -> Amount:
    """Pressure of a fan in other air, at another speed and size, p (rho/rho0) (n/n0)^2 (D/D0)^2 [Pa].

    Source: fan laws, as in Stoecker and Jones, Refrigeration and Air Conditioning, fan chapter.

    >>> scaled_pressure(1000.0, 0.8)
    800.0
    """
    return pressure_pa * density_ratio * (speed_ratio * size_ratio) ** 2


def scaled_power(
    power_w: Amount, density_ratio: Amount, speed_ratio: Amount = 1.0, size_ratio: Amount = 1.0
) -> Amount:
    """Power of a fan in other air, at another speed and size, P (rho/rho0) (n/n0)^3 (D/D0)^5 [W].

    Source: fan laws, as in Stoecker and Jones, Refrigeration and Air Conditioning, fan chapter.

    >>> scaled_power(100.0, 1.0, 2.0)
    800.0
    """
    return power_w * density_ratio * speed_ratio**3 * size_ratio**5


def air_power(flow_m3_s: Amount, pressure_pa: Amount) -> Amount:
    """Power given to the air [W], flow [m3/s] times pressure [Pa] (definition).

    >>> air_power(0.5, 2000.0)
    1000.0
    """
    return flow_m3_s * pressure_pa


def power_taken(power_w: Amount, efficiency: Amount) -> Amount:
    """Power [W] that must go in so that power_w [W] comes out, P / eta; efficiency eta [-], above 0 to 1 (definition).

    Air power over a fan's efficiency is shaft power, shaft power over a motor's is what the meter counts.

    >>> power_taken(1000.0, 0.5)
    2000.0
    """
    return power_w / efficiency
