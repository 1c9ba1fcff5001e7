"""One section of the settings: its keys are taken one by one, and what is left over is unknown."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from ductcalc.errors import Notebook, Place
from ductcalc.tables import limits
from ductcalc.tables.cells import share, size
from ductcalc.tables.words import choice, guess, word_key
from ductcalc.units import Dimension, UnreadableError, parse_number, quoted, read, visible
from ductcalc.units.reading import UNITLESS

_LIKE = {
    "ft": "m", "in": "mm", "F": "C", "hp": "kW", "Pa": "inwg", "mbar": "Pa", "ft2": "m2", "gal": "l",
    "lb/ft3": "kg/m3", "kg/m3": "lb/ft3", "fpm": "m/s",
}  # fmt: skip
Range = tuple[float, float]
T = TypeVar("T")


class SettingsSection:
    """A table of shop.toml. Letter case, `_`, `-` and space do not matter in its keys."""

    def __init__(self, values: object, place: Place, notebook: Notebook) -> None:
        """Take the section's values; anything that is no table is noted. place.key is its path."""
        self.place = place
        self.notebook = notebook
        self.known: list[str] = []
        self.written: dict[str, str] = {}
        self.values: dict[str, tuple[str, Any]] = {}
        if not isinstance(values, Mapping):
            notebook.note(
                place,
                f"{place.key} is not a section",
                f"write [{place.key}] and its keys below",
                said(values),
            )
            return
        for key, value in values.items():
            if word_key(str(key)) in self.values:
                notebook.note(self.at(str(key)), f"{visible(str(key))} stands twice", "keep one of the two", str(key))
            self.values.setdefault(word_key(str(key)), (str(key), value))
            self.written.setdefault(word_key(str(key)), str(key))

    def at(self, key: str) -> Place:
        """Return the place of a key."""
        written = visible(self.written.get(key, key))
        path = f"{self.place.key}.{written}" if self.place.key else written
        return replace(self.place, key=path)

    def take(self, key: str) -> Any:
        """Return a key's value as written, None when it is not there; the key counts as known."""
        self.known.append(key)
        return self.values.pop(key, (key, None))[1]

    def finish(self) -> None:
        """Note every key that was not taken."""
        what = "key" if self.place.key else "section"
        for written, _ in self.values.values():
            names = [known.replace(" ", "_") for known in self.known]
            self.notebook.note(
                self.at(written), f"no {what} is named {quoted(written)}", guess(written, names), written
            )

    def quantity(
        self, key: str, dimension: Dimension, span: Range, example: str, *, above: bool = False
    ) -> float | None:
        """Return a quantity in SI within a span."""
        name = key.replace(" ", "_")
        like = f"for example {name} = {example}"

        def reader(text: str) -> float:
            if (bare := _bare_number(text)) is not None and dimension not in UNITLESS:
                units = " or ".join(f'{name} = "{bare} {unit}"' for unit in _units_beside(example, dimension))
                raise UnreadableError(f"{quoted(text)} has no unit", f"write {units}")
            found = read(text, (dimension,))
            allowed = limits.allowed(span, found.unit, above=above)
            return limits.within(found.value, span, text, key, f"write {allowed}, {like}", above=above)

        return self._read(key, reader, f"write {like}")

    def number(self, key: str, span: Range, example: str) -> float | None:
        """Return a bare number within a span."""
        hint = f"write {limits.allowed(span)}, for example {key.replace(' ', '_')} = {example}"
        return self._read(key, lambda text: limits.within(parse_number(text), span, text, key, hint), hint)

    def share(self, key: str, example: str) -> float | None:
        """Return a share from 0 to 1, written as a share or in per cent."""
        hint = f"write for example {key.replace(' ', '_')} = {example}"
        return self._read(key, lambda text: share(text, None, key), hint)

    def bore(self, key: str) -> float | None:
        """Return an inside diameter [m]."""
        return self._read(
            key, lambda text: size(text, None), f'write for example {key.replace(" ", "_")} = "8 in"'
        )

    def word(self, key: str, known: Iterable[str]) -> str | None:
        """Return one of the known words."""
        words = list(known)
        return self._read(key, lambda text: choice(text, words, key), f"known are: {', '.join(words)}")

    def read_text(self, key: str, read: Callable[[str], T], hint: str) -> T | None:
        """Return what a reader makes of a text or number."""
        return self._read(key, read, hint)

    def flag(self, key: str) -> bool:
        """Return true or false; false when it is not there."""
        value = self.take(key)
        if value is None or isinstance(value, bool):
            return bool(value)
        name = key.replace(" ", "_")
        self.notebook.note(
            self.at(key),
            f"{quoted(said(value))} is neither true nor false",
            f"write {name} = true",
            said(value),
        )
        return False

    def _read(self, key: str, read: Callable[[str], T], hint: str) -> T | None:
        value = self.take(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            self.notebook.note(
                self.at(key), f"{quoted(said(value))} is not what {key} takes", hint, said(value)
            )
            return None
        return self.notebook.read(self.at(key), read, said(value))


def _bare_number(text: str) -> str | None:
    """Return a number that stands without a unit, as written; None for anything else."""
    try:
        parse_number(text)
    except UnreadableError:
        return None
    return text.strip()


def _units_beside(example: str, dimension: Dimension) -> tuple[str, ...]:
    """Return the unit of an example such as `"1200 ft"`, and the one that the other system has for the like."""
    unit = read(example.partition('"')[2].partition('"')[0], (dimension,)).unit
    named = unit.name if unit else ""
    return tuple(filter(None, (named, _LIKE.get(named))))


def read_each(
    value: object, read: Callable[[str], T], what: str, hint: str, place: Place, notebook: Notebook
) -> list[T]:
    """Return what a reader makes of every text of a list, or of one text; the unreadable ones are noted."""
    entries = [value] if isinstance(value, str) else value
    if not isinstance(entries, list) or not entries or not all(isinstance(entry, str) for entry in entries):
        notebook.note(place, f"{quoted(said(value))} is not a list of {what}", hint, said(value))
        return []
    found = (notebook.read(place, read, entry) for entry in entries)
    return [one for one in found if one is not None]


def said(value: object) -> str:
    """Return a value of the settings as it was written, more or less; one that cannot be written out by its kind."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float) and math.isfinite(value):
        return repr(value)
    try:
        return str(value)
    except (ValueError, RecursionError):
        return "a number of thousands of digits" if isinstance(value, int) else "sections of sections"
