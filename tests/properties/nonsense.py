"""Files as no careful person writes them: a seeded maker for each class of nonsense, and how a command ends on them."""

# ruff: noqa: E501 (lists of words)

from __future__ import annotations

import codecs
import contextlib
import csv
import io
import re
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

import click

from ductcalc.cli.app import ductcalc
from ductcalc.errors import DuctcalcError, InputError, Problem
from ductcalc.units import is_unseen

EXAMPLES = Path(__file__).parents[2] / "examples"
Files = dict[str, bytes]

SMALL = """run,piece,machine,style,size,length,angle,count,joins,flow,drop,inlet,material,k,leak,rise,note
main,port,saw,flanged,4 in,,,,,400 cfm,900 Pa at 20 m/s,12 in2,,,,,far
,flex,,,4 in,5 ft,,1,,,,,,,,,
,gate,saw gate,,4 in,,,,,,,,,,1 %,,
,pipe,,spiral,4 in,3 x 10 ft,,,,,,,,,,5 ft,
,wye,,,6 in,,45,,drop + bench,,,,,,,,
,reducer,,,7 in,,30,,,,,,,,,,
,elbow,,5-gore,7 in,,90,2,,,,,,,,,
,other,,,7 in,,,,,,,,,0.4,,,
,collector,,,7 in,,,,,,,,,,,,
drop,port,sander,tapered,5 in,,60,,,20 m/s,,,fine dust,,,,
,gate,,,5 in,,,,,,,,,,,,
,pipe,,,5 in,7' 6 1/2",,,,,,,,,,,
bench,port,bench 1,,4 in,,,,,350 cfm,,,,,,,
,wye,,,4 in,,30 + 45,,twin + cap,,,,,,,,
,pipe,,,4 in,3 m,,,,,,,,,,,
twin,like,bench 2,,,,,,drop,off,,,,,,,
"""
COLLECTOR = """item,flow,pressure,power,exponent,note
blower,0 cfm,12 inwg,,,
blower,600 cfm,11 inwg,2 hp,,
blower,1400 cfm,4 inwg,,,
cyclone,800 cfm,2 inwg,,,
filter clean,800 cfm,0.6 inwg,,1,
filter loaded,800 cfm,2.4 inwg,,,
"""
SETTINGS = """[air]
altitude = "1200 ft"
temperature = "70 F"
[collector]
curve = "fan static"
contains = ["cyclone"]
[gates]
leak = "1 %"
[gates.sets]
both = ["saw", "sander"]
[gates.sets.help]
open = ["saw", "bench 1"]
helpers = ["bench 1"]
flow = { saw = "300 cfm" }
[machines.sander]
own_blower = "150 Pa"
metal = true
[material]
default = "dry chips"
[method]
junction = "momentum"
joint_leakage = "taped"
[parts]
sticks = ["10 ft"]
kerf = "1/8 in"
[[parts.prices]]
piece = "gate"
size = "4 in"
price = 12.5
[running]
hours = "400 h"
tariff = "0.15 USD"
[running.cuts.saw]
width = "1/8 in"
depth = "1 in"
feed = "10 ft/min"
makes = "sawdust"
[size]
sizes = ["4 in", "5 in", "6 in"]
[report]
units = "inch"
"""
STOCK = """piece,style,size,length,angle,radius,count,note
pipe,spiral,4 in,7 ft 6 in,,,2,
wye,,6 in x 6 in x 4 in,,45,,1,
elbow,5-gore,6 in,,90,1.5,3,
reducer,,5 in x 4 in,,,,1,
"""
PRICES = """piece,style,size,length,angle,radius,price,note
pipe,spiral,4 in,10 ft,,,23.50,
gate,,4 in,,,,12,
elbow,,6 in,,90,,9.90,
clamp,,,,,,1,
"""
BASE: dict[str, str] = {
    "duct.csv": SMALL,
    "collector.csv": COLLECTOR,
    "shop.toml": SETTINGS,
    "stock.csv": STOCK,
    "prices.csv": PRICES,
}

