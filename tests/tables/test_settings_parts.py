"""[parts] of shop.toml: its whole vocabulary, and what is told of nonsense."""

from __future__ import annotations

from pathlib import Path

import pytest

from ductcalc.errors import InputError, Problem
from ductcalc.shop.parts import ANY_MAKE, PartsSettings
from ductcalc.tables import read_shop

DUCT = "run,piece,machine,size\nmain,port,saw,4 in\n,collector,,4 in\n"
WHOLE = """
[parts]
kerf = "1/8 in"
hanger_spacing = "4 ft"
Sealant-Yield = "30 ft"
keep = "2 ft"
hose = ["50 ft", "10 ft"]
[parts.sticks]
spiral = ["20 ft", "10 ft"]
"snap lock" = "5 ft"
[[parts.prices]]
piece = "gate"
size = "4 in"
price = 12.5
[[parts.prices]]
piece = "flex"
length = "10 ft"
price = "30"
"""
FOOT = 0.3048


def read(folder: Path, settings: str) -> PartsSettings:
    (folder / "duct.csv").write_text(DUCT, encoding="utf-8")
    (folder / "shop.toml").write_text(settings, encoding="utf-8")
    return read_shop(folder).settings.parts


def problems(folder: Path, settings: str) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        read(folder, settings)
    return caught.value.problems


def test_the_whole_vocabulary_is_read_in_metres(tmp_path: Path) -> None:
    found = read(tmp_path, WHOLE)
    assert found.kerf_m == pytest.approx(0.003175)
    assert found.hanger_spacing_m == pytest.approx(4 * FOOT)
    assert found.sealant_yield_m == pytest.approx(30 * FOOT)
    assert found.keep_m == pytest.approx(2 * FOOT)
    assert found.hose_m == pytest.approx((10 * FOOT, 50 * FOOT))
    assert {make: pytest.approx(lengths) for make, lengths in found.sticks_m.items()} == {
        "spiral": (10 * FOOT, 20 * FOOT),
        "snap-lock": (5 * FOOT,),
    }
    gate, flex = found.prices
    assert (gate.name.kind, gate.price, flex.price, flex.length_m) == ("gate", 12.5, 30.0, pytest.approx(10 * FOOT))


def test_one_list_of_sticks_is_for_any_make(tmp_path: Path) -> None:
    assert read(tmp_path, '[parts]\nsticks = ["3 m", "6 m"]').sticks_m == {ANY_MAKE: (3.0, 6.0)}


@pytest.mark.parametrize("written", ["0", '"0"', '"none"', '"0 mm"'])
def test_a_cut_may_lose_nothing(tmp_path: Path, written: str) -> None:
    assert read(tmp_path, f"[parts]\nkerf = {written}").kerf_m == 0.0


def test_nothing_written_leaves_the_defaults(tmp_path: Path) -> None:
    assert read(tmp_path, "") == PartsSettings()


@pytest.mark.parametrize(
    ("settings", "key", "said", "hint"),
    [
        ("[parts]\nkerf = 3", "parts.kerf", "no unit", "150 mm"),
        ('[parts]\nkerf = "1 ft"', "parts.kerf", "out of range", "snips"),
        ('[parts]\nhanger = "4 ft"', "parts.hanger", '"hanger"', "hanger_spacing"),
        ('[parts]\nhanger_spacing = "0 ft"', "parts.hanger_spacing", "out of range", "5 ft"),
        ("[parts]\nhose = 10", "parts.hose", "list of lengths", 'hose = ["10 ft"]'),
        ("[parts]\nhose = []", "parts.hose", "list of lengths", 'hose = ["10 ft"]'),
        ("[parts]\nsticks = [10]", "parts.sticks", "list of lengths", "[parts.sticks]"),
        ('[parts]\nsticks = ["10"]', "parts.sticks", "no unit", "6 in"),
        ('[parts]\nsticks = ["200 ft"]', "parts.sticks", "sold", "10 ft"),
        ('[parts.sticks]\nspirel = "10 ft"', "parts.sticks.spirel", "spirel", "did you mean spiral?"),
        ('[parts.sticks]\nspiral = "10 ft"\n"spiral pipe" = "3 m"', "parts.sticks.spiral pipe", "twice", "keep one"),
        ("[parts]\nprices = 3", "parts.prices", "list of prices", "[[parts.prices]]"),
        ("parts = 3", "parts", "section", "[parts]"),
    ],
)
def test_nonsense_is_told_with_its_key_and_a_repair(
    tmp_path: Path, settings: str, key: str, said: str, hint: str
) -> None:
    found = problems(tmp_path, settings)
    assert len(found) == 1
    assert found[0].place is not None and (found[0].place.file, found[0].place.key) == ("shop.toml", key)
    assert said in found[0].message and hint in found[0].hint


def test_a_wrong_price_is_told_with_its_number_in_the_list(tmp_path: Path) -> None:
    prices = ("gate", 1), ("gat", 2)
    text = "".join(f'[[parts.prices]]\npiece = "{piece}"\nprice = {price}\n' for piece, price in prices)
    (problem,) = problems(tmp_path, text)
    assert problem.place is not None
    assert (problem.place.file, problem.place.row, problem.place.column) == ("shop.toml [[parts.prices]]", 2, "piece")
    assert "did you mean gate?" in problem.hint
