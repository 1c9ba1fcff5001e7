"""How hard it is to get air through a machine's port, and how much air it is to get."""

from __future__ import annotations

from dataclasses import replace

from ductcalc.catalog import Fact, fact, hood_entry
from ductcalc.model.decided import Decided, from_fact, given
from ductcalc.model.loss import Loss
from ductcalc.physics.fittings import (
    FLUSH_ENTRY_K,
    inlet_area_k,
    machine_k_from_static,
    machine_k_from_total,
)
from ductcalc.physics.velocity import bore_area, velocity
from ductcalc.shop.hanging import Port
from ductcalc.shop.piece import Drop, Piece
from ductcalc.shop.settings import MethodSettings

RATED_DENSITY_KG_M3 = 1.2
"""Air at which a machine's stated suction holds: DGUV Information 209-044 (2019), foreword, figures at 20 m/s."""

MACHINE = "machine resistance"
OPEN_MOUTH = "open mouth"


def port_loss(port: Port, method: MethodSettings) -> Loss:
    """Return what a port takes: own k, stated suction, free inlet area, shape of the mouth, or a default."""
    piece, bore = port.hung.piece, port.hung.bore_m
    return Loss("machine", port.machine, bore, port_k(piece, bore, method), place=piece.place, note=piece.note)


def port_k(piece: Piece, bore_m: float, method: MethodSettings) -> Decided:
    """Return the port's loss coefficient on its own VP."""
    if piece.k is not None:
        return given(piece.k, "loss coefficient as written")
    if piece.drop is not None:
        return _from_drop(piece.drop, bore_m)
    if piece.inlet_m2 is not None:
        return _from_inlet(piece, piece.inlet_m2, bore_m)
    if piece.style is not None:
        return _open_mouth(piece)
    if method.machine_k is not None:
        return given(method.machine_k, "machine resistance of the settings")
    return from_fact(fact("machine", "unknown"), "machine of which nothing is known", MACHINE)


def _open_mouth(piece: Piece) -> Decided:
    """Return the entry of a port's shape. A machine behind it may take as much as one of which nothing is known."""
    entry = from_fact(_entry(piece), f"{piece.style} entry", OPEN_MOUTH)
    return replace(entry, high=max(entry.high, fact("machine", "unknown").value))


def _entry(piece: Piece) -> Fact:
    assert piece.style is not None
    return hood_entry(piece.style, piece.angles_deg[0] if piece.angles_deg else None)


def _from_drop(drop: Drop, bore_m: float) -> Decided:
    speed = drop.speed_m_s
    if speed is None:
        assert drop.flow_m3_s is not None
        speed = float(velocity(drop.flow_m3_s, bore_m))
    if drop.total:
        return given(float(machine_k_from_total(drop.pressure_pa, speed, RATED_DENSITY_KG_M3)), "stated total loss")
    k = float(machine_k_from_static(drop.pressure_pa, speed, RATED_DENSITY_KG_M3))
    return given(k, "stated static suction less one VP")


def _from_inlet(piece: Piece, inlet_m2: float, bore_m: float) -> Decided:
    opening = float(inlet_area_k(bore_area(bore_m), inlet_m2))
    if piece.style is None:
        return given(opening, "free inlet area and a flush entry")
    return from_fact(_entry(piece), f"free inlet area and {piece.style} entry").plus(opening - FLUSH_ENTRY_K)


def wanted_flow(piece: Piece, bore_m: float) -> tuple[float, bool]:
    """Return the air wanted at a port [m3/s] and whether that was assumed (20 m/s in the port)."""
    area = float(bore_area(bore_m))
    if piece.wanted is not None and piece.wanted.flow_m3_s is not None:
        return piece.wanted.flow_m3_s, False
    if piece.wanted is not None and piece.wanted.speed_m_s is not None:
        return piece.wanted.speed_m_s * area, False
    return fact("machine", "wanted speed").value * area, True
