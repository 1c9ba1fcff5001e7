"""Mutants: one small change each of the program's text, drawn over all rooms and kinds by a fixed seed."""

from __future__ import annotations

import ast
import csv
import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
MOST_OF_FILE = 3
SPOKEN = ("report", "findings", "tables", "cli", "errors")
"""Rooms whose texts people read."""
OTHER_WORDS = {
    "may": "must", "not": "now", "more": "less", "most": "least", "open": "shut", "shut": "open", "short": "long",
    "smaller": "larger", "larger": "smaller", "alone": "together", "settle": "move", "move": "settle", "dirty": "clean",
    "clean": "dirty", "now": "then", "then": "now", "air": "suction", "suction": "air", "wide": "thin", "rows": "files",
    "row": "line", "before": "after", "behind": "ahead", "inlet": "outlet", "fan": "duct", "gets": "wants",
    "wants": "gets", "one": "two", "both": "no", "no": "any", "least": "most",
}  # fmt: skip
OTHER_UNITS = {"flow": "speed", "speed": "flow", "pressure": "speed", "length": "size", "size": "length"}
OTHER_NAMES = {
    "INCH_M": "FOOT_M", "FOOT_M": "INCH_M", "flow_m3_s": "wanted_m3_s", "wanted_m3_s": "flow_m3_s", "low": "high",
    "high": "low", "min": "max", "max": "min", "start": "end", "end": "start",
}  # fmt: skip
COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
SIGNS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip


class Mutant(NamedTuple):
    """A change of a file: its kind, where it stands, the text there, and the text in its place."""

    file: str
    line: int
    function: str
    kind: str
    start: int
    old: str
    new: str

    @property
    def room(self) -> str:
        """The room of its file."""
        return self.file.split("/")[1].removesuffix(".py")

    @property
    def name(self) -> str:
        """Say it in one line that does not change with the lines above it."""
        return f"{self.file} {self.function} {self.kind}: {self.old} -> {self.new}"

    def applied(self, text: str) -> str:
        """Return the file's text with the change; raises ValueError where the text is another one by now."""
        if text[self.start : self.start + len(self.old)] != self.old:
            raise ValueError(self.name)
        return text[: self.start] + self.new + text[self.start + len(self.old) :]


def constant(node: ast.AST, _: str) -> Iterator[ast.expr]:
    """A number is a tenth larger, a whole one by one."""
    if isinstance(node, ast.Constant) and type(node.value) is float and node.value:
        yield ast.Constant(1.1 * node.value)
    if isinstance(node, ast.Constant) and type(node.value) is int:
        yield ast.Constant(node.value + 1)


def sign(node: ast.AST, _: str) -> Iterator[ast.expr]:
    """A plus is a minus, a product a quotient, a minus sign is gone."""
    if isinstance(node, ast.BinOp) and type(node.op) in SIGNS and not _joins_text(node):
        yield ast.BinOp(node.left, SIGNS[type(node.op)](), node.right)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant):
        yield node.operand


def comparison(node: ast.AST, _: str) -> Iterator[ast.expr]:
    """A limit belongs to the other side, equal is unlike, in is not in."""
    if isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in COMPARED:
        yield ast.Compare(node.left, [COMPARED[type(node.ops[0])]()], node.comparators)


def off_by_one(node: ast.AST, _: str) -> Iterator[ast.expr]:
    """An index, an end of a slice or of a range is one further."""
    if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Slice) and node.slice.upper is not None:
        more = ast.BinOp(node.slice.upper, ast.Add(), ast.Constant(1))
        yield ast.Subscript(node.value, ast.Slice(node.slice.lower, more, node.slice.step), ast.Load())
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "range" and node.args:
        yield ast.Call(node.func, [*node.args[:-1], ast.BinOp(node.args[-1], ast.Sub(), ast.Constant(1))], [])


