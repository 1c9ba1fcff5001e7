"""tuned.toml: badly known numbers as readings of a healthy time put them, written and read back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from ductcalc.errors import InputError, Notebook, Place
from ductcalc.model.model import build_model
from ductcalc.model.tuned import BLOWER, Fact, facts_of
from ductcalc.shop.shop import Shop
from ductcalc.shop.tuned import Tuned
from ductcalc.tables.files import decode, read_bytes, shown
from ductcalc.tables.limits import LARGEST_SETTINGS
from ductcalc.tables.section import SettingsSection, said
from ductcalc.tables.settings import read_toml
from ductcalc.tables.words import guess
from ductcalc.tables.writing import write_whole
from ductcalc.units import quoted, visible

TIMES = (1e-3, 1e3)
HEAD = """\
# Numbers that were badly known, as {readings} put them. Written by ductcalc tune.
# times: what a number is, over what it would be without this file. low, high: the band that is left.
# Every command takes this file by itself while it stands in the shop's folder. Delete it to go back.
"""


def tuned_text(tuned: Sequence[Tuned], readings: str) -> str:
    """Return tuned.toml; readings: in words, which ones these numbers come from."""
    rows = (
        f"\n[[tuned]]\nwhat = {_text(one.what)}\nwhere = {_text(one.where)}\n"
        f"times = {one.times:.5g}\nlow = {one.low:.5g}\nhigh = {one.high:.5g}\n"
        for one in tuned
    )
    return "".join([HEAD.format(readings=" ".join(readings.split())), *rows])


def write_tuned(path: Path, tuned: Sequence[Tuned], readings: str) -> None:
    """Write tuned.toml. Raises FileExistsError when there is one, OSError when it cannot be written."""
    write_whole(path, tuned_text(tuned, readings).encode())


def _text(text: str) -> str:
    """Return a text in quotes, as TOML has it."""
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(sign if sign.isprintable() else f"\\U{ord(sign):08x}" for sign in plain) + '"'


def read_tuned(path: Path, shop: Shop) -> tuple[Tuned, ...]:
    """Return what a tuned.toml says of a shop's numbers. Raises InputError with every problem of it."""
    file, notebook = shown(path.name), Notebook()
    try:
        text, _ = decode(read_bytes(path, LARGEST_SETTINGS), file)
    except InputError as error:
        raise InputError(error.problems) from None
    top = SettingsSection(read_toml(text, file, notebook), Place(file), notebook)
    rows = top.take("tuned")
    top.finish()
    if rows is not None and not isinstance(rows, list):
        notebook.note(Place(file), "tuned is not a list of numbers", "write [[tuned]] above each of them", said(rows))
        rows = []
    known = None if notebook.problems else _known(shop)
    found = [_one(row, number, file, known or {}, notebook) for number, row in enumerate(rows or [], start=1)]
    notebook.close([file])
    return tuple(one for one in found if one is not None)


def _known(shop: Shop) -> dict[Fact, None]:
    model = build_model(shop)
    facts = [fact for fact, _ in facts_of(model.sections, model.leakage_class, model.collector)]
    return dict.fromkeys([*facts, (BLOWER, "")])


def _one(row: object, number: int, file: str, known: dict[Fact, None], notebook: Notebook) -> Tuned | None:
    before = len(notebook.problems)
    section = SettingsSection(row, Place(file, key=f"tuned {number}"), notebook)
    what, where = (str(section.take(key) or "") for key in ("what", "where"))
    times, low, high = (section.number(key, TIMES, "0.93") for key in ("times", "low", "high"))
    section.finish()
    place = Place(file, key=f"tuned {number}")
    if len(notebook.problems) > before:
        return None
    if (what, where) not in known:
        names = [place for kind, place in known if kind == what]
        hint = guess(where, names) if names and where else "run ductcalc tune again, or delete this entry"
        notebook.note(place, f"this shop has no {visible(what)} {quoted(where)}", hint, where or what)
        return None
    if times is None or low is None or high is None or not low <= times <= high:
        notebook.note(place, "low, times and high do not rise", "write low, times and high in rising order")
        return None
    return Tuned(what, where, times, low, high)


def with_tuned(shop: Shop, path: Path) -> Shop:
    """Return a shop with its numbers as a tuned.toml has them, which its reports say."""
    tuned = read_tuned(path, shop)
    count = f"{len(tuned)} badly known numbers are as {shown(path.name)} has them, fitted to readings"
    return replace(shop, tuned=tuned, changes=(count, *shop.changes)) if tuned else shop
