"""Every error that ductcalc raises on purpose, the place in a file that it points at, and where problems gather.

DuctcalcError
├── InputError            something given is wrong; nothing was computed (exit code 2)
└── NoAnswerError         the input is fine but has no answer (exit code 3)
    ├── NoOperatingPointError
    └── NotConvergedError

UnreadableError is none of them: whoever read the text knows its place, and notes a Problem.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

T = TypeVar("T")
MOST_TOLD = 100
"""Problems of one file that are told in words; of more only the count."""


@dataclass(frozen=True)
class Place:
    """Where something stands: a file, and in it a table cell (row counted from 1) or a settings key."""

    file: str
    row: int | None = None
    column: str | None = None
    letter: str | None = None
    key: str | None = None

    def __str__(self) -> str:
        """Say the place as a person reads it in the spreadsheet."""
        parts = [self.file]
        if self.row is not None:
            parts.append(f"row {self.row}")
        text = " ".join(parts)
        if self.column is not None:
            text += f", column {self.column}" + (f" ({self.letter})" if self.letter else "")
        if self.key is not None:
            text += f", {self.key}"
        return text


class Problem(NamedTuple):
    """One thing wrong with what was given: what, where, the text as given, and a repair."""

    message: str
    hint: str
    place: Place | None = None
    given: str | None = None

    def __str__(self) -> str:
        """Say the problem and its repair in two lines."""
        head = f"{self.place}: {self.message}" if self.place else self.message
        return f"{head}\n  hint: {self.hint}"


class UnreadableError(Exception):
    """A text that is not what was wanted: `message` says what is wrong, `hint` how to repair it."""

    def __init__(self, message: str, hint: str) -> None:
        """Keep message and hint; whoever knows the place makes a Problem of them."""
        super().__init__(message)
        self.message = message
        self.hint = hint


class DuctcalcError(Exception):
    """Base of every error that ductcalc raises on purpose."""


class InputError(DuctcalcError):
    """Something given is wrong. Carries every problem found, in the order of the files."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep all problems; the text of the error lists them and says that nothing was computed.

        Of a file with more than MOST_TOLD problems the first ones are listed and the rest is counted.
        """
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join([*self._told(), self._closing()]))

    def _told(self) -> list[str]:
        told: list[str] = []
        seen: Counter[str] = Counter()
        for problem in self.problems:
            file = problem.place.file if problem.place else ""
            seen[file] += 1
            if seen[file] <= MOST_TOLD:
                told.append(str(problem))
        more = {file: count - MOST_TOLD for file, count in seen.items() if count > MOST_TOLD}
        return [*told, *(f"{file or 'in all'}: {count} more" for file, count in more.items())]

    def _closing(self) -> str:
        count = len(self.problems)
        noun = "problem" if count == 1 else "problems"
        files = list(dict.fromkeys(p.place.file for p in self.problems if p.place))
        where = f" in {', '.join(files)}" if files else ""
        return f"{count} {noun}{where}; nothing was computed"


class NoAnswerError(DuctcalcError):
    """The input is sound but no answer exists or none was found."""


class NoOperatingPointError(NoAnswerError):
    """The blower's curve and the ducts do not meet within the points given."""


class NotConvergedError(NoAnswerError):
    """The solver stopped before its own audit was satisfied."""


class Notebook:
    """Gathers every problem of every file of one shop."""

    def __init__(self) -> None:
        """Start with no problem."""
        self.problems: list[Problem] = []

    def note(self, place: Place | None, message: str, hint: str, given: str | None = None) -> None:
        """Note one problem."""
        self.problems.append(Problem(message, hint, place, given))

    def note_unreadable(self, place: Place | None, error: UnreadableError, given: str | None = None) -> None:
        """Note a text that could not be read."""
        self.note(place, error.message, error.hint, given)

    def read(self, place: Place | None, reader: Callable[[str], T], text: str) -> T | None:
        """Return what a reader makes of a text; None when it is unreadable, which is noted."""
        try:
            return reader(text)
        except UnreadableError as error:
            self.note_unreadable(place, error, text)
            return None

    def extend(self, problems: Iterable[Problem]) -> None:
        """Take over problems found elsewhere."""
        self.problems.extend(problems)

    def close(self, files: Sequence[str]) -> None:
        """Raise InputError with all problems, in the order of the files and their rows, if there are any."""
        if not self.problems:
            return
        order = {file: number for number, file in enumerate(files)}

        def rank(problem: Problem) -> tuple[int, int]:
            place = problem.place
            return (order.get(place.file, len(order)), place.row or 0) if place else (-1, 0)

        raise InputError(sorted(self.problems, key=rank))
