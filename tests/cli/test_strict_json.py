"""JSON that every reader takes: no NaN and no infinity, whatever the shop."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from ductcalc.cli.app import run

SHORT_CURVE = "item,flow,pressure\nblower,0 cfm,10 inwg\nblower,100 cfm,9.9 inwg\n"
WEAK = "item,flow,pressure\nblower,0 cfm,0.1 inwg\nblower,900 cfm,0.01 inwg\n"


def _collector(text: str) -> Callable[[Path], object]:
    return lambda shop: (shop / "collector.csv").write_text(text + "filter clean,,none\nfilter loaded,,none\n")


def _duct(old: str, new: str) -> Callable[[Path], object]:
    def change(shop: Path) -> None:
        text = (shop / "duct.csv").read_text(encoding="utf-8")
        assert old in text
        (shop / "duct.csv").write_text(text.replace(old, new), encoding="utf-8")

    return change


ODD: dict[str, Callable[[Path], object]] = {
    "no answer": _collector(SHORT_CURVE),
    "no air to speak of": _collector(WEAK),
    "one machine off": _duct("4 in,,,,,350 cfm", "4 in,,,,,off"),
    "pipe without length": _duct("6 in,10 ft", "6 in,0 ft"),
}


def _no_constant(word: str) -> None:
    raise ValueError(f"{word} is no number of JSON")


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("words", [("tree",), ("check",), ("check", "--all-open"), ("gates",), ("card",), ("parts",)])
def test_json_of_odd_shops_is_strict(
    words: tuple[str, ...], odd: str, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (shop / "shop.toml").unlink()
    ODD[odd](shop)
    assert run([words[0], str(shop), *words[1:], "--format", "json"]) in (0, 1, 3)
    document = json.loads(capsys.readouterr().out, parse_constant=_no_constant)
    assert document["program"] == "ductcalc"
