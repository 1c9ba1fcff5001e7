"""An answer as a command made it, before it is put on any page: worked out once, looked at in every form."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from functools import cache
from typing import Any, NamedTuple
from unittest.mock import patch

import numpy as np

from ductcalc.cli import deliver
from ductcalc.cli.deliver import Reports
from ductcalc.report.blocks import Block
from ductcalc.report.json_text import json_text
from ductcalc.report.render import Page, rendered
from ductcalc.shop import Shop
from tests.gate_shops import random_shop
from tests.typed import typed


class Answered(NamedTuple):
    """What a command's text is made of, its JSON, its CSV, and the exit code."""

    blocks: tuple[Block, ...]
    json: str
    csv: str
    returncode: int


@cache
def answered(*words: str) -> Answered:
    """Type a command and return its answer in every form; `random N` in place of a shop draws one."""
    made: list[Any] = []

    def keep(_: object, reports: Reports, *__: object) -> None:
        made.extend((tuple(reports.text()), json_text(reports.json()), reports.csv()))

    drawn = [int(word.removeprefix("random ")) for word in words if word.startswith("random ")]
    with patch.object(deliver, "deliver", keep), _reading(drawn[0]) if drawn else nullcontext():
        said = typed(*words)
    assert made, said.stderr
    return Answered(*made, said.returncode)


@contextmanager
def _reading(seed: int) -> Iterator[None]:
    """Let whatever is read be a shop drawn by this seed."""

    def drawn(*_: object) -> Shop:
        return random_shop(np.random.default_rng(seed), 2 + seed % 3)

    with patch("ductcalc.tables.read_shop", drawn):
        yield


@cache
def text(*words: str, width: int | None = None, encoding: str = "utf-8", colour: bool = False) -> str:
    """Return a command's answer as text on a page."""
    return rendered(answered(*words).blocks, Page(width, encoding, colour))
