"""Words to the terminal: unseen characters are spelled out, and a stream that is closed or full is no crash."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import TextIO

from ductcalc.errors import InputError, Place, Problem
from ductcalc.units.wording import spelled


def say(text: str) -> None:
    """Write lines to standard error; where that is closed or full nothing can be told, and the answer still counts."""
    if sys.stderr is None:
        return
    lines = "\n".join(spelled(line) for line in text.split("\n"))
    with suppress(OSError, ValueError):
        _put(sys.stderr, f"{lines}\n")


def write_out(text: str) -> None:
    """Write to standard output; what its encoding lacks is spelled out, and a reader who left is no fault."""
    try:
        _put(sys.stdout, text)
    except BrokenPipeError:
        nobody_reads()


def _put(stream: TextIO, text: str) -> None:
    encoding = stream.encoding or "ascii"
    stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
    stream.flush()


def nobody_reads() -> None:
    """The reader of a pipe has gone, as after `| head -1`: that is no fault, and nothing more is written."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def told(error: InputError) -> str:
    """Return an error's text with the unseen characters of what was given spelled out, line ends as well."""
    return str(InputError(map(_told, error.problems)))


def _told(problem: Problem) -> Problem:
    place = problem.place and Place(
        spelled(problem.place.file),
        problem.place.row,
        problem.place.column and spelled(problem.place.column),
        problem.place.letter,
        problem.place.key and spelled(problem.place.key),
    )
    return problem._replace(message=spelled(problem.message), hint=spelled(problem.hint), place=place)
