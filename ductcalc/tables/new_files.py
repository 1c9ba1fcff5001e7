"""A shop's files written into a folder: nothing is overwritten, and what was begun is taken away when it fails."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.locate import COLLECTOR, DUCT, SETTINGS

SHOP_FILES = (DUCT, COLLECTOR, SETTINGS)


def refuse_to_overwrite(folder: Path) -> None:
    """Raise InputError when the folder holds one of a shop's files already."""
    taken = [name for name in SHOP_FILES if os.path.lexists(folder / name)]
    if taken:
        hint = "choose another folder; nothing was written"
        raise InputError([Problem("this file is there already", hint, Place(str(folder / name))) for name in taken])


def write_new(path: Path, data: bytes, written: list[Path]) -> None:
    """Write a file that must not be there yet, and note it in `written` before its first byte."""
    with path.open("xb") as file:
        written.append(path)
        file.write(data)


def remove(paths: list[Path]) -> None:
    """Take away what was written; what cannot be removed stays."""
    for path in paths:
        with suppress(OSError):
            path.unlink()
