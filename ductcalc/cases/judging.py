"""Served and settling for many cases at once: what the verdict words stand on, as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ductcalc.cases.choices import Choice
from ductcalc.cases.words import ROUNDING, settling_speed
from ductcalc.model.model import Model
from ductcalc.physics.velocity import bore_area

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
NO_CHIPS = 0


@dataclass(frozen=True)
class Judge:
    """The yardsticks of one model, in the shape that arrays of cases need."""

    model: Model

    @cached_property
    def materials(self) -> tuple[str, ...]:
        """Materials of the shop from the easiest to the hardest to keep moving."""
        names = dict.fromkeys(port.material for port in self.model.ports)
        return tuple(sorted(names, key=self.model.needed_speed))

    @cached_property
    def needed_of_rank(self) -> Floats:
        """Needed speed [m/s] of each rank: rank 0 is no chips, rank 1 the easiest material."""
        return np.array([0.0, *(self.model.needed_speed(name) for name in self.materials)])

    @cached_property
    def port_rank(self) -> NDArray[np.intp]:
        """Rank of each port's material (ports, 1)."""
        ranks = {name: number + 1 for number, name in enumerate(self.materials)}
        return np.array([[ranks[port.material]] for port in self.model.ports], dtype=np.intp)

    @cached_property
    def slowest_area(self) -> Floats:
        """Area [m2] of each section's largest bore (sections, 1)."""
        return np.array([[section.widest_area_m2] for section in self.model.sections])

    @cached_property
    def riser_area(self) -> Floats:
        """Area [m2] of each section's largest rising bore (sections, 1); the smallest number where nothing rises."""
        bores = [section.riser_bore_m for section in self.model.sections]
        return np.array([[1e-12 if bore is None else float(bore_area(bore))] for bore in bores])

    def ranks(self, making_chips: Flags) -> NDArray[np.intp]:
        """Return the rank of the hardest material in each section (sections, cases); ports (ports, cases)."""
        found = np.zeros((self.model.tree.size, making_chips.shape[1]), dtype=np.intp)
        np.maximum.at(found, self.model.opening.port_section, np.where(making_chips, self.port_rank, NO_CHIPS))
        for _, outlet, streams, _ in self.model.tree.walk:
            for stream in streams:
                np.maximum(found[outlet], found[stream], out=found[outlet])
        return found

    def settles(self, flow_m3_s: Floats, ranks: NDArray[np.intp]) -> Flags:
        """Return where chips settle (sections, cases): slower than the graded speed, or than the full one on a rise."""
        return np.asarray(self.speed_share(flow_m3_s, ranks) < 1.0 - ROUNDING)

    def speed_share(self, flow_m3_s: Floats, ranks: NDArray[np.intp]) -> Floats:
        """Return speed over the speed below which chips settle (sections, cases), infinite where there are none."""
        needed = np.where(ranks > NO_CHIPS, self.needed_of_rank[ranks], 1.0)
        flat = flow_m3_s / (self.slowest_area * settling_speed(1.0) * needed)
        share = np.minimum(flat, flow_m3_s / (self.riser_area * needed))
        return np.asarray(np.where(ranks > NO_CHIPS, share, np.inf))


def ports_running(model: Model, choices: Sequence[Choice], taking: Flags) -> Flags:
    """Return which ports make chips (ports, cases): open ones of machines that run in their choice."""
    runs = np.array([[choice.runs(port.machine) for choice in choices] for port in model.ports], dtype=bool)
    return np.asarray(taking & runs.reshape(taking.shape))
