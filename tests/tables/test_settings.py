"""shop.toml: the whole vocabulary, and every way in which it can be wrong."""
# ruff: noqa: E501 (one case a line)

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from ductcalc.catalog.read import data_folder
from ductcalc.errors import InputError
from ductcalc.shop import GateSet, MachineSettings
from ductcalc.tables.section import SettingsSection
from ductcalc.tables.stock import PRICE_COLUMNS
from tests.scenes import two_machines

DUCT = """run,piece,machine,size,joins
main,port,band saw,4 in,
,wye,,6 in,drop
,collector,,6 in,
drop,port,thickness sander,5 in,
"""
WHOLE = """
[air]
altitude = "1200 ft"
temperature = "70 F"
Humidity = "50 %"
[gates]
leak = "1 %"
[gates.sets]
sanding = ["thickness sander", "Band Saw"]
all = "band saw, thickness sander"
[gates.sets.resawing]
open = ["band saw", "thickness sander"]
helpers = ["thickness sander"]
flow = { "band saw" = "500 cfm" }
[machines."thickness sander"]
own_blower = "150 Pa"
metal = true
material = "dust"
[material]
default = "dry chips"
loading = 0.07
[room]
exhaust = "outdoors"
heater = true
[method]
junction = "handbook"
friction = "colebrook"
"flex factor" = 2.5
hose-bend-k = "0,5"
joint_leakage = "taped"
machine_k = 3
[report]
units = "metric"
"""


def test_whole_vocabulary_in_si(shop_of) -> None:
    settings = shop_of(DUCT, None, WHOLE).settings
    assert settings.air.altitude_m == pytest.approx(365.76)
    assert settings.air.temperature_k == pytest.approx(294.2611111)
    assert settings.air.humidity == 0.5
    assert settings.gates.leak == 0.01
    assert settings.gates.sets[:2] == (
        GateSet("sanding", ("thickness sander", "band saw")),
        GateSet("all", ("band saw", "thickness sander")),
    )
    resawing = settings.gates.sets[2]
    assert (resawing.open, resawing.helpers) == (("band saw", "thickness sander"), ("thickness sander",))
    assert resawing.flow_m3_s == {"band saw": pytest.approx(500 * 0.3048**3 / 60)}
    assert settings.machines == (MachineSettings("thickness sander", 150.0, True, "fine dust"),)
    assert (settings.material.default, settings.material.loading) == ("dry chips", 0.07)
    assert (settings.room.exhaust, settings.room.heater) == ("outdoors", True)
    assert settings.units == "metric"
    method = settings.method
    assert (method.junction, method.friction, method.flex_factor) == ("handbook", "colebrook", 2.5)
    assert (method.hose_bend_k, method.joint_leakage_class, method.machine_k) == (0.5, 12.0, 3.0)


@pytest.mark.parametrize(
    ("text", "value"), [('"none"', 0.0), ('"sealed"', 3.0), ("24", 24.0), ('"48"', 48.0)]
)
def test_joint_leakage_is_a_word_or_a_class(shop_of, text, value) -> None:
    assert (
        shop_of(DUCT, None, f"[method]\njoint_leakage = {text}\n").settings.method.joint_leakage_class
        == value
    )


def test_empty_settings_are_fine(shop_of) -> None:
    assert shop_of(DUCT, None, "").settings == shop_of(DUCT).settings


