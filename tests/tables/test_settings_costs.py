"""[parts] and [running] of shop.toml: their whole vocabulary, and what is told of nonsense."""

from __future__ import annotations

from pathlib import Path

import pytest

from ductcalc.errors import InputError, Problem
from ductcalc.shop.parts import ANY_MAKE, PartsSettings
from ductcalc.shop.settings import RunningSettings
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
BAND_SAW = "run,piece,machine,size\nmain,port,Band Saw,4 in\n,collector,,4 in\n"
CUT = 'width = "1/8 in"\ndepth = "1 in"\nfeed = "10 ft/min"\nmakes = "sawdust"\n'
WHOLE_RUNNING = f"""
[running]
hours = "400 h"
tariff = "0.15 USD"
motor = "2 kW"
Motor-Efficiency = "80 %"
fan_efficiency = 0.5
inside = "20 C"
outside = "-5 C"
heated_hours = 150
filter_area = "10 m2"
drum = "200 l"
wood = "650 kg/m3"
[running.cuts."band saw"]
{CUT}"""


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
        ("[parts]\nkerf = 3", "parts.kerf", '"3" has no unit', "150 mm"),
        ('[parts]\nkerf = "1 ft"', "parts.kerf", "out of range", "snips"),
        ('[parts]\nhanger = "4 ft"', "parts.hanger", 'no key is named "hanger"', "hanger_spacing"),
        ('[parts]\nhanger_spacing = "0 ft"', "parts.hanger_spacing", "out of range", "5 ft"),
        ("[parts]\nhose = 10", "parts.hose", "not a list of lengths", 'hose = ["10 ft"]'),
        ("[parts]\nhose = []", "parts.hose", "not a list of lengths", 'hose = ["10 ft"]'),
        ("[parts]\nsticks = [10]", "parts.sticks", "not a list of lengths", "[parts.sticks]"),
        ('[parts]\nsticks = ["10"]', "parts.sticks", '"10" has no unit', "6 in"),
        ('[parts]\nsticks = ["200 ft"]', "parts.sticks", "no length that is sold", "10 ft"),
        ('[parts.sticks]\nspirel = "10 ft"', "parts.sticks.spirel", "spirel", "did you mean spiral?"),
        ('[parts.sticks]\nspiral = "10 ft"\n"spiral pipe" = "3 m"', "parts.sticks.spiral pipe", "twice", "keep one"),
        ("[parts]\nprices = 3", "parts.prices", "not a list of prices", "[[parts.prices]]"),
        ("parts = 3", "parts", "is not a section", "[parts]"),
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


def read_running(folder: Path, settings: str) -> RunningSettings:
    (folder / "duct.csv").write_text(BAND_SAW, encoding="utf-8")
    (folder / "shop.toml").write_text(settings, encoding="utf-8")
    return read_shop(folder).settings.running


def problems_of_running(folder: Path, settings: str) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        read_running(folder, settings)
    return caught.value.problems


def test_the_whole_vocabulary_is_read_in_si(tmp_path: Path) -> None:
    found = read_running(tmp_path, WHOLE_RUNNING)
    assert (found.hours_s, found.heated_s) == (400 * 3600.0, 150 * 3600.0)
    assert (found.tariff, found.currency) == (0.15, "USD")
    assert (found.motor_w, found.motor_efficiency, found.fan_efficiency) == (2000.0, 0.8, 0.5)
    assert (found.inside_k, found.outside_k) == pytest.approx((293.15, 268.15))
    assert (found.filter_m2, found.drum_m3, found.wood_kg_m3) == pytest.approx((10.0, 0.2, 650.0))
    (cut,) = found.cuts
    assert (cut.machine, cut.makes) == ("Band Saw", "sawdust")
    assert (cut.width_m, cut.depth_m, cut.feed_m_s) == pytest.approx((0.003175, 0.0254, 0.0508))


def test_nothing_written_leaves_everything_unsaid(tmp_path: Path) -> None:
    assert read_running(tmp_path, "") == RunningSettings()


@pytest.mark.parametrize(
    ("written", "money"),
    [
        ("0.15", (0.15, "")),
        ('"0.15"', (0.15, "")),
        ('"0.15 USD"', (0.15, "USD")),
        ('"0.15USD"', (0.15, "USD")),
        ('"0,30 EUR/kWh"', (0.30, "EUR")),
        ('"$0.12 per kWh"', (0.12, "$")),
        ('"30 ct a kWh"', (30.0, "ct")),
        ("0", (0.0, "")),
    ],
)
def test_money_for_a_kwh_may_have_a_word(tmp_path: Path, written: str, money: tuple[float, str]) -> None:
    found = read_running(tmp_path, f"[running]\ntariff = {written}")
    assert (found.tariff, found.currency) == money


