"""The duct as a schematic: each run a straight line, every place by its length of duct to the collector at the left.

A run hangs below the one that it joins, what joins farthest from the collector nearest to it; what is told of its
later stretches stands above it, that of the farthest nearest to it. So no line crosses another one or any words, and
right of a run's end its rows are free.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ductcalc.answers.draw import Drawing, DrawnStretch
from ductcalc.report.blocks import Span
from ductcalc.report.display import Display
from ductcalc.report.draw.picture import (
    Group,
    Look,
    Mark,
    NoRoom,
    Part,
    Picture,
    Point,
    Sign,
    Stroke,
    Words,
    round_steps,
    written,
)
from ductcalc.report.draw.words import described, machine_words, stretch_words, titled
from ductcalc.report.flow import carried, width_of
from ductcalc.units.display import to_display

LEFT = 4
"""Columns left of the duct's end, for the collector."""
GAP = 2
"""Columns between a run's end and its words."""
SHORTEST = (4, 3, 2, 1)
"""Columns that the shortest stretch has, the first that fits: lines and gates must stay apart."""
JUST_ABOVE = 0.6
"""Rows above a run's line at which a leader ends."""
SIGNS: tuple[tuple[Sign, str], ...] = (
    ("port", "machine"), ("gate", "gate"), ("gate shut", "shut gate"), ("cap", "cap"),
)  # fmt: skip
LOOKS: tuple[tuple[Look, str], ...] = (("pipe", "pipe"), ("hose", "hose"), ("shut", "no air asked for"))
SCALES = (0.05, 40.0, 60)
"""Columns to the metre between which the largest that fits is looked for, in so many halvings."""


@dataclass(frozen=True)
class _Places:
    """Where each stretch begins and ends (columns), and the scale [columns/m]."""

    begins: tuple[int, ...]
    ends: tuple[int, ...]
    scale: float
    true: bool


def schematic(
    drawing: Drawing, display: Display, columns: int, encoding: str = "utf-8", grows: bool = False
) -> Picture:
    """Return the picture on a sheet of so many columns; grows: as many more as the stretches need.

    Raises NoRoom where they do not fit.
    """
    return _Sheet(drawing, display, columns, encoding, grows).picture()


