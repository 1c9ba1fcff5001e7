"""Every error that ductcalc raises on purpose, and the place in a file that an error points at.

DuctcalcError
├── InputError            something given is wrong; nothing was computed (exit code 2)
└── NoAnswerError         the input is fine but has no answer (exit code 3)
    ├── NoOperatingPointError
    └── NotConvergedError
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

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


@dataclass(frozen=True)
class Problem:
    """One thing wrong with what was given: what, where, the text as given, and a repair."""

    message: str
    hint: str
    place: Place | None = None
    given: str | None = None

    def __str__(self) -> str:
        """Say the problem and its repair in two lines."""
        head = f"{self.place}: {self.message}" if self.place else self.message
        return f"{head}\n  hint: {self.hint}"


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