NASTY = (
    "nan", "NaN", "inf", "-inf", "1e400", "1e-400 in", "-0", "-0 ft", "0", "0 ft", "0 in", "00", "1e308", "1e308 ft",
    "9" * 40, "9" * 5000, "0." + "0" * 400 + "1 in", "1" + "0" * 400, "x" * 3000, "\x00", "4 in\x00", "\x1b[31m4 in\x1b[0m",
    "\ud800", "\ufeff", "\ufeff4 in", "4 in\ufeff", "\u200b4 in", "4\u00adin", "4\u00a0in", "1\u202f200 cfm", "1'200 cfm",
    "1,200 cfm", "1.200,5 m3/h", "1 200 cfm", "=A1", '="6 in"', "=6", "+cmd", "@SUM(A1)", "#REF!", "#NAME?", "#N/A", "#####",
    "Err:502", "5-Jun", "2026-05-01", "2026-05-01 00:00:00", "1/2", "1/0 in", "12’ 6”", "12′ 6″", "12'' ", "6½ in", "1⅞\"",
    "−4 ft", "–4 ft", "４ in", "４．５ in", "4 in…", "3 × 10 ft", "0 x 4 ft", "1001 x 1 ft", "999 x 299 m", "\"", "\"\"",
    "'", "a + a", "+", "+ +", "cap", "CAP + cap", "off", "none", "like", "port", "collector", "main", "drop", "true",
    "-1", "-45", "361", "30 + 45 + 60", "1e-9 in", "0.4 in", "118 in", "10 km", "1e6", "1e7", "100 %", "101 %", "\u202elive",
    "😀" * 40, "ﷺ" * 50, "a\u0301" * 30, "漢字", "[red]4 in[/red]", "%s%n", "{0}", "${x}", "\\", "\\N", "../..", "\t", " ",
    "\u2028", "4 in\nx", "4 in\r\n5 in", "4;5", "4,5 in", "4 in, 5 in", "sep=;", "# comment", "#", "TRUE", "0x10", "1_000",
    "١٢ mm", "5 in²", "Infinity Pa at 20 m/s", "900 Pa at 0 m/s", "900 Pa at", "at", "0 Pa at 20 m/s", "1e300 Pa at 20 m/s",
)  # fmt: skip
ALPHABET = (
    "abcdefgxyzINPW0123456789 .,;:+-*/=#\"'[](){}<>@%&!?\\|_~^`$\n\r\t\x00\x0b\x0c\x1b\x1f\x7f\x85\u00a0\u00ad½²³×°µ−–—…’”′″"
    "\u200b\u200d\u200e\u202e\u2028\u2029\ufeff\ufffd\ufffe\U0001f600\U000e0041日本ŞİıßǅאبİÅ\u0301\u0489\ud800\udfff"
)
CODINGS = (
    "utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "utf-32-be", "utf-8-sig", "utf-7", "cp1252", "mac_roman",
    "cp437", "cp850", "latin-1", "shift_jis", "gb18030", "cp037", "cp1251",
)  # fmt: skip


@dataclass(frozen=True)
class Case:
    """Files of one shop and the words of one command; `{shop}`, `{stock}`, ... stand for paths."""

    files: Files
    words: tuple[str, ...] = ("check", "{shop}")


@dataclass(frozen=True)
class Ending:
    """How a command ended: its exit code, or what is wrong with how it ended."""

    code: int | None
    wrong: str = ""
    seconds: float = 0.0
    problems: tuple[Problem, ...] = field(default=(), repr=False)


def encoded(text: str, coding: str = "utf-8") -> bytes:
    """Return the bytes of a text, lone surrogates and all."""
    if coding == "utf-8":
        return text.encode(coding, "surrogatepass")
    return text.encode(coding, "replace")


def base(random: Random) -> dict[str, str]:
    """Return the texts of a sound shop: mostly the small one, now and then an example."""
    if random.random() < 0.75:
        return dict(BASE)
    folder = EXAMPLES / random.choice(["one-machine", "one-machine", "creamery", "joinery-class"])
    return {**BASE, "shop.toml": "", **{path.name: path.read_text("utf-8") for path in folder.iterdir()}}


