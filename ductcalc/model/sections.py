"""Sections as the model sees them: losses in order of the air, assumed reducers put in, leaking stretches."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from ductcalc.model.loss import Loss
from ductcalc.model.machine import port_loss
from ductcalc.model.pieces import piece_loss, reducer_loss
from ductcalc.shop.bore import perimeter
from ductcalc.shop.hanging import HungPiece, Port, Section
from ductcalc.shop.settings import Junction, Settings


@dataclass(frozen=True)
class ModelSection:
    """A section's losses. `heads`: for each port that may feed it, the losses up to the shared body.

    start_bore_m, end_bore_m: bores [m] at its two ends.
    """

    name: str
    run: str
    heads: tuple[tuple[Loss, ...], ...]
    body: tuple[Loss, ...]
    start_bore_m: float
    end_bore_m: float

    @property
    def gates(self) -> tuple[Loss, ...]:
        """The gates in it."""
        return tuple(loss for loss in self.body if loss.shut_k is not None)

    @property
    def length_m(self) -> float:
        """Length of pipe and hose [m]."""
        return sum(loss.length_m for loss in self.body)

    @property
    def rises(self) -> bool:
        """Whether a part of it goes up."""
        return any(loss.rise_m > 0.0 for loss in self.body)

    @property
    def riser_bore_m(self) -> float | None:
        """The largest bore [m] of pipe or hose in which its air goes up, None when it does not."""
        return max((loss.bore_m for loss in self.body if loss.rise_m > 0.0), default=None)

    @cached_property
    def surfaces_m2(self) -> tuple[float, float]:
        """Surface [m2] of its pipe and hose, and of what lies behind the last gate."""
        last = max((i for i, loss in enumerate(self.body) if loss.shut_k is not None), default=-1)
        surfaces = [perimeter(loss.bore_m) * loss.length_m for loss in self.body]
        return float(sum(surfaces)), float(sum(surfaces[last + 1 :]))

    def losses(self, head: int = 0) -> tuple[Loss, ...]:
        """Return all losses in order of the air, fed by one of its ports."""
        return (*self.heads[head], *self.body) if self.heads else self.body

    @property
    def widest_m(self) -> float | None:
        """The largest bore [m] of its pipe and hose, where chips would lie first; None when nothing has length."""
        return max((loss.bore_m for loss in self.body if loss.length_m > 0.0), default=None)


def model_section(section: Section, ports: tuple[Port, ...], settings: Settings, junction: Junction) -> ModelSection:
    """Decide every loss of a section; `ports` are those that feed it, in the order of the table."""
    rest = section.pieces[1:] if ports else section.pieces
    first = rest[0].bore_m if rest else section.bore_m
    heads = tuple(tuple(_head(port, rest, settings, junction)) for port in ports)
    body = tuple(_body(rest, first if ports else section.bore_m, bool(ports), settings, junction))
    return ModelSection(section.name, section.run, heads, body, section.bore_m, section.end_bore_m)


class SectionCache:
    """Sections that were decided before: of many variants of one shop, most are the same in all of them."""

    def __init__(self) -> None:
        """Start with none."""
        self._made: dict[tuple[object, ...], ModelSection] = {}
        self._settings: list[Settings] = []

    def section(
        self, section: Section, ports: tuple[Port, ...], settings: Settings, junction: Junction
    ) -> ModelSection:
        """Return what `model_section` decides."""
        key = (section, ports, self._number(settings), junction)
        if key not in self._made:
            self._made[key] = model_section(section, ports, settings, junction)
        return self._made[key]

    def _number(self, settings: Settings) -> int:
        """Return the number of these settings among those met; they cannot be hashed, and are few."""
        for number, known in enumerate(self._settings):
            if known is settings or known == settings:
                return number
        self._settings.append(settings)
        return len(self._settings) - 1


def _head(port: Port, rest: tuple[HungPiece, ...], settings: Settings, junction: Junction) -> Iterator[Loss]:
    yield port_loss(port, settings.method)
    if rest and rest[0].piece.kind != "reducer" and port.hung.bore_m != rest[0].bore_m:
        yield reducer_loss(port.hung.bore_m, rest[0], junction, assumed=True)
    elif rest and rest[0].piece.kind == "reducer":
        yield piece_loss(rest[0], port.hung.bore_m, settings, junction)


def _body(
    pieces: tuple[HungPiece, ...], bore_m: float, fed: bool, settings: Settings, junction: Junction
) -> Iterator[Loss]:
    """Yield the losses behind the ports; a reducer right behind a port (`fed`) belongs to the port's head."""
    for position, hung in enumerate(pieces):
        if hung.piece.kind == "reducer":
            if position or bore_m != hung.bore_m or not fed:
                yield piece_loss(hung, bore_m, settings, junction)
        else:
            if hung.bore_m != bore_m:
                yield reducer_loss(bore_m, hung, junction, assumed=True)
            if hung.piece.kind != "collector" or hung.piece.k is not None:
                yield piece_loss(hung, bore_m, settings, junction)
        bore_m = hung.bore_m
