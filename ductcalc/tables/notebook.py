"""Where problems are noted while reading goes on, so that all of them are told at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ductcalc.errors import InputError, Place, Problem
from ductcalc.units import UnreadableError


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