WRONG = [
    ('[zzz]\nx = 1', "zzz", "no section is named", "known are"),
    ('[metod]\nx = 1', "metod", "no section is named", "did you mean method?"),
    ('air = 3', "air", "section", "[air]"),
    ('[air]\naltitud = "3 m"', "air.altitud", "no key", "did you mean altitude?"),
    ('[air]\naltitude = 1200', "air.altitude", '"1200" has no unit', 'write altitude = "1200 ft" or altitude = "1200 m"'),
    ('[air]\naltitude = "25000 ft"', "air.altitude", "out of range", "from -1480 to 16400 ft"),
    ('[air]\ntemperature = "900 F"', "air.temperature", "out of range", "from -58 to 158 F"),
    ('[method]\nflex_factor = 99', "method.flex_factor", "out of range", "from 1 to 20"),
    ('[method]\njoint_leakage = 900', "method.joint_leakage", "out of range", "from 0 to 500"),
    ('[air]\naltitude = "9000 m"', "air.altitude", "out of range", '"1200 ft"'),
    ('[air]\naltitude = 2026-01-02', "air.altitude", "is not what altitude takes", '"1200 ft"'),
    ('[air]\ntemperature = "70"', "air.temperature", "no unit", '"70 F"'),
    ('[air]\nhumidity = 50', "air.humidity", "out of range", '"50 %"'),
    ('[air]\nhumidity = nan', "air.humidity", "not a number", "plain number"),
    ('[air]\ndensity = "1.2"', "air.density", "no unit", "kg/m3"),
    ('[air]\naltitude = "3 m"\nAltitude = "4 m"', "air.Altitude", "stands twice", "keep one"),
    ('[gates]\nleak = 0.5', "gates.leak", '"0.5" has no unit', 'write "0.5 %" or "50 %"'),
    ('[gates]\nleak = "0.5"', "gates.leak", '"0.5" has no unit', 'write "0.5 %" or "50 %"'),
    ('[gates]\nleak = 2', "gates.leak", '"2" has no unit', '"2 %"'),
    ('[gates]\nleak = "120 %"', "gates.leak", "out of range", '"100 %"'),
    ('[air]\ndensity = "1.2 kg/m3"\naltitude = "900 m"', "air.density", "altitude gives one as well",
     "leave out density, or leave out altitude"),
    ('[air]\naltitude = "900 m"\ntemperature = "20 C"\ndensity = "1.2 kg/m3"', "air.density",
     "altitude and temperature give one as well", "or leave out altitude and temperature"),
    ('[air]\nhumidity = "50 %"\ndensity = "1.2 kg/m3"', "air.density", "humidity gives", "leave out density"),
    ('[air]\npressure = "980 mbar"\ndensity = "1.2 kg/m3"', "air.density", "pressure gives", "leave out density"),
    ('[gates.sets]\na = ["band sow"]', "gates.sets.a", 'no machine is named "band sow"', "did you mean band saw?"),
    ('[gates.sets]\na = ["router"]', "gates.sets.a", 'no machine is named "router"', "rename it there or delete the set"),
    ('[gates.sets.a]\nopen = []\nflow = { "router" = "500 cfm" }', "gates.sets.a.flow.router", "no machine", "rename it there"),
    ('[gates.sets]\na = "band saw and thickness sander"', "gates.sets.a", "no machine is named", '["band saw", "thickness sander"]'),
    ('[gates.sets]\na = ["Band saw & thickness sander"]', "gates.sets.a", "no machine is named", '["band saw", "thickness sander"]'),
    ('[gates.sets]\na = 3', "gates.sets.a", "not a list of machines", '["band saw"'),
    ('[gates.sets]\na = [3]', "gates.sets.a", "not a machine's name", "quotes"),
    ('[gates.sets]\na = []\nA = []', "gates.sets.A", "stands above already", "own name"),
    ('[gates.sets.a]\nhelpers = []', "gates.sets.a", "opens nothing", "open ="),
    ('[gates.sets.a]\nopen = ["band saw"]\nhelpers = ["thickness sander"]', "gates.sets.a.helpers", "not open", "add it to open"),
    ('[gates.sets.a]\nopen = []\nflow = { "band saw" = "3 cfm" }', "gates.sets.a.flow", "not open", "add it to open"),
    ('[gates.sets.a]\nopen = ["band saw"]\nflow = { "band saw" = "500" }', "gates.sets.a.flow.band saw", "no unit", "cfm"),
    ('[gates.sets.a]\nopen = ["band saw"]\nflow = { "band saw" = "off" }', "gates.sets.a.flow.band saw", "is no flow", "500 cfm"),
    ('[gates.sets.a]\nopen = ["band saw"]\nhelper = []', "gates.sets.a.helper", "no key", "did you mean helpers?"),
    ('[machines."band sow"]\nmetal = true', "machines.band sow", "no machine", "did you mean band saw?"),
    ('[machines."band saw"]\nmetal = "yes"', "machines.band saw.metal", "neither true nor false", "metal = true"),
    ('[machines."band saw"]\nown_blower = "150"', "machines.band saw.own_blower", "no unit", "Pa"),
    ('[machines."band saw"]\nmaterial = "dry chps"', "machines.band saw.material", "no material", "did you mean dry chips?"),
    ('[material]\ndefault = "dry chps"', "material.default", "no material", "did you mean dry chips?"),
    ('[material]\nloading = 7', "material.loading", "out of range", "0.07"),
    ('[room]\nexhaust = "outside"', "room.exhaust", "is no exhaust", "outdoors"),
    ('[room]\nheater = "gas"', "room.heater", "neither true nor false", "heater = true"),
    ('[report]\nunits = "inches"', "report.units", "is no units", "did you mean inch?"),
    ('[method]\njunction = "momentun"', "method.junction", "is no junction", "did you mean momentum?"),
    ('[method]\nflex_factor = 0.5', "method.flex_factor", "out of range", "2.4"),
    ('[method]\nflex_factor = true', "method.flex_factor", "is not what", "2.4"),
    ('[method]\njoint_leakage = "seald"', "method.joint_leakage", "neither a leakage class", "did you mean sealed?"),
    ('[method]\nmachine_k = -1', "method.machine_k", "out of range", "2.75"),
    ('gates = { sets = 3 }', "gates.sets", "gates.sets is not a section", "below it one line for each set"),
    ('[gates.sets.a]\nopen = ["band saw"]\nflow = 3', "gates.sets.a.flow", "flow is not a list", '"500 cfm"'),
    ('machines = 3', "machines", "machines is not a section", 'write [machines."band saw"]'),
    ('[machines."band saw"]\nmetal = true\n[machines."Band Saw"]\nmetal = true', "machines.Band Saw", "stands twice",
     "keep one"),
    ('collector = 3', "collector", "collector is not a section", "write [collector]"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key", "message", "hint"), WRONG)
def test_wrong_setting_is_told_with_its_key(problems_of, text, key, message, hint) -> None:
    problems = problems_of(DUCT, None, text)
    assert [(p.place.file, p.place.key) for p in problems] == [("shop.toml", key)]
    assert message in problems[0].message
    assert hint in problems[0].hint


@pytest.mark.parametrize(
    "text",
    [
        "[air]\naltitude = 1200 ft\n",
        "[air]\nflex factor = 2\n",
        "[air]\nx = " + "9" * 5000,
        "[air]\nx = " + "[" * 5000,
    ],
)
def test_settings_that_are_no_toml_are_told_with_a_repair(problems_of, text) -> None:
    problems = problems_of(DUCT, None, text)
    assert len(problems) == 1
    assert problems[0].place.file == "shop.toml"
    assert "quotes" in problems[0].hint


def test_line_of_a_toml_error_is_told(problems_of) -> None:
    problems = problems_of(DUCT, None, "[air]\naltitude = 1200 ft\n")
    assert (problems[0].place.row, problems[0].given) == (2, "altitude = 1200 ft")


def test_machine_is_not_called_unknown_for_another_fault_of_its_row(problems_of) -> None:
    problems = problems_of(
        DUCT.replace("drop,port", "drop,zzz"), None, '[gates.sets]\na = ["thickness sander"]\n'
    )
    assert [str(p.place) for p in problems] == ["duct.csv row 5, column piece (B)"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a = " + "[" * 5000, "nested too deep"),
        ("[air]\naltitude" + ".a" * 4000 + " = 1", "sections of sections"),
        ("[air]\naltitude = 0x" + "f" * 6000, "thousands of digits"),
        ("[gates.sets]\nx = [0x" + "f" * 6000 + "]", "thousands of digits"),
        ("[air]\naltitude = " + "9" * 6000, "cannot be read"),
        ("a" + ".a" * 90_000 + " = 1", "more than 10000 characters"),
        ('[air]\n"\\u001b" = 1\n"\\u001b " = 1', "stands twice"),
    ],
)
def test_settings_of_any_depth_and_length_are_told_shortly(problems_of, duct, text, message) -> None:
    problems = problems_of(duct(), settings=text)
    assert any(message in problem.message for problem in problems)
    assert all(len(str(problem)) < 500 and "\x1b" not in str(problem) for problem in problems)


@pytest.mark.parametrize(
    ("written", "metres"),
    [(["6 in", "100 mm", "6 in"], (0.1, 0.1524)), ("5 in", (0.127,))],
)
def test_sizes_are_bores_in_rising_order_each_once(written: object, metres: tuple[float, ...]) -> None:
    assert two_machines(size={"sizes": written}).settings.size.sizes_m == pytest.approx(metres)


def test_nothing_written_leaves_the_sizes_that_are_sold() -> None:
    assert two_machines(size={}).settings.size.sizes_m == ()


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"sizes": []}, "is not a list of sizes"),
        ({"sizes": [4, 5]}, "is not a list of sizes"),
        ({"sizes": ["4"]}, '"4" has no unit'),
        ({"sizes": [f"{size} mm" for size in range(100, 121)]}, "21 sizes are too many"),
    ],
)
def test_a_wrong_size_is_told_with_its_place(settings: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said) as raised:
        two_machines(size=settings)
    place = raised.value.problems[0].place
    assert place is not None and place.key == "size.sizes"