def _case(random: Random, texts: dict[str, str], changed: dict[str, bytes]) -> Case:
    """Return a case of mostly `check`, sometimes another command that reads the changed files."""
    files = {**{name: encoded(text) for name, text in texts.items()}, **changed}
    if {"stock.csv", "prices.csv"} & set(changed):
        return Case(files, ("parts", "{shop}", "--have", "{shop}/stock.csv", "--prices", "{shop}/prices.csv"))
    small = len(files["duct.csv"]) < 2500
    words = random.choice((*(("check", "{shop}"),) * 7, *(OTHER_COMMANDS if small else OTHER_COMMANDS[:3])))
    return Case(files, words)


OTHER_COMMANDS: tuple[tuple[str, ...], ...] = (
    ("tree", "{shop}"),
    ("parts", "{shop}"),
    ("check", "{shop}", "--format", "json", "--all-open"),
    ("check", "{shop}", "--running"),
    ("gates", "{shop}"),
    ("losses", "{shop}", "--all-open"),
    ("compare", "{shop}", "{other}"),
)


def _which(random: Random) -> str:
    return random.choice(("duct.csv",) * 5 + ("collector.csv",) * 2 + ("shop.toml",) * 2 + ("stock.csv", "prices.csv"))


def random_bytes(random: Random) -> Case:
    """Any bytes as one of the files, some behind a mark of an encoding."""
    marks = (
        b"",
        b"",
        b"",
        codecs.BOM_UTF8,
        codecs.BOM_UTF16_LE,
        codecs.BOM_UTF16_BE,
        codecs.BOM_UTF32_LE,
        b"PK\x03\x04",
    )
    data = random.choice(marks) + random.randbytes(random.choice((0, 1, 2, 3, 10, 100, 1000, 5000)))
    if random.random() < 0.3:
        data = b"run,piece,size\n" + data
    return _case(random, base(random), {_which(random): data})


def random_text(random: Random) -> Case:
    """Any characters as one of the files."""
    letters = [random.choice(ALPHABET) for _ in range(random.choice((1, 5, 30, 300, 3000)))]
    if random.random() < 0.3:
        letters += [chr(random.choice((random.randrange(0x110000), random.randrange(0x3000)))) for _ in range(200)]
        random.shuffle(letters)
    head = random.choice(
        ("", "", "run,piece,size\n", "run;piece;size;length\nmain;port;", "item,flow,pressure\n", "[air]\n")
    )
    return _case(random, base(random), {_which(random): encoded(head + "".join(letters))})


def soup(random: Random) -> Case:
    """Known words, numbers and nasty ones in any cells under a sound header."""
    name = random.choice(("duct.csv", "duct.csv", "collector.csv", "stock.csv", "prices.csv"))
    rows = list(csv.reader(io.StringIO(BASE[name])))
    pool = [cell for row in rows[1:] for cell in row if cell] + list(NASTY)
    sign = random.choice(",,,;\t")
    lines = [sign.join(rows[0])]
    for _ in range(random.randrange(1, 12)):
        lines.append(sign.join(random.choice((*("",) * 2, random.choice(pool))) for _ in rows[0]))
    return _case(random, base(random), {name: encoded("\n".join(lines))})


def torn(random: Random) -> Case:
    """An example cut off, its lines shuffled, doubled or left out, two files run into each other, bytes changed."""
    texts = base(random)
    name = _which(random)
    data = encoded(texts[name])
    for _ in range(random.randrange(1, 4)):
        data = random.choice(_TEARS)(random, data, texts)
    return _case(random, texts, {name: data})


def _cut(random: Random, data: bytes, texts: dict[str, str]) -> bytes:
    return data[: random.randrange(len(data) + 1)]


def _shuffled(random: Random, data: bytes, texts: dict[str, str]) -> bytes:
    lines = data.split(b"\n")
    start = random.choice((0, 1, 2))
    rest = lines[start:]
    random.shuffle(rest)
    return b"\n".join(lines[:start] + rest)


