"""Which files make up a shop, and their bytes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.words import nearest

DUCT, COLLECTOR, SETTINGS = "duct.csv", "collector.csv", "shop.toml"
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
        raise InputError([Problem(f"nothing can be read here: {reason}", hint, Place(str(path)))]) from None


def _located(path: Path, collector: Path | None) -> ShopFiles:
    """Find a shop's files: a folder's three, or a bare duct table. Raises InputError when there are none."""
    if path.is_dir():
        duct = path / DUCT
        if not duct.exists():
            raise InputError(
                [Problem(f"there is no {DUCT} in this folder", _other_tables(path), Place(str(path)))]
            )
        table = collector or _if_there(path / COLLECTOR)
        return ShopFiles(path.resolve().name or "shop", duct, table, _if_there(path / SETTINGS))
    if not path.exists():
        raise InputError([Problem("there is no such file or folder", _near_path(path), Place(str(path)))])
    return ShopFiles(path.stem, path, collector, None)


def read_bytes(path: Path) -> bytes:
    """Return a file's bytes. Raises InputError when it cannot be read."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError([Problem("there is no such file", _near_path(path), Place(path.name))]) from None
    except OSError as error:
        reason = (error.strerror or "unreadable").casefold()
        hint = "check that it is a file and that you may read it"
        raise InputError([Problem(f"the file cannot be read: {reason}", hint, Place(path.name))]) from None


def _if_there(path: Path) -> Path | None:
    return path if path.exists() else None


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
        return f"name one of the shops in it: {', '.join(str(folder / name) for name in shops[:5])}"
    if not others:
        return _START
    return f"name the duct table {DUCT}; the folder holds {', '.join(others[:5])}"


def _near_path(path: Path) -> str:
    """Name the entry of the same folder that is spelled most alike."""
    try:
        near = nearest(path.name, [entry.name for entry in path.parent.iterdir()])
    except OSError:
        near = None
    return f"did you mean {near}?" if near else _START
