"""The starter shop: a small commented one that runs as it stands, to be changed into one's own."""

from __future__ import annotations

from pathlib import Path

from ductcalc.catalog.read import data_folder
from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.new_files import SHOP_FILES, refuse_to_overwrite, remove, write_new


def write_starter(folder: Path | str) -> list[Path]:
    """Write the starter shop's files into a folder, made if need be, and return their paths.

    Nothing is ever overwritten: if one of the files is there, or the folder cannot be written, InputError is
    raised and nothing is written.
    """
    folder = Path(folder)
    refuse_to_overwrite(folder)
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in SHOP_FILES:
            write_new(folder / name, (data_folder() / "starter" / name).read_bytes(), written)
    except OSError as error:
        remove(written)
        reason = (error.strerror or "unwritable").casefold()
        hint = "choose a folder that you may write to; nothing was written"
        raise InputError(
            [Problem(f"the folder cannot be written: {reason}", hint, Place(str(folder)))]
        ) from None
    return written
