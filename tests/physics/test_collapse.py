"""The suction at which a thin tube folds, against a ring of links that buckles on the computer."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.linalg import eigh, null_space

from ductcalc.physics.collapse import collapse_pressure

Floats = NDArray[np.float64]
STEEL = (200e9, 0.3)


def turned(u: Floats) -> Floats:
    return np.array([-u[1], u[0]])


def ring_of_links(count: int, bore_m: float, stiffness_n_m2: float) -> float:
    """Return the pressure [Pa] at which a polygon of stiff links with springs at its corners folds, for 1 m of tube.

    stiffness_n_m2: of the wall against bending, for 1 m of tube [N m]. The links keep their lengths; the pressure
    stays normal to them, so that its work is pressure times the area lost. The state is lost where the second
    derivative of spring energy, pressure times area and the forces in the links ceases to be positive.
    """
    corner = 2.0 * math.pi * np.arange(count) / count
    points = 0.5 * bore_m * np.stack([np.cos(corner), np.sin(corner)], axis=1)
    links = np.roll(points, -1, axis=0) - points
    long = float(np.linalg.norm(links[0]))
    lengths, angles = np.zeros((count, 2 * count)), np.zeros((count, 2 * count))
    area, stretch = np.zeros((2 * count, 2 * count)), np.zeros((2 * count, 2 * count))
    for n in range(count):
        here, there = slice(2 * n, 2 * n + 2), slice(2 * ((n + 1) % count), 2 * ((n + 1) % count) + 2)
        before = slice(2 * ((n - 1) % count), 2 * ((n - 1) % count) + 2)
        along = links[n] / long
        lengths[n, here], lengths[n, there] = -along, along
        across = np.eye(2) - np.outer(along, along)
        stretch[here, here] += across / long
        stretch[there, there] += across / long
        stretch[here, there] -= across / long
        stretch[there, here] -= across / long
        turn = turned(links[n]) / long**2
        turn_before = turned(links[n - 1]) / long**2
        angles[n, there] += turn
        angles[n, here] -= turn + turn_before
        angles[n, before] += turn_before
        area[here, there] += 0.5 * np.array([[0.0, 1.0], [-1.0, 0.0]])
        area[there, here] += 0.5 * np.array([[0.0, -1.0], [1.0, 0.0]])
    allowed = null_space(lengths)
    springs = stiffness_n_m2 / long * allowed.T @ angles.T @ angles @ allowed
    force = long / (2.0 * math.tan(math.pi / count))
    loosened = allowed.T @ (force * stretch - area) @ allowed
    values, modes = eigh(springs)
    bends = values > 1e-6 * values[-1] / count**4
    bent = modes[:, bends] / np.sqrt(values[bends])
    return 1.0 / float(eigh(bent.T @ loosened @ bent, eigvals_only=True)[-1])


@pytest.mark.parametrize(("wall_m", "bore_m"), [(0.4e-3, 0.2), (0.55e-3, 0.125)])
def test_tube_folds_where_a_ring_of_links_folds(wall_m: float, bore_m: float) -> None:
    modulus, contraction = STEEL
    stiffness = modulus / (1.0 - contraction**2) * wall_m**3 / 12.0
    coarse, fine = (ring_of_links(count, bore_m, stiffness) for count in (40, 80))
    limit = fine + (fine - coarse) / 3.0
    assert float(collapse_pressure(wall_m, bore_m, modulus, contraction)) == pytest.approx(limit, rel=1e-4)


@given(st.floats(0.1e-3, 2e-3), st.floats(0.05, 0.6), st.floats(1.1, 4.0))
def test_what_a_tube_stands_hangs_on_wall_over_bore_alone(wall_m: float, bore_m: float, times: float) -> None:
    found = float(collapse_pressure(wall_m, bore_m, *STEEL))
    assert float(collapse_pressure(times * wall_m, times * bore_m, *STEEL)) == pytest.approx(found, rel=1e-12)
    assert float(collapse_pressure(times * wall_m, bore_m, *STEEL)) == pytest.approx(times**3 * found, rel=1e-12)


def test_walls_and_bores_may_be_arrays() -> None:
    found = collapse_pressure(np.array([[0.4e-3], [0.8e-3]]), np.array([0.1, 0.2, 0.4]), *STEEL)
    assert np.shape(found) == (2, 3)