@pytest.mark.parametrize(("written", "metres"), [("3 ft", 0.9144), ("60 cm", 0.6), ("0 m", 0.0)])
def test_least_hose_is_a_length(written: str, metres: float) -> None:
    assert two_machines(improve={"least_hose": written}).settings.improve.least_hose_m == pytest.approx(metres)


def test_no_least_hose_written_is_the_documented_default() -> None:
    assert two_machines().settings.improve.least_hose_m is None


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"least_hose": "3"}, 'improve.least_hose: "3" has no unit'),
        ({"least_hose": "900 ft"}, "improve.least_hose"),
        ({"least_hos": "3 ft"}, "did you mean least_hose"),
        ("short", "improve is not a section"),
    ],
)
def test_a_wrong_least_hose_is_told_with_its_place_and_a_repair(settings: object, said: str) -> None:
    with pytest.raises(InputError, match=said):
        two_machines(improve=settings)


@pytest.mark.parametrize(
    ("written", "off"),
    [(["long hose", "Thin Pipe", "long hose"], ("long hose", "thin pipe")), ("tee", ("tee",)), ([], ())],
)
def test_names_of_rules_are_switched_off_each_once(written: object, off: tuple[str, ...]) -> None:
    assert two_machines(findings={"off": written}).settings.findings.off == off