class _Sheet:
    """One picture being laid out, row by row."""

    def __init__(self, drawing: Drawing, display: Display, columns: int, encoding: str, grows: bool) -> None:
        self.drawing, self.display = drawing, display
        self.said = [_said(drawing, number, display, encoding) for number in range(len(drawing.stretches))]
        self.collector = carried(drawing.collector, encoding)
        self.widths = [max((width_of(span.text) for span in said), default=0) for said in self.said]
        self.columns, self.places = self._fitted(columns, grows)
        self.parts: list[list[Part]] = [[] for _ in drawing.stretches]
        self.row = 0

    def _fitted(self, columns: int, grows: bool) -> tuple[int, _Places]:
        while True:
            for shortest in SHORTEST:
                if (places := self._at_scale(shortest, columns)) is not None:
                    return columns, places
            if not grows:
                raise NoRoom
            columns += columns // 4

    def _at_scale(self, shortest: int, columns: int) -> _Places | None:
        """Return the places at the largest scale at which all words fit; None when none does."""
        low, high, halvings = SCALES
        if not self._fits(self._place(low, shortest), columns):
            return None
        for _ in range(halvings):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self._fits(self._place(middle, shortest), columns) else (low, middle)
        return self._place(low, shortest)

    def _place(self, scale: float, shortest: int) -> _Places:
        stretches = self.drawing.stretches
        begins, ends, true = [0.0] * len(stretches), [0.0] * len(stretches), True
        for number in range(len(stretches) - 1, -1, -1):
            one = stretches[number]
            ends[number] = float(LEFT) if one.below is None else begins[one.below]
            gates = sum(piece.kind == "gate" for piece in one.pieces)
            least = shortest + (gates if shortest > 1 else 0)
            true = true and one.length_m * scale >= least
            begins[number] = ends[number] + max(one.length_m * scale, least)
        return _Places(tuple(map(round, begins)), tuple(map(round, ends)), scale, true)

    def _fits(self, places: _Places, columns: int) -> bool:
        most = columns // 2
        return all(
            self._words_at(places, number) + min(width, most) <= columns for number, width in enumerate(self.widths)
        )

    def _words_at(self, places: _Places, number: int) -> int:
        """Return the column where the words of a stretch begin: behind its run's end, or behind their leader."""
        heads = self.drawing.stretches[number].straight is None
        return places.begins[number] + GAP if heads else _middle(places, number) + GAP

    def picture(self) -> Picture:
        """Return the whole sheet."""
        stretches = self.drawing.stretches
        top = written(self.collector, (0.0, 0.0), self.columns, "strong")
        self.row = len(top)
        line = self._runs(len(stretches) - 1)
        groups = [
            Group("stretch", titled(self.drawing, number, self.display), tuple(parts))
            for number, parts in enumerate(self.parts)
        ]
        leader = Stroke(((1.0, float(len(top))), (1.0, line - JUST_ABOVE)), "leader")
        into = Stroke(((float(LEFT), line), (1.0, line)), "pipe", self._bore(len(stretches) - 1))
        own: tuple[Part, ...] = (*top, *([leader] if line > len(top) else []), into, Mark((1.0, line), "collector"))
        collector = Group("collector", self.drawing.collector, own)
        foot = tuple(self._foot())
        return Picture(
            self.columns,
            self.row,
            f"The duct of {self.drawing.shop}",
            described(self.drawing, self.display),
            (collector, *groups, *foot),
        )

    def _runs(self, root: int) -> float:
        """Lay out the run that ends in a stretch, then what hangs on it, and return the row of its line.

        No recursion, since runs may hang thousands deep.
        """
        stack, rows = [(root, -1.0)], []
        while stack:
            last, from_row = stack.pop()
            run = self._upstream(last)
            line = self._one_run(run)
            rows.append(line)
            if from_row >= 0.0:
                end = float(self.places.ends[last])
                self.parts[last].append(Stroke(((end, from_row), (end, line)), self._look(last), self._bore(last)))
            hanging = [(branch, line) for number in run for branch in self.drawing.stretches[number].comes_in]
            stack += hanging[::-1]
        return rows[0]

    def _upstream(self, last: int) -> list[int]:
        """Return the stretches of a run, in the order of the air."""
        run = [last]
        while (before := self.drawing.stretches[run[0]].straight) is not None:
            run.insert(0, before)
        return run

    def _one_run(self, run: Sequence[int]) -> float:
        """Lay out a run: words of its later stretches, its line, words behind its end; return the row of the line."""
        first, later = run[0], run[:0:-1]
        leaders = [(number, words) for number in later if (words := self._words(number))]
        for number, words in leaders:
            self._put(number, words, self._words_at(self.places, number))
        line = float(self.row)
        for number, words in leaders:
            at = float(_middle(self.places, number))
            self.parts[number].append(Stroke(((at, words[0].at[1]), (at, line - JUST_ABOVE)), "leader"))
        self._put(first, self._words(first), self._words_at(self.places, first))
        for number in run:
            self.parts[number] += self._duct(number, line)
        return line

    def _words(self, number: int) -> list[Words]:
        """Return what is told of a stretch as lines, each in a row of its own, from row 0 on."""
        at = self._words_at(self.places, number)
        lines: list[Words] = []
        for text, style in self.said[number]:
            lines += written(text, (float(at), float(len(lines))), self.columns - at, style)
        return lines

    def _put(self, number: int, words: list[Words], at: int) -> None:
        words[:] = [one._replace(at=(float(at), self.row + one.at[1])) for one in words]
        self.parts[number] += words
        self.row += max(len(words), 1)

    def _look(self, number: int, kind: str = "pipe") -> Look:
        if self.drawing.stretches[number].taking is False:
            return "shut"
        return "hose" if kind == "flex" else "pipe"

    def _bore(self, number: int) -> float:
        pieces = self.drawing.stretches[number].pieces
        return pieces[-1].bore_m if pieces else 0.1

    def _duct(self, number: int, row: float) -> Iterator[Stroke | Mark]:
        """Yield the line of a stretch piece by piece, then its signs."""
        one, end, begin = self.drawing.stretches[number], self.places.ends[number], self.places.begins[number]

        def column(at_m: float) -> int:
            share = (at_m - one.ends_m) / one.length_m if one.length_m else 0.5
            return round(end + share * (begin - end))

        laid = [piece for piece in one.pieces if piece.begins_m > piece.ends_m]
        for piece in laid:
            points = ((float(column(piece.begins_m)), row), (float(column(piece.ends_m)), row))
            yield Stroke(points, self._look(number, piece.kind), piece.bore_m)
        if not laid:
            yield Stroke(((float(begin), row), (float(end), row)), self._look(number), self._bore(number))
        inner = range(end + 1, begin) or range(end, begin + 1)
        for piece in one.pieces:
            if piece.kind == "gate":
                at = min(max(column(piece.begins_m), inner[0]), inner[-1])
                yield Mark((float(at), row), "gate shut" if one.taking is False else "gate")
        if one.straight is None and not one.comes_in:
            yield Mark((float(begin), row), "port" if one.machines else "cap")

    def _foot(self) -> Iterator[Group]:
        """Yield the scale and the key of the signs that are used."""
        parts = {part for found in self.parts for part in found if isinstance(part, (Stroke, Mark))}
        looks = {part.look for part in parts if isinstance(part, Stroke)}
        signs = {part.sign for part in parts if isinstance(part, Mark)}
        self.row += 1
        yield Group("scale", "length scale", tuple(self._scale()))
        self.row += 1
        entries: list[tuple[Stroke | Mark, str]] = [
            *((Mark((0.0, 0.0), sign), said) for sign, said in SIGNS if sign in signs),
            *((Stroke(((0.0, 0.0), (2.0, 0.0)), look, 0.1), said) for look, said in LOOKS if look in looks),
        ]
        yield Group("key", "signs", tuple(self._key(entries)))

    def _scale(self) -> Iterator[Stroke | Words]:
        factor = to_display(1.0, "length", self.display.system)[0]
        room = 0.3 * self.columns / self.places.scale * factor
        steps = round_steps(room, 1)
        nice = next(step for step in (steps[-1], steps[-1] / 2.0, steps[-1] / 5.0) if step <= room * 1.001)
        long, row = nice / factor * self.places.scale, float(self.row)
        said = f"{nice:g} {self.display.unit('length')} of level line; air flows to the left"
        if not self.places.true:
            said += "; stretches too short for their signs are drawn longer"
        yield Stroke(((float(LEFT), row), (LEFT + long, row)), "axis")
        words = written(said, (float(round(LEFT + long) + GAP), row), self.columns - round(LEFT + long) - GAP)
        yield from words
        self.row += len(words)

    def _key(self, entries: list[tuple[Stroke | Mark, str]]) -> Iterator[Part]:
        at = LEFT
        for part, said in entries:
            wide = 2 if isinstance(part, Stroke) else 0
            if at + wide + GAP + width_of(said) > self.columns:
                at, self.row = LEFT, self.row + 1
            here: Point = (float(at), float(self.row))
            yield (
                part._replace(points=(here, (here[0] + wide, here[1])))
                if isinstance(part, Stroke)
                else part._replace(at=here)
            )
            yield Words((float(at + wide + GAP), float(self.row)), said)
            at += wide + GAP + width_of(said) + 3
        self.row += 1


def _middle(places: _Places, number: int) -> int:
    """Return the column of the middle of a stretch, from which the leader to its words goes up."""
    return (places.begins[number] + places.ends[number]) // 2


def _said(drawing: Drawing, number: int, display: Display, encoding: str) -> list[Span]:
    """Return what is told of a stretch: its machines, if it has any, then its figures; as the encoding carries it."""
    one: DrawnStretch = drawing.stretches[number]
    figures = Span(stretch_words(drawing, number, display))
    said = (*machine_words(drawing, one, display), figures)
    return [Span(carried(span.text, encoding), span.style) for span in said if span.text]
