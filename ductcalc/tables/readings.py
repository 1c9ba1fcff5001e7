"""The log of readings, readings.csv: what was read where, with which gates open, by which instrument."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from math import hypot
from pathlib import Path
from typing import TypeVar, cast, get_args

from ductcalc.catalog import fact
from ductcalc.errors import InputError, Notebook
from ductcalc.shop import Shop, key_of
from ductcalc.shop.hanging import hang, spelled_out
from ductcalc.shop.piece import Run
from ductcalc.shop.readings import COLUMNS, Reading, ReadingKind, TapWord, Where
from ductcalc.tables import limits
from ductcalc.tables.files import decode, read_bytes, shown
from ductcalc.tables.sheet import Sheet, SheetRow, read_sheet, sheet_of_mappings
from ductcalc.tables.words import choice, guess, word_key
from ductcalc.units import Dimension, Unit, UnreadableError, quoted, read

REQUIRED = ("when", "open", "where", "value")
AT_COLLECTOR: dict[str, TapWord] = {
    "collector inlet": "collector inlet", "filter": "filter", "blower outlet": "blower outlet", "motor": "motor",
}  # fmt: skip
ON_A_RUN: tuple[TapWord, ...] = ("port", "gate", "end")
DIMENSIONS: dict[ReadingKind, Dimension] = {
    "static": "pressure", "drop": "pressure", "velocity pressure": "pressure", "speed": "speed", "current": "current",
}  # fmt: skip
SPANS: dict[Dimension, tuple[float, float]] = {
    "pressure": (0.0, limits.BLOWER_PRESSURE_PA), "speed": (0.0, limits.SPEED_M_S[1]), "current": (0.0, 500.0),
}  # fmt: skip
EXAMPLES: dict[Dimension, str] = {"pressure": '"2.6 inwg"', "speed": '"21 m/s"', "current": '"11.5 A"'}
GAUGES = ("u-tube", "inclined tube", "digital gauge", "dial gauge")
READS: dict[str, tuple[ReadingKind, ...]] = {
    **dict.fromkeys(GAUGES, cast("tuple[ReadingKind, ...]", ("static", "drop", "velocity pressure"))),
    "pitot tube": ("velocity pressure", "speed", "static"),
    "vane": ("speed",),
    "hot wire": ("speed",),
    "clamp meter": ("current",),
}
"""Instruments, and what each of them can read."""
USUAL: dict[ReadingKind, str] = {
    "static": "u-tube", "drop": "u-tube", "velocity pressure": "pitot tube", "speed": "vane", "current": "clamp meter",
}  # fmt: skip
STANDARD_AIR_KG_M3 = 1.2
LEAST_SPEED_M_S = 1.0
WHERE_HINT = (
    "write port RUN, gate RUN, end RUN, RUN at 12 ft, collector inlet, filter, blower outlet or motor; runs: {}"
)
T = TypeVar("T")
Given = Path | str | Sequence[Mapping[str, object]]


def read_readings(given: Given, shop: Shop) -> tuple[Reading, ...]:
    """Return the readings of a CSV file or of rows (column word to text), taken in this shop, in their order.

    Rows without a value are places that were not read yet. Raises InputError with every problem.
    """
    return readings_and_remarks(given, shop)[0]


def readings_and_remarks(given: Given, shop: Shop) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    """Return the readings, and what had to be decided about the file itself."""
    notebook = Notebook()
    sheet, file, remarks = _sheet(given, notebook)
    found: tuple[Reading, ...] = ()
    if sheet is not None:
        reader = _Reader(sheet, _Places(shop), shop, notebook)
        found = tuple(reading for row in sheet.rows for reading in reader.row(row))
        if reader.blank:
            remarks = (*remarks, f"{reader.blank} rows of {file} have no value yet")
        if not found and not notebook.problems:
            notebook.note(None, f"{file} holds no reading", 'write what was read under value, for example "2.6 inwg"')
    notebook.close([file])
    return found, remarks


def _sheet(given: Given, notebook: Notebook) -> tuple[Sheet | None, str, tuple[str, ...]]:
    if not isinstance(given, Path | str):
        return sheet_of_mappings(given, "readings", COLUMNS, REQUIRED, notebook), "readings", ()
    path = Path(given)
    file = shown(path.name)
    try:
        text, remarks = decode(read_bytes(path), file)
    except InputError as error:
        notebook.extend(error.problems)
        return None, file, ()
    sheet = read_sheet(text, file, COLUMNS, REQUIRED, notebook)
    return sheet, file, (*remarks, *(sheet.remarks if sheet else ()))


@dataclass
class _Places:
    """The places of a shop where something can be read."""

    shop: Shop

    @cached_property
    def runs(self) -> dict[str, Run]:
        """The runs ahead of the collector by compared name, every piece of theirs written out."""
        runs = {key_of(run.name): run for run in spelled_out(self.shop).runs}
        return {key: run for key, run in runs.items() if not run.is_outlet}

    @cached_property
    def by_gate(self) -> dict[str, Run]:
        """The runs by the names of their gates."""
        named = {}
        for run in self.runs.values():
            for piece in run.pieces:
                if piece.kind == "gate" and piece.machine:
                    named[key_of(piece.machine)] = run
        return named

    def where(self, text: str) -> Where:
        """Return the tap that a text names. Raises UnreadableError with the known ones."""
        if word_key(text) in AT_COLLECTOR:
            return Where(AT_COLLECTOR[word_key(text)], word_key(text))
        word, _, name = " ".join(text.split()).partition(" ")
        if word.casefold() in ON_A_RUN and name:
            return self._on_run(cast("TapWord", word.casefold()), name)
        name, at, distance = " ".join(text.split()).rpartition(" at ")
        if at:
            return self._at(name, distance, text)
        names = ", ".join(run.name for run in self.runs.values())
        raise UnreadableError(f"{quoted(text)} is no place to read", WHERE_HINT.format(names))

    def run(self, name: str) -> Run:
        """Return a run by its name."""
        found = self.runs.get(key_of(name))
        if found is None:
            names = [run.name for run in self.runs.values()]
            raise UnreadableError(f"no run is named {quoted(name)}", guess(name, names))
        return found

    def _on_run(self, word: TapWord, name: str) -> Where:
        run = self.by_gate.get(key_of(name)) if word == "gate" and key_of(name) not in self.runs else None
        run = run or self.run(name)
        kinds = {piece.kind for piece in run.pieces}
        if word in ("port", "gate") and word not in kinds:
            hint = f"write end {run.name}, or {run.name} at 3 ft"
            raise UnreadableError(f"run {quoted(run.name)} has no {word}", hint)
        if word == "end" and run.is_last:
            raise UnreadableError(f"run {quoted(run.name)} ends at the collector", "write collector inlet")
        return Where(word, f"{word} {run.name}", run.name)

    def _at(self, name: str, distance: str, text: str) -> Where:
        run, far = self.run(name), read(distance, ("length",)).value
        length = sum(piece.length_m or 0.0 for piece in run.pieces)
        if not 0.0 <= far <= length + 0.01:
            raise UnreadableError(
                f"{quoted(text)} lies beyond the run, which is {length:.3g} m ({length / 0.3048:.3g} ft) long",
                "count from the start of the run, pipe and hose alone",
            )
        return Where("at", " ".join(text.split()), run.name, far)


@dataclass
class _Reader:
    """Reads row after row; blank `when` and `open` repeat the row above. blank: rows without a value."""

    sheet: Sheet
    places: _Places
    shop: Shop
    notebook: Notebook
    when: str | None = None
    open: tuple[tuple[str, ...], str | None] | None = None
    blank: int = 0
    missing: set[str] = field(default_factory=set)

    @cached_property
    def machines(self) -> dict[str, str]:
        """Machines by compared name."""
        return {key_of(name): name for name in hang(self.shop, sound=True).machines()}

    def row(self, row: SheetRow) -> list[Reading]:
        """Return the row's reading, none when it has no value or a problem was noted."""
        before = len(self.notebook.problems)
        self._carry(row)
        if "value" not in row.cells:
            self.blank += 1
            return []
        where = self._cell(row, "where", self.places.where)
        for column, carried in (("when", self.when), ("open", self.open), ("where", where)):
            self._need(row, column, carried)
        healthy = self._cell(row, "healthy", _healthy) or False
        kind = self._kind(row, where)
        instrument = self._instrument(row, kind) if kind else None
        value = self._value(row, kind) if kind else None
        sigma = self._sigma(row, kind, instrument or "", value) if kind and value is not None else None
        if len(self.notebook.problems) > before or self.when is None or self.open is None:
            return []
        assert where and kind and instrument and value is not None and sigma is not None
        machines, gate_set = self.open
        place, note = self.sheet.place(row.number), row.cells.get("note")
        return [Reading(self.when, machines, where, kind, value, instrument, sigma, healthy, gate_set, note, place)]

    def _carry(self, row: SheetRow) -> None:
        self.when = self._cell(row, "when", _when) or self.when
        if "open" in row.cells:
            self.open = self._cell(row, "open", self._open)

    def _cell(self, row: SheetRow, column: str, reader: Callable[[str], T]) -> T | None:
        text = row.cells.get(column)
        return None if text is None else self.notebook.read(self.sheet.place(row.number, column), reader, text)

    def _need(self, row: SheetRow, column: str, value: object) -> None:
        """Note once a column that nothing was written in yet."""
        hints = {
            "when": "write the date as 2026-03-14, or 2026-03-14 09:30",
            "open": "write the machines whose gates were open, joined by +",
            "where": "write port RUN, gate RUN, end RUN, collector inlet or filter",
        }
        if value is None and column not in row.cells and column in self.sheet.columns and column not in self.missing:
            self.notebook.note(self.sheet.place(row.number, column), f"this row does not say {column}", hints[column])
            if column != "where":
                self.missing.add(column)

    def _open(self, text: str) -> tuple[tuple[str, ...], str | None]:
        """Return machines joined by +, or those of a gate set and its name."""
        sets = {key_of(found.name): found for found in self.shop.settings.gates.sets}
        if key_of(text) in sets and key_of(text) not in self.machines:
            named = sets[key_of(text)]
            return tuple(dict.fromkeys((*named.open, *named.helpers))), named.name
        names = [part.strip() for part in text.split("+")]
        for name in names:
            if key_of(name) not in self.machines:
                known = [*self.machines.values(), *(found.name for found in sets.values())]
                hint = "join machines with +" if "," in name else guess(name, known)
                raise UnreadableError(f"no machine or gate set is named {quoted(name)}", hint)
        return tuple(dict.fromkeys(self.machines[key_of(name)] for name in names)), None

    def _kind(self, row: SheetRow, where: Where | None) -> ReadingKind | None:
        only: dict[str, tuple[ReadingKind, ...]] = {
            "filter": ("drop",), "motor": ("current",), "blower outlet": ("static",),
        }  # fmt: skip
        ducts: tuple[ReadingKind, ...] = ("static", "velocity pressure", "speed")
        may = only.get(where.word, ducts) if where else get_args(ReadingKind)

        def reader(text: str) -> ReadingKind:
            kind = cast("ReadingKind", choice(text, get_args(ReadingKind), "kind of reading"))
            if kind not in may:
                at = where.written if where else ""
                raise UnreadableError(f"{kind} is not read at {at}", f"write {' or '.join(may)}, or nothing")
            return kind

        if "kind" not in row.cells:
            return may[0]
        return self._cell(row, "kind", reader)

    def _instrument(self, row: SheetRow, kind: ReadingKind) -> str | None:
        def reader(text: str) -> str:
            pitot = word_key(text) in ("pitot", "pitot static tube")
            found = "pitot tube" if pitot else choice(text, READS, "instrument")
            if kind not in READS[found]:
                fit = ", ".join(name for name, kinds in READS.items() if kind in kinds)
                raise UnreadableError(f"{quoted(text)} does not read {kind}", f"known for it are: {fit}")
            return found

        return self._cell(row, "instrument", reader) if "instrument" in row.cells else USUAL[kind]

    def _value(self, row: SheetRow, kind: ReadingKind) -> float | None:
        dimension = DIMENSIONS[kind]
        unit = _fitting(self.sheet, "value", dimension)

        def reader(text: str) -> float:
            value = read(text, (dimension,), unit).value
            low, high = SPANS[dimension]
            hint = f"write for example {EXAMPLES[dimension]}"
            if value < 0.0 and dimension == "pressure":
                hint = "write suction without a minus; at the blower's outlet the pressure over the room's"
            return limits.within(value, (low, high), text, f"a reading of {kind}", hint)

        return self._cell(row, "value", reader)

    def _sigma(self, row: SheetRow, kind: ReadingKind, instrument: str, value: float) -> float | None:
        """Return one standard deviation: half of what is written, else the instrument's."""
        dimension = DIMENSIONS[kind]
        if "uncertainty" not in row.cells:
            return 0.5 * usual_uncertainty(kind, instrument, value) if instrument else 1.0

        def reader(text: str) -> float:
            unit = _fitting(self.sheet, "uncertainty", dimension)
            found = read(text, (dimension, "share"), unit)
            shared = found.unit is not None and found.unit.dimension == "share"
            own = found.value * value if shared else found.value
            if not own > 0.0:
                raise UnreadableError(f"{quoted(text)} is no uncertainty", 'write more than 0, for example "5 %"')
            return own

        found = self._cell(row, "uncertainty", reader)
        return None if found is None else 0.5 * found


