"""Which files make up a shop, and their bytes."""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.limits import LARGEST_FILE
from ductcalc.tables.words import nearest
from ductcalc.units import visible

DUCT, COLLECTOR, SETTINGS = "duct.csv", "collector.csv", "shop.toml"
_LONGEST_PATH = 400
_START = "`ductcalc start FOLDER` writes a shop to begin with"


@dataclass(frozen=True)
class ShopFiles:
    """The files of one shop; None for one that is not there."""

    name: str
    duct: Path
    collector: Path | None
    settings: Path | None


def locate(path: Path, collector: Path | None) -> ShopFiles:
    """Find a shop's files: a folder's three, or a bare duct table.

    Raises InputError when there are none or when they may not be looked at.
    """
    try:
        return _located(path, collector)
    except OSError as error:
        reason = (error.strerror or "unreadable").casefold()
        hint = "check the path and that you may read it"
        raise InputError([Problem(f"nothing can be read here: {reason}", hint, Place(shown(path)))]) from None
    except ValueError:
        hint = "a path holds no character of code zero"
        raise InputError([Problem("there is no such file or folder", hint, Place(shown(path)))]) from None


def _located(path: Path, collector: Path | None) -> ShopFiles:
    """Find a shop's files: a folder's three, or a bare duct table. Raises InputError when there are none."""
    if path.is_dir():
        duct = path / DUCT
        if not duct.exists():
            raise InputError(
                [Problem(f"there is no {DUCT} in this folder", _other_tables(path), Place(shown(path)))]
            )
        table = collector or _if_there(path / COLLECTOR)
        return ShopFiles(path.resolve().name or "shop", duct, table, _if_there(path / SETTINGS))
    if not path.exists():
        if path.is_symlink():
            hint = "name the file itself, or mend the link"
            raise InputError([Problem("this link leads to no file or folder", hint, Place(shown(path)))])
        raise InputError([Problem("there is no such file or folder", _near_path(path), Place(shown(path)))])
    return ShopFiles(path.stem, path, collector, None)


def read_bytes(path: Path, most: int = LARGEST_FILE) -> bytes:
    """Return a file's bytes, `most` at the most. Raises InputError when it cannot be read, is larger or is no file.

    A pipe or a device is refused before it is opened: reading it might never end.
    """
    place = Place(shown(path.name))
    try:
        if not stat.S_ISREG(os.stat(path).st_mode) and not path.is_dir():
            raise InputError([Problem("this is a pipe or a device, not a file", "save it as a file first", place)])
        with path.open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise InputError([Problem("there is no such file", _near_path(path), place)]) from None
    except OSError as error:
        reason = (error.strerror or "unreadable").casefold()
        hint = "check that it is a file and that you may read it"
        raise InputError([Problem(f"the file cannot be read: {reason}", hint, place)]) from None
    except ValueError:
        raise InputError([Problem("there is no such file", "a path holds no character of code zero", place)]) from None
    if len(data) > most:
        hint = "a shop's table has some hundred rows: check that this is the right file"
        raise InputError([Problem(f"the file has more than {most / 1e6:.0f} million bytes", hint, place)])
    return data


def shown(path: Path | str) -> str:
    """Return a path for a message; nothing in it can do harm to a terminal."""
    return visible(str(path), _LONGEST_PATH)


def _if_there(path: Path) -> Path | None:
    """Return a path that is there, also a link that leads nowhere: it is told of, not passed over."""
    return path if os.path.lexists(path) else None


def _other_tables(folder: Path) -> str:
    """Say which shops or tables are there instead."""
    try:
        shops = sorted(entry.parent.name for entry in folder.glob(f"*/{DUCT}"))
        others = sorted(
            entry.name
            for entry in folder.iterdir()
            if entry.suffix.casefold() in (".csv", ".txt", ".xlsx", ".ods")
        )
    except OSError:
        shops, others = [], []
    if shops and not others:
        return f"name one of the shops in it: {', '.join(shown(folder / name) for name in shops[:5])}"
    if not others:
        return _START
    return f"name the duct table {DUCT}; the folder holds {', '.join(map(shown, others[:5]))}"


def _near_path(path: Path) -> str:
    """Name the entry of the same folder that is spelled most alike."""
    try:
        near = nearest(path.name, [entry.name for entry in path.parent.iterdir()])
    except OSError:
        near = None
    return f"did you mean {shown(near)}?" if near else _START