@pytest.mark.parametrize("word", ["shavings", "Planer Shavings", "planings"])
def test_what_a_cut_makes_may_be_said_in_other_words(tmp_path: Path, word: str) -> None:
    text = f'[running.cuts."band saw"]\n{CUT.replace("sawdust", word)}'
    assert read_running(tmp_path, text).cuts[0].makes == "shavings"


def cut(change: str, key: str) -> str:
    lines = [line for line in CUT.splitlines() if not line.startswith(key)]
    return '[running.cuts."band saw"]\n' + "\n".join([*lines, change])


@pytest.mark.parametrize(
    ("settings", "key", "said", "hint"),
    [
        ("running = 3", "running", "section", "[running]"),
        ("[running]\nhour = 3", "running.hour", '"hour"', "did you mean hours?"),
        ('[running]\nhours = "3 ft"', "running.hours", "time", "h, min"),
        ("[running]\nhours = 9000", "running.hours", "out of range", "8784"),
        ("[running]\nhours = 0", "running.hours", "out of range", "400 h"),
        ('[running]\ntariff = "USD"', "running.tariff", "kWh", "0.15 USD"),
        ('[running]\ntariff = "-0.2 USD"', "running.tariff", "out of range", "0.15 USD"),
        ('[running]\ntariff = "0.2 USD/MWh"', "running.tariff", "kWh", "0.15 USD"),
        ("[running]\nmotor = 3", "running.motor", "no unit", 'motor = "3 hp" or motor = "3 kW"'),
        ("[running]\nmotor_efficiency = 80", "running.motor_efficiency", "out of range", '"80 %"'),
        ("[running]\nfan_efficiency = 0", "running.fan_efficiency", "out of range", '"50 %"'),
        ('[running]\noutside = "30"', "running.outside", "no unit", '"30 F" or outside = "30 C"'),
        ('[running]\nfilter_area = "200 ft"', "running.filter_area", "area", "ft2"),
        ('[running]\ndrum = "55 galons"', "running.drum", "unknown unit", "gal"),
        ('[running]\nwood = "5000 kg/m3"', "running.wood", "out of range", "40 lb/ft3"),
        ("[running]\nhours = 100\nheated_hours = 200", "running.heated_hours", "heated hours", "that part"),
        ('[running]\ninside = "10 C"\noutside = "50 F"', "running.outside", "no colder", "outside"),
        ("[running]\ncuts = 3", "running.cuts", "section", "[running.cuts.planer]"),
        (f'[running.cuts."band sow"]\n{CUT}', "running.cuts.band sow", "no machine", "Band Saw"),
        ('[running.cuts]\n"band saw" = 3', "running.cuts.band saw", "section", "[running.cuts.band saw]"),
        (cut("", "feed"), "running.cuts.band saw", "no feed", 'feed = "20 ft/min"'),
        (cut('makes = "gold"', "makes"), "running.cuts.band saw.makes", "makes", "shavings"),
        (cut('width = "0 in"', "width"), "running.cuts.band saw.width", "out of range", "12 in"),
        (cut('feed = "20 ft"', "feed"), "running.cuts.band saw.feed", "speed", "fpm"),
        (cut('feed = "10 ft/min"\nwood = 3', "feed"), "running.cuts.band saw.wood", "no key", "width"),
    ],
)
def test_nonsense_is_told_with_place_and_repair(tmp_path: Path, settings: str, key: str, said: str, hint: str) -> None:
    (problem,) = problems_of_running(tmp_path, settings)
    assert problem.place is not None
    assert (problem.place.file, problem.place.key) == ("shop.toml", key)
    assert said in problem.message
    assert hint in problem.hint


def test_all_that_a_cut_lacks_is_told_at_once(tmp_path: Path) -> None:
    (problem,) = problems_of_running(tmp_path, '[running.cuts."band saw"]\nwidth = "3 mm"')
    assert problem.message == "this cut has no depth and no feed and no makes"


def test_one_machine_has_one_cut(tmp_path: Path) -> None:
    text = f'[running.cuts."band saw"]\n{CUT}[running.cuts."BAND SAW"]\n{CUT}'
    assert [problem.message for problem in problems_of_running(tmp_path, text)] == ['machine "BAND SAW" stands twice']