def test_nothing_written_switches_nothing_off() -> None:
    assert two_machines(findings={}).settings.findings.off == ()


@pytest.mark.parametrize(
    ("written", "said"),
    [(3, "is not a list of names"), (["long hoes"], "did you mean long hose"), ([["tee"]], "finding")],
)
def test_a_wrong_finding_is_told_with_its_place(written: object, said: str) -> None:
    with pytest.raises(InputError, match=said) as raised:
        two_machines(findings={"off": written})
    place = raised.value.problems[0].place
    assert place is not None and place.key == "findings.off"


EXAMPLE = re.compile(r"# ((?:\[|[a-z_]+ = ).*)")
"""A line of the starter's settings that counts once its mark is taken away."""


def test_warnings_are_switched_off_at_one_run_or_machine_by_the_table_s_own_spelling() -> None:
    settings = two_machines(findings={"off_at": {"DROP": ["long hose"], "band  saw": "wide hose"}}).settings
    assert settings.findings.off_at == {"drop": ("long hose",), "band saw": ("wide hose",)}


@pytest.mark.parametrize(
    ("written", "key", "said"),
    [
        ({"nobody": ["long hose"]}, "findings.off_at", '"nobody" is no run or machine'),
        ({"drop": ["long horse"]}, "findings.off_at.drop", '"long horse" is no finding'),
        ({"drop": 5}, "findings.off_at.drop", "not a list of names"),
        (["long hose"], "findings.off_at", "not a section"),
    ],
)
def test_a_wrong_place_or_name_of_a_warning_is_told(written: object, key: str, said: str) -> None:
    with pytest.raises(InputError, match=re.escape(said)) as raised:
        two_machines(findings={"off_at": written})
    place = raised.value.problems[0].place
    assert place is not None and place.key == key


