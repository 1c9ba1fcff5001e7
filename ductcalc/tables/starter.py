"""The starter shop: a small commented one that runs as it stands, to be changed into one's own."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from ductcalc.catalog.read import data_folder
from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.locate import COLLECTOR, DUCT, SETTINGS

STARTER_FILES = (DUCT, COLLECTOR, SETTINGS)


def write_starter(folder: Path | str) -> list[Path]:
    """Write the starter shop's files into a folder, made if need be, and return their paths.

    Nothing is ever overwritten: if one of the files is there, or the folder cannot be written, InputError is
    raised and nothing is written.
    """
    folder = Path(folder)
    _refuse_to_overwrite(folder)
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in STARTER_FILES:
            _write(folder / name, (data_folder() / "starter" / name).read_bytes(), written)
    except OSError as error:
        _remove(written)
        reason = (error.strerror or "unwritable").casefold()
        hint = "choose a folder that you may write to; nothing was written"
        raise InputError(
            [Problem(f"the folder cannot be written: {reason}", hint, Place(str(folder)))]
        ) from None
    return written


def _refuse_to_overwrite(folder: Path) -> None:
    taken = [name for name in STARTER_FILES if os.path.lexists(folder / name)]
    if taken:
        hint = "choose another folder; nothing was written"
        raise InputError(
            [Problem("this file is there already", hint, Place(str(folder / name))) for name in taken]
        )


def _write(path: Path, data: bytes, written: list[Path]) -> None:
    with path.open("xb") as file:
        written.append(path)
        file.write(data)


def _remove(paths: list[Path]) -> None:
    for path in paths:
        with suppress(OSError):
            path.unlink()
