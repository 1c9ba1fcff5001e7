"""A first row of a run that was commented out while its other rows were left: they would hang elsewhere."""

from __future__ import annotations

from ductcalc.shop import key_of
from ductcalc.shop.kinds import TRAITS
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.sheet import Row, Sheet
from ductcalc.tables.words import word_key
from ductcalc.units import quoted

_HEADS = frozenset(kind for kind, traits in TRAITS.items() if not traits.in_line)


def note_commented_heads(sheet: Sheet, notebook: Notebook) -> None:
    """Note every comment that looks like the first row of a run whose next rows have no run name."""
    comments = [row for row in sheet.comments if _looks_like_a_head(row)]
    current, waiting = "", 0
    for row in sheet.rows:
        head: Row | None = None
        while waiting < len(comments) and comments[waiting].number < row.number:
            head = comments[waiting]
            waiting += 1
        if "run" in row.cells:
            current = key_of(row.cells["run"])
        elif head is not None and key_of(head.cells["run"]) != current:
            _note(sheet, head, row, notebook)
            current = key_of(head.cells["run"])


def _looks_like_a_head(row: Row) -> bool:
    return bool(row.cells.get("run")) and word_key(row.cells.get("piece", "")) in _HEADS


def _note(sheet: Sheet, head: Row, follower: Row, notebook: Notebook) -> None:
    name = head.cells["run"]
    notebook.note(
        sheet.place(head.number, "run"),
        f"the first row of run {quoted(name)} is a comment, but others follow from row {follower.number}:"
        " they would join the run above",
        "to leave the machine out, keep the row and write off as its flow; to leave the whole run out,"
        " comment all its rows and write cap under joins of its wye",
        name,
    )
