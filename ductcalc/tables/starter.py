"""The starter shop: a small commented one that runs as it stands, to be changed into one's own."""

from __future__ import annotations

from pathlib import Path

from ductcalc.catalog.read import data_folder
from ductcalc.tables.new_files import SHOP_FILES, write_shop


def write_starter(folder: Path | str) -> list[Path]:
    """Write the starter shop's files into a folder, made if need be, and return their paths.

    Nothing is ever overwritten: if one of the files is there, or the folder cannot be written, InputError is
    raised and nothing is written.
    """
    return write_shop(Path(folder), {name: (data_folder() / "starter" / name).read_bytes() for name in SHOP_FILES})