def _doubled(random: Random, data: bytes, texts: dict[str, str]) -> bytes:
    lines = data.split(b"\n")
    place = random.randrange(len(lines))
    return b"\n".join(lines[:place] + lines[place : place + random.randrange(1, 9)] * 2 + lines[place + 1 :])


def _thinned(random: Random, data: bytes, texts: dict[str, str]) -> bytes:
    return b"\n".join(line for line in data.split(b"\n") if random.random() < 0.85)


def _merged(random: Random, data: bytes, texts: dict[str, str]) -> bytes:
    other = encoded(texts[random.choice(sorted(texts))])
    place = random.randrange(len(other) + 1)
    return random.choice((data + other, other + data, data + data, data[: len(data) // 2] + other[place:]))


def _flipped(random: Random, data: bytes, texts: dict[str, str]) -> bytes:
    changed = bytearray(data)
    for _ in range(random.randrange(1, 6) if changed else 0):
        changed[random.randrange(len(changed))] = random.randrange(256)
    return bytes(changed)


def _inserted(random: Random, data: bytes, texts: dict[str, str]) -> bytes:
    place = random.randrange(len(data) + 1)
    sign = random.choice(
        (b'"', b'""', b"\n", b"\r", b"\x00", b",", b";", b"\xef\xbb\xbf", b"\xff\xfe", b"#", b"\xa0", b"=")
    )
    return data[:place] + sign * random.choice((1, 1, 2, 50)) + data[place:]


_TEARS: tuple[Callable[[Random, bytes, dict[str, str]], bytes], ...] = (
    _cut, _shuffled, _doubled, _thinned, _merged, _flipped, _inserted,
)  # fmt: skip


def recoded(random: Random) -> Case:
    """An example in another encoding, with other line ends, with marks in the middle."""
    texts = base(random)
    name = _which(random)
    text = texts[name].replace("saw", random.choice(("saw", "Säge", "пила", "鋸")))
    text = text.replace("\n", random.choice(("\n", "\r\n", "\r", "\n\r", "\u2028", "\r\r\n", "\x0b")))
    data = encoded(text, random.choice(CODINGS))
    if random.random() < 0.3:
        data = random.choice((codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF8 * 2)) + data
    if random.random() < 0.2:
        data = data[:-1]
    return _case(random, texts, {name: data})


def cells(random: Random) -> Case:
    """An example with some of its cells swapped, emptied or filled with something nasty."""
    texts = base(random)
    name = random.choice(("duct.csv", "duct.csv", "duct.csv", "collector.csv", "stock.csv", "prices.csv"))
    text = texts[name]
    sign = ";" if text.count(";") > text.count(",") else ","
    rows = [row for row in csv.reader(io.StringIO(text), delimiter=sign) if row and not row[0].startswith("#")]
    for _ in range(random.choice((1, 1, 1, 2, 3, 8))):
        row = random.choice(rows)
        place = random.randrange(len(row))
        other = random.choice(rows)
        fill = random.choice((random.choice(NASTY), random.choice(NASTY), "", other[random.randrange(len(other))]))
        if random.random() < 0.15:
            row.insert(place, fill)
        elif random.random() < 0.1:
            del row[place:]
            row.append(fill)
        else:
            row[place] = fill
    out = io.StringIO()
    csv.writer(out, delimiter=sign, lineterminator="\n").writerows(rows)
    return _case(random, texts, {name: encoded(out.getvalue())})


def columns(random: Random) -> Case:
    """An example with columns moved, doubled, renamed, dropped; headers repeated or in the wrong place."""
    texts = base(random)
    name = random.choice(("duct.csv", "collector.csv", "stock.csv", "prices.csv"))
    sign = ";" if texts[name].count(";") > texts[name].count(",") else ","
    rows = [row for row in csv.reader(io.StringIO(texts[name]), delimiter=sign) if row and not row[0].startswith("#")]
    width = len(rows[0])
    order = list(range(width))
    move = random.choice(("shuffle", "drop", "double", "rename", "unit", "repeat", "late", "wide", "narrow"))
    if move == "shuffle":
        random.shuffle(order)
    elif move == "drop":
        order.remove(random.choice(order))
    elif move == "double":
        order.insert(random.randrange(width), random.choice(order))
    elif move == "rename":
        rows[0][random.randrange(width)] = random.choice(NASTY)
    elif move == "unit":
        rows[0][random.randrange(width)] += random.choice(
            (" [in]", " (mm)", " [", "]", " [x]", " [m][m]", " []", " [cfm]")
        )
    elif move == "repeat":
        rows.insert(random.randrange(len(rows)), rows[0])
    elif move == "late":
        rows.insert(random.randrange(len(rows)), rows.pop(0))
    rows = [[row[place] if place < len(row) else "" for place in order] for row in rows]
    if move == "wide":
        rows = [row + [""] * random.randrange(30) for row in rows]
    if move == "narrow":
        rows = [row[: random.randrange(1, len(row) + 1)] for row in rows]
    out = io.StringIO()
    csv.writer(out, delimiter=sign, lineterminator="\n").writerows(rows)
    return _case(
        random, texts, {name: encoded(random.choice(("", "", "sep=;\n", "sep=,\n", "\n\n", "# x\n")) + out.getvalue())}
    )


def quotes(random: Random) -> Case:
    """An example with quotes, line ends and separators strewn into it."""
    texts = base(random)
    name = random.choice(("duct.csv", "duct.csv", "collector.csv", "shop.toml", "prices.csv"))
    text = texts[name]
    for _ in range(random.choice((1, 2, 3, 10, 40))):
        place = random.randrange(len(text) + 1)
        text = (
            text[:place]
            + random.choice(('"', '"', '""', '"""', '"\n', '\n"', ',"', '",', "'", '"#', "\r", "\n"))
            + text[place:]
        )
    return _case(random, texts, {name: encoded(text)})


def hanging(random: Random) -> Case:
    """Sound rows whose runs join each other in any way, rings, chains of `like` and runs in themselves among them."""
    names = [f"r{number}" for number in range(random.randrange(1, 8))]
    lines = ["run,piece,machine,size,length,joins,flow"]
    for name in names:
        if random.random() < 0.25:
            lines.append(f"{name},like,m {name},,,{random.choice([*names, 'cap', 'no', ''])},")
            continue
        body = [
            random.choice(
                (
                    f"port,m {name},4 in,,,",
                    "cap,,4 in,,,",
                    "wye,,5 in,,{joins},",
                    "collector,,4 in,,,",
                    "pipe,,4 in,3 ft,,",
                )
            )
        ]
        for _ in range(random.randrange(5)):
            body.append(
                random.choice(
                    (
                        "pipe,,4 in,3 ft,,",
                        "wye,,5 in,,{joins},",
                        "wye,,5 in,,{joins},",
                        "gate,,,,,",
                        "flex,,4 in,3 ft,,",
                        "elbow,,,,,",
                    )
                )
            )
        if random.random() < 0.3:
            body.append("collector,,6 in,,,")
        for number, row in enumerate(body):
            joins = " + ".join(random.choice([*names, "cap"]) for _ in range(random.choice((1, 1, 1, 2, 3))))
            lines.append((name if number == 0 or random.random() < 0.1 else "") + "," + row.format(joins=joins))
    if random.random() < 0.5:
        lines += [
            "end,port,last,4 in,,,",
            f",wye,,6 in,,{' + '.join(random.sample(names, random.randrange(1, len(names) + 1)))},",
            ",collector,,6 in,,,",
        ]
    return _case(random, dict(BASE, **{"shop.toml": "", "duct.csv": "\n".join(lines)}), {})


def _toml_value(random: Random, depth: int = 0) -> str:
    flat = (
        "true", "false", "0", "-1", "1e400", "nan", "inf", "-inf", "9" * 300, "0x10", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z",
        '""', '"saw"', '"sander"', '"4 in"', '"1 %"', '"nan"', '"1e400 ft"', '"\\u0000"', '"\\u202e"', '"dry chips"', '"none"', "'x'",
        '"""a\nb"""', "1.5", "-0.0", "[]", "{}", '"' + "x" * 400 + '"', '"10 ft"', '"400 cfm"', '["saw", "sander"]', '"150 Pa"',
    )  # fmt: skip
    pick = random.random()
    if depth > 3 or pick < 0.75:
        return random.choice(flat)
    if pick < 0.9:
        return "[" + ", ".join(_toml_value(random, depth + 1) for _ in range(random.randrange(4))) + "]"
    return (
        "{ "
        + ", ".join(f"{_toml_key(random)} = {_toml_value(random, depth + 1)}" for _ in range(random.randrange(3)))
        + " }"
    )


_SECTIONS = sorted(
    set(re.findall(r"^\[+([^\]]+)\]", SETTINGS, re.MULTILINE))
    | {"room", "improve", "parts.sticks", "running.cuts", "gates.sets.x", "machines.saw"}
)
_KEYS = sorted(
    set(re.findall(r"^(\w+) =", SETTINGS, re.MULTILINE))
    | {"humidity", "pressure", "density", "viscosity", "loading", "exhaust", "heater", "friction", "flex_factor", "hose_bend_k", "machine_k"}
    | {"least_hose", "hose", "hanger_spacing", "sealant_yield", "keep", "prices", "sets", "cuts", "motor", "motor_efficiency", "fan_efficiency"}
    | {"inside", "outside", "heated_hours", "filter_area", "drum", "wood", "test_pipe", "outlet_size", "saw", "spiral", "style", "count"}
)  # fmt: skip


def _toml_key(random: Random) -> str:
    odd = ('""', '"a b"', "'\"'", '"\\u0000"', '"\\u202e"', "a.b.c", "1", '"[red]x[/red]"', '"' + "k" * 300 + '"', "-")
    return random.choice(_KEYS) if random.random() < 0.85 else random.choice(odd)


def settings(random: Random) -> Case:
    """Sections and keys of shop.toml with values of any kind."""
    texts = base(random)
    if random.random() < 0.5:
        lines = SETTINGS.split("\n")
        for _ in range(random.randrange(1, 4)):
            place = random.randrange(len(lines))
            key = lines[place].partition("=")[0]
            lines[place] = f"{key}= {_toml_value(random)}" if "=" in lines[place] else f"[{random.choice(_SECTIONS)}]"
    else:
        lines = [f"{_toml_key(random)} = {_toml_value(random)}"] if random.random() < 0.2 else []
        for section in random.sample(_SECTIONS, random.randrange(1, 5)):
            lines.append(random.choice((f"[{section}]",) * 5 + (f"[[{section}]]",)))
            lines += [f"{key} = {_toml_value(random)}" for key in random.sample(_KEYS, random.randrange(4))]
    if random.random() < 0.05:
        lines.append("deep = " + "[" * 3000 + "]" * 3000)
    text = "\n".join(lines)
    return _case(random, texts if random.random() < 0.2 else dict(BASE), {"shop.toml": encoded(text)})


def legal_extremes(random: Random) -> Case:
    """Sound rows with numbers at and beyond the ends of what is legal."""
    pick = random.choice
    beyond = random.random() < 0.05
    sizes = (
        "10 mm",
        "12 mm",
        "0.4 in",
        "4 in",
        "150 mm",
        "1 m",
        "3 m",
        "118 in",
        *(("9.9 mm", "3.1 m") if beyond else ()),
    )
    lengths = (
        "0 ft",
        "0 m",
        "1e-9 m",
        "3 ft",
        "300 m",
        "10000 m",
        "32808 ft",
        "999 x 10 m",
        *(("-1 ft", "10001 m") if beyond else ()),
    )
    ks = ("", "", "0", "1e-12", "0.5", "1e3", "1e6", "-0", *(("1000001", "-1") if beyond else ()))
    flows = ("", "", "20 m/s", "1 m/s", "80 m/s", "off", *(("400 cfm", "0.5 l/s", "10 m3/s") if beyond else ()))
    lines = ["run,piece,machine,size,length,angle,count,joins,flow,k,factor,roughness,opening,leak,rise"]
    names = [f"d{number}" for number in range(random.randrange(4))]
    for name in ["main", *names]:
        size = pick(sizes)
        lines.append(f"{name},port,m {name},{size},,,,,{pick(flows)},{pick(ks)},,,,,")
        lines.append(
            f",gate,,{pick((size, ''))},,,,,,{pick(ks)},,,{pick(('', '1 %', '100 %', '1e-9'))},{pick(('', '0', '100 %', '1 %'))}"
        )
        lines.append(
            f",{pick(('pipe', 'flex'))},,{pick((size, '', pick(sizes)))},{pick(lengths)},,,,,{pick(ks)},,,,,{pick(('', '0 ft', *(('-1 ft',) if beyond else ())))}"
        )
        lines.append(
            f",elbow,,{pick((size, ''))},,{pick(('90', '1e-9', '180', '45'))},{pick(('1', '100', ''))},,,{pick(ks)},,,,,"
        )
        if name == "main" and names:
            lines.append(
                f",wye,,{pick(sizes)},,{pick(('45', '90', '1e-6', '30'))},,{' + '.join(names)},,{pick(ks)},,,,,"
            )
        if name == "main":
            lines.append(f",pipe,,,{pick(lengths)},,,,,,,{pick(('', '0 mm', '5 mm'))},,,")
            lines.append(",collector,,,,,,,,,,,,,")
    curves = (
        COLLECTOR,
        "item,flow,pressure\nadvertised,30 m3/s,25000 Pa\ncyclone,,none\nfilter clean,,none\nfilter loaded,,none\n",
        "item,flow,pressure\nblower,0 cfm,0 Pa\nblower,1 cfm,0 Pa\n",
        "item,flow,pressure\nblower,0 cfm,5 inwg\nblower,400 cfm,5 inwg\nblower,401 cfm,5 inwg\nblower,500 cfm,0 Pa\n",
        "item,flow,pressure\nblower,0 cfm,2 inwg\nblower,400 cfm,9 inwg\nblower,500 cfm,3 inwg\nblower,900 cfm,8 inwg\nblower,999 cfm,0 Pa\n",
        "item,flow,pressure\nblower,500 cfm,9 inwg\nblower,501 cfm,0.001 Pa\nfilter loaded,1 cfm,25000 Pa\n",
        "item,flow,pressure\nadvertised,0.0001 m3/h,0.001 Pa\n",
    )  # fmt: skip
    altitude = pick(("0 ft", "4000 m", "5000 m", "-450 m"))
    toml = f'[air]\naltitude = "{altitude}"\n[gates]\nleak = "{pick(("0 %", "1 %", "100 %"))}"\n'
    toml += (
        f'[method]\njunction = "{pick(("momentum", "handbook", "factored"))}"\njoint_leakage = {pick((0, 48, 500))}\n'
    )
    return _case(
        random, dict(BASE, **{"duct.csv": "\n".join(lines), "collector.csv": pick(curves), "shop.toml": toml}), {}
    )


def what_ifs(random: Random) -> Case:
    """Texts of --with: nearly right ones, and cells filled with something nasty."""
    parts = (
        ("main", "drop", "bench", "twin", "no such", "", "MAIN "),
        ("pipe", "pipe 1", "pipe 2", "wye 1", "gate", "port", "elbow 1", "collector", "reducer", "other", "like", "pipe 999999", ""),
        ("size", "length", "joins", "k", "angle", "flow", "count", "note", "machine", "style", "rise", "leak", "xyz"),
    )  # fmt: skip
    words: list[str] = []
    likely = (
        ("main: pipe size", ("5 in", "3 m", "10 mm")), ("drop: pipe length", ("0 ft", "10000 m", "3 x 10 ft", "7½ in")),
        ("main: wye joins", ("drop", "drop + bench", "bench + main", "twin", "cap")), ("main: elbow count", ("1", "100", "101")),
        ("twin: like joins", ("bench", "drop", "twin", "main")), ("drop: port flow", ("off", "20 m/s", "")), ("main: other k", ("0", "1e6")),
        ("main: gate leak", ("0", "1 %", "100 %")), ("bench: wye angle", ("30", "30 + 45", "90 + 1 + 2")), ("main: collector size", ("4 in", "")),
    )  # fmt: skip
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        run, piece, column = (random.choice(some) for some in parts)
        value = random.choice((*NASTY, "5 in", "10 ft", "drop", "main", "bench", "twin + drop", "90", "0.4", "300 cfm"))
        cell, values = random.choice(likely)
        text = random.choice(
            (f"{run}: {piece} {column} = {value}", f"{cell} = {random.choice(values)}", f"{cell} = {value}")
        )
        words += ["--with", random.choice((text, text, text, value))]
    command = random.choice((("check",), ("compare",), ("tree",), ("parts",)))
    files = {name: encoded(text) for name, text in BASE.items()}
    return Case(files, (*command, "{shop}", *words))


MAKERS: dict[str, Callable[[Random], Case]] = {
    "random bytes": random_bytes,
    "random text": random_text,
    "words in any cell": soup,
    "torn, merged, shuffled": torn,
    "other encodings": recoded,
    "nasty cells": cells,
    "columns and headers": columns,
    "strewn quotes": quotes,
    "runs in any knot": hanging,
    "settings of any kind": settings,
    "extreme legal numbers": legal_extremes,
    "what-ifs": what_ifs,
}


def write(case: Case, folder: Path) -> list[str]:
    """Write a case's files into a folder; return the words of its command."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in case.files.items():
        (folder / name).write_bytes(data)
    return [
        word.replace("{shop}", str(folder)).replace("{other}", str(EXAMPLES / "one-machine")) for word in case.words
    ]


def ending(words: list[str]) -> Ending:
    """Run a command and tell how it ended; everything but an answer or clear messages is wrong."""
    out, err = io.StringIO(), io.StringIO()
    start = time.perf_counter()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), warnings.catch_warnings():
            warnings.simplefilter("error")
            code = int(ductcalc.main(list(words), "ductcalc", standalone_mode=False) or 0)
        return Ending(code, _wrong_answer(out.getvalue(), err.getvalue()), time.perf_counter() - start)
    except InputError as error:
        return Ending(2, _wrong_message(error), time.perf_counter() - start, error.problems)
    except click.ClickException as error:
        return Ending(2, "" if error.format_message().strip() else "no message", time.perf_counter() - start)
    except DuctcalcError as error:
        return Ending(
            3, "" if _harmless(str(error)) and str(error) else "no clear message", time.perf_counter() - start
        )
    except Exception as error:
        step = error.__traceback__
        while step is not None and step.tb_next is not None:
            step = step.tb_next
        where = f"{step.tb_frame.f_code.co_filename}:{step.tb_lineno}" if step is not None else ""
        return Ending(None, f"{type(error).__name__}: {error!s:.100} at {where}", time.perf_counter() - start)


_NO_NUMBER = re.compile(r"(?<![\w\"'.])(?:nan|NaN|-?inf|-?Infinity)(?![\w\"'.])")


def _harmless(text: str) -> bool:
    return not any(is_unseen(sign) and sign != "\n" for sign in text)


def _wrong_answer(out: str, remarks: str) -> str:
    if not out.strip():
        return "no answer"
    if found := _NO_NUMBER.search(out):
        return f"an answer with {found[0]}"
    return "" if _harmless(out) and _harmless(remarks) else "an answer with unseen characters"


def _wrong_message(error: InputError) -> str:
    """Tell what is wrong with the messages: each has words, a repair, two short lines and nothing unseen."""
    if not error.problems:
        return "no problem is told"
    for problem in error.problems[:2000]:
        text = str(problem)
        if not (problem.message.strip() and problem.hint.strip()):
            return f"no repair: {text}"
        if text.count("\n") != 1 or len(text) > 1000 or not _harmless(text):
            return f"not two short harmless lines: {text!r:.300}"
    return "" if len(str(error)) < 100_000 else f"a message of {len(str(error))} characters"