def usual_uncertainty(kind: ReadingKind, instrument: str, value: float) -> float:
    """Return two standard deviations of a reading in SI by its instrument (table `measuring`).

    A velocity pressure is twice as far off as its speed, as a share; a Pitot tube's own gauge counts in both.
    """
    fixed, share = (fact("measuring", f"{instrument}{part}").value for part in ("", " share"))
    if kind == "velocity pressure":
        share = 2.0 * fact("measuring", "pitot tube share").value
    elif kind == "speed" and instrument == "pitot tube":
        fixed = fixed / (STANDARD_AIR_KG_M3 * max(value, LEAST_SPEED_M_S))
    elif kind == "static" and instrument == "pitot tube":
        share = 0.0
    return hypot(fixed, share * value)


def _fitting(sheet: Sheet, column: str, dimension: Dimension) -> Unit | None:
    """Return the unit of a column's header where it fits what the row reads."""
    unit = sheet.columns[column].unit if column in sheet.columns else None
    return unit if unit is not None and unit.dimension == dimension else None


def _when(text: str) -> str:
    """Return a date, or a date and time, in ISO form."""
    try:
        plain = text.strip()
        return date.fromisoformat(plain).isoformat() if len(plain) <= len("2026-03-14") else _time(plain)
    except ValueError:
        raise UnreadableError(f"{quoted(text)} is no date", 'write "2026-03-14" or "2026-03-14 09:30"') from None


def _time(text: str) -> str:
    return datetime.fromisoformat(text).isoformat(sep=" ", timespec="minutes")


def _healthy(text: str) -> bool:
    if word_key(text) not in ("yes", "no", "true", "false", "y", "n"):
        raise UnreadableError(f"{quoted(text)} is neither yes nor no", "write yes where all was well, else nothing")
    return word_key(text) in ("yes", "true", "y")
