"""Files written whole or not at all: first under a name of their own in the same folder, then by the name wanted."""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Callable, Mapping
from contextlib import suppress
from errno import EACCES, EEXIST, ELOOP
from pathlib import Path
from secrets import token_hex
from tempfile import mkdtemp

from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.locate import COLLECTOR, DUCT, SETTINGS

SHOP_FILES = (DUCT, COLLECTOR, SETTINGS)
DRAFT = ".ductcalc-"


def refuse_to_overwrite(folder: Path) -> None:
    """Raise InputError when the folder holds one of a shop's files already."""
    taken = [name for name in SHOP_FILES if os.path.lexists(folder / name)]
    if taken:
        hint = "choose another folder; nothing was written"
        raise InputError([Problem("this file is there already", hint, Place(str(folder / name))) for name in taken])


def write_shop(
    folder: Path, files: Mapping[str, bytes], verify: Callable[[Path], None] = lambda draft: None
) -> list[Path]:
    """Write a shop's files into a folder, made if need be; return their paths in the order given.

    They stand in a folder within it until all are written and `verify` has been called with that folder; whatever
    fails or breaks off, nothing is left. Nothing is ever overwritten. Raises InputError when a file is there or the
    folder cannot be written, and what `verify` raises.
    """
    refuse_to_overwrite(folder)
    made = [one for one in (folder, *folder.parents) if not os.path.lexists(one)]
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _by_a_draft(folder, files, verify, written)
    except BaseException as error:
        _take_away(written, made)
        if not isinstance(error, OSError):
            raise
        reason = (error.strerror or "unwritable").casefold()
        hint = "choose a folder that you may write to; nothing was written"
        raise InputError([Problem(f"the folder cannot be written: {reason}", hint, Place(str(folder)))]) from None
    return written


def _by_a_draft(
    folder: Path, files: Mapping[str, bytes], verify: Callable[[Path], None], written: list[Path]
) -> None:
    draft = Path(mkdtemp(prefix=DRAFT, dir=folder))
    try:
        for name, data in files.items():
            _fill(draft / name, data)
        verify(draft)
        for name in files:
            _name_anew(draft / name, folder / name)
            written.append(folder / name)
    finally:
        shutil.rmtree(draft, ignore_errors=True)


def _take_away(written: list[Path], made: list[Path]) -> None:
    for path in written:
        with suppress(OSError):
            path.unlink()
    for folder in made:
        with suppress(OSError):
            folder.rmdir()


def write_whole(path: Path, data: bytes, replace: bool = False) -> None:
    """Write one file; `replace`: one that is there gives way, its permissions stay, and a link to it stays a link.

    What is neither file nor free name, as a device or a pipe, is written into. Raises OSError, with nothing left;
    FileExistsError when the name is taken and may not be replaced.
    """
    if replace and path.exists() and not path.is_file():
        path.write_bytes(data)
        return
    target = Path(os.path.realpath(path)) if replace else path
    if replace and target.is_symlink():
        raise OSError(ELOOP, os.strerror(ELOOP), str(target))
    if replace and target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(EACCES, os.strerror(EACCES), str(target))
    draft = target.with_name(f"{DRAFT}{token_hex(8)}.part")
    try:
        _fill(draft, data)
        if replace:
            _like(draft, target)
            draft.replace(target)
        else:
            _name_anew(draft, target)
    finally:
        draft.unlink(missing_ok=True)


def _fill(path: Path, data: bytes) -> None:
    """Write a file that must not be there yet, down to the disk."""
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _like(draft: Path, old: Path) -> None:
    """Give a file the owner, as far as that is allowed, and the permissions of the one it will replace."""
    with suppress(FileNotFoundError):
        was = old.stat()
        with suppress(OSError, AttributeError):
            os.chown(draft, was.st_uid, was.st_gid)
        draft.chmod(stat.S_IMODE(was.st_mode))


def _name_anew(draft: Path, target: Path) -> None:
    """Give a file its name, which must be free; where a disk has no links, it is looked up first."""
    try:
        os.link(draft, target)
    except FileExistsError:
        raise
    except OSError:
        if os.path.lexists(target):
            raise FileExistsError(EEXIST, os.strerror(EEXIST), str(target)) from None
        draft.rename(target)