@pytest.mark.parametrize(
    ("written", "metres"),
    [({"gauge": 26}, 0.000551), ({"gauge": "30 ga"}, 0.000399), ({"wall": "0.5 mm"}, 0.0005), ({}, None)],
)
def test_pipe_has_a_gauge_or_a_wall(written: dict[str, object], metres: float | None) -> None:
    assert two_machines(pipe=written).settings.pipe.wall_m == pytest.approx(metres)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ({"gauge": "thin"}, "neither a gauge nor a thickness"),
        ({"gauge": 27}, "no known gauge"),
        ({"wall": 0.5}, "neither a gauge nor a thickness"),
        ({"wall": "3 in"}, "out of range"),
        ({"thick": 3}, "no key is named"),
    ],
)
def test_a_wrong_gauge_is_told_with_a_repair(written: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said) as raised:
        two_machines(pipe=written)
    assert raised.value.problems
    assert all(problem.hint for problem in raised.value.problems)


def starter(name: str) -> str:
    return (data_folder() / "starter" / name).read_text(encoding="utf-8")


def starter_sections() -> list[str]:
    """Return each section of the starter's settings as a text of its own, with its examples in force."""
    lines = [EXAMPLE.sub(r"\1", line) for line in starter("shop.toml").splitlines()]
    starts = [number for number, line in enumerate(lines) if line.startswith("[")]
    return ["\n".join(lines[a:b]) for a, b in zip(starts, [*starts[1:], len(lines)], strict=True)]


def paths(values: Mapping[str, Any], before: str = "") -> Iterator[str]:
    """Return the path of every key of nested settings, and of the rows in a list of tables."""
    for key, value in values.items():
        yield before + key
        for inner in value if isinstance(value, list) else [value]:
            if isinstance(inner, Mapping):
                yield from paths(inner, f"{before}{key}.")


def test_every_key_that_is_read_has_an_example_in_the_starter(shop_of, monkeypatch: pytest.MonkeyPatch) -> None:
    taken: set[str] = set()
    take = SettingsSection.take

    def noted(section: SettingsSection, key: str) -> Any:
        path = f"{section.place.key}.{key}" if section.place.key else key
        taken.add(path.replace(" ", "_"))
        return take(section, key)

    monkeypatch.setattr(SettingsSection, "take", noted)
    for section in starter_sections():
        shop_of(starter("duct.csv"), starter("collector.csv"), section)
    written = {path for section in starter_sections() for path in paths(tomllib.loads(section))}
    assert len(taken) > 60
    assert taken - written == set()
    assert {f"parts.prices.{column}" for column in PRICE_COLUMNS} <= written


def test_starter_without_its_comments_is_sound(shop_of) -> None:
    plain = [re.sub(r"(^|\s)#.*", "", line) for line in starter("shop.toml").splitlines()]
    bare = [line for line in starter("duct.csv").splitlines() if not line.startswith("#")]
    shop = shop_of("\n".join(bare), starter("collector.csv"), "\n".join(plain))
    assert shop.remarks == () and shop.settings.gates.sets[0].open == ("table saw", "planer")