def dropped(node: ast.AST, _: str) -> Iterator[ast.expr]:
    """A term, a factor or a condition is left out."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub | ast.Mult) and not _joins_text(node):
        yield node.left
    if isinstance(node, ast.BoolOp):
        yield ast.BoolOp(node.op, node.values[:-1]) if len(node.values) > 2 else node.values[0]
    if isinstance(node, ast.IfExp):
        yield node.body


def swapped(node: ast.AST, room: str) -> Iterator[ast.expr]:
    """A quantity is another one, or shown in the unit of another one."""
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in OTHER_NAMES:
        yield ast.Name(OTHER_NAMES[node.id])
    if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load) and node.attr in OTHER_NAMES:
        yield ast.Attribute(node.value, OTHER_NAMES[node.attr], ast.Load())
    if room in ("report", "answers") and isinstance(node, ast.Constant) and node.value in OTHER_UNITS:
        yield ast.Constant(OTHER_UNITS[node.value])


def place(node: ast.AST, room: str) -> Iterator[ast.expr]:
    """An error or a finding names the row behind."""
    if isinstance(node, ast.Attribute) and node.attr == "row" and isinstance(node.ctx, ast.Load):
        yield ast.BinOp(node, ast.Add(), ast.Constant(1))


def word(node: ast.AST, room: str) -> Iterator[ast.expr]:
    """A sentence says another word."""
    if room in SPOKEN and isinstance(node, ast.Constant):
        said = node.value if isinstance(node.value, str) else ""
        changed = [(n, one) for n, one in enumerate(said.split(" ")) if one in OTHER_WORDS]
        if changed and len(said.split()) > 2:
            words = said.split(" ")
            words[changed[-1][0]] = OTHER_WORDS[changed[-1][1]]
            yield ast.Constant(" ".join(words))


KINDS: tuple[Callable[[ast.AST, str], Iterator[ast.expr]], ...] = (
    constant, sign, comparison, off_by_one, dropped, swapped, place, word,
)  # fmt: skip


def _joins_text(node: ast.BinOp) -> bool:
    sides, texts = (node.left, node.right), (ast.JoinedStr, ast.List, ast.Tuple)
    return any(isinstance(side, texts) or isinstance(getattr(side, "value", None), str) for side in sides)


class _Sites(ast.NodeVisitor):
    """Gathers the mutants of a file; passes over docstrings, types, decorators and what an assertion says."""

    def __init__(self, file: str, text: str) -> None:
        self.file, self.room, self.text = file, file.split("/")[1].removesuffix(".py"), text
        self.starts = [0]
        for line in text.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line.encode()))
        self.bytes, self.function, self.found = text.encode(), "", list[Mutant]()

    def visit(self, node: ast.AST) -> None:
        if isinstance(node, ast.expr) and not isinstance(getattr(node, "ctx", None), ast.Store):
            for kind in KINDS:
                self.found += [self._mutant(node, kind.__name__, new) for new in kind(node, self.room)]
        super().visit(node)

    def _mutant(self, node: ast.expr, kind: str, new: ast.expr) -> Mutant:
        assert node.end_lineno is not None and node.end_col_offset is not None
        start = self.starts[node.lineno - 1] + node.col_offset
        end = self.starts[node.end_lineno - 1] + node.end_col_offset
        old = self.bytes[start:end].decode()
        place = len(self.bytes[:start].decode())
        return Mutant(self.file, node.lineno, self.function, kind, place, old, f"({ast.unparse(new)})")

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        outer, self.function = self.function, node.name
        for part in (*node.args.defaults, *(d for d in node.args.kw_defaults if d), *node.body):
            self.visit(part)
        self.function = outer

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        outer, self.function = self.function, node.name
        for part in node.body:
            self.visit(part)
        self.function = outer

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Assert(self, node: ast.Assert) -> None:
        """Nothing: an assertion is for the types."""

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Change a word between the values: in Python 3.11 what stands within has no place of its own."""
        whole = self._mutant(node, word.__name__, node)
        parts = re.split(r"(\{[^{}]*\}|[ \"'])", whole.old)
        said = [n for n, part in enumerate(parts) if part in OTHER_WORDS]
        if said and self.room in SPOKEN:
            parts[said[-1]] = OTHER_WORDS[parts[said[-1]]]
            self.found.append(whole._replace(new="".join(parts)))

    def visit_If(self, node: ast.If) -> None:
        if not (isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"):
            self.generic_visit(node)

    def visit_Expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):
            self.generic_visit(node)


def sites(file: Path) -> list[Mutant]:
    """Return every mutant of a file."""
    text = file.read_text(encoding="utf-8")
    found = _Sites(file.relative_to(ROOT).as_posix(), text)
    found.visit(ast.parse(text))
    return found.found


def kept() -> list[Mutant]:
    """Return the changes of `drawn.csv`, once drawn by seed 1; which: of alike ones in a function, from 1 on.

    Raises IndexError for one that can no longer be made: draw another one in its place.
    """
    with (Path(__file__).parent / "drawn.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    found = {name: sites(ROOT / name) for name in {row["file"] for row in rows}}
    keys = ("function", "kind", "old", "new")
    alike = [[one for one in found[row["file"]] if all(getattr(one, key) == row[key] for key in keys)] for row in rows]
    return [some[int(row["which"]) - 1] for row, some in zip(rows, alike, strict=True)]


def drawn(count: int, seed: int) -> list[Mutant]:
    """Draw so many mutants: rooms by the root of their size, in each a kind and then a place of it, few of one file."""
    rng = random.Random(seed)
    rooms: dict[str, dict[str, list[Mutant]]] = {}
    for file in sorted((ROOT / "ductcalc").rglob("*.py")):
        for one in sites(file):
            rooms.setdefault(file.relative_to(ROOT).parts[1], {}).setdefault(one.kind, []).append(one)
    names = sorted(rooms)
    weights = [sum(map(len, rooms[name].values())) ** 0.5 for name in names]
    chosen: list[Mutant] = []
    while len(chosen) < count:
        kinds = rooms[rng.choices(names, weights)[0]]
        one = rng.choice(kinds[rng.choice(sorted(kinds))])
        if one not in chosen and sum(other.file == one.file for other in chosen) < MOST_OF_FILE:
            chosen.append(one)
    return chosen


def fixed() -> list[Mutant]:
    """Return the changes of `fixed.csv`, which once went unnoticed; raises ValueError where a text is gone."""
    found: list[Mutant] = []
    with (Path(__file__).parent / "fixed.csv").open(encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows):
            files = sorted((ROOT / "ductcalc").rglob(f"{row['module']}.py"))
            texts = {file: file.read_text(encoding="utf-8") for file in files}
            at = [(file, text.find(row["old"])) for file, text in texts.items() if row["old"] in text]
            if len(at) != 1:
                raise ValueError(f"{len(at)} files hold {row}")
            (file, start), name = at[0], at[0][0].relative_to(ROOT).as_posix()
            line = texts[file].count("\n", 0, start) + 1
            found.append(Mutant(name, line, row["what"], "fixed", start, row["old"], row["new"]))
    return found
