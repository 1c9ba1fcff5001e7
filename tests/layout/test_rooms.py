"""The rooms: who may import whom, what a start costs, how large a file may grow, which words never stand in it."""

from __future__ import annotations

import ast
import importlib.util
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import ductcalc

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "ductcalc"
FILES = sorted(PACKAGE.rglob("*.py"))
MOST_LINES, MOST_CODE_LINES = 450, 55


def python(*arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, *arguments], cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60
    )


def test_data_flows_one_way(tmp_path: Path) -> None:
    """The contract of the project file, checked by import-linter."""
    pytest.importorskip("importlinter")
    words = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    ran = python("-c", words, "--cache-dir", str(tmp_path))
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "1 kept, 0 broken" in ran.stdout


def test_the_contract_names_every_room() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = settings["tool"]["importlinter"]["contracts"][0]["layers"]
    named = {room.strip() for layer in layers for room in layer.split("|")}
    rooms = {p.parent.name for p in PACKAGE.glob("*/__init__.py")} | {"errors", "arrays"}
    assert rooms | {"cli"} == {name.removeprefix("ductcalc.") for name in named}


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module


def test_no_public_class_stands_under_one_name_in_two_files() -> None:
    homes: dict[str, list[str]] = {}
    for path in FILES:
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(path.relative_to(PACKAGE).as_posix())
    assert len(homes) > 200
    assert {name: files for name, files in homes.items() if len(files) > 1} == {}


@pytest.mark.parametrize("path", sorted((PACKAGE / "physics").glob("*.py")), ids=lambda p: p.name)
def test_physics_imports_numpy_alone(path: Path) -> None:
    own = {"__future__", "collections", "dataclasses", "functools", "itertools", "math", "typing", "numpy", "ductcalc"}
    assert {name.split(".")[0] for name in imports(path)} <= own
    rooms = {name.split(".")[1] for name in imports(path) if name.startswith("ductcalc.")}
    assert rooms <= {"physics", "arrays"}


def test_pint_is_imported_by_units_alone() -> None:
    users = {
        p.relative_to(PACKAGE).parts[0]
        for p in FILES
        if "\n    import pint" in p.read_text(encoding="utf-8") or "\nimport pint" in p.read_text(encoding="utf-8")
    }
    typed_only = {"answers"}  # for the type of what `quantity` returns
    assert users <= {"units"} | typed_only


def loaded_by(words: str) -> set[str]:
    ran = python("-c", f"import sys\n{words}\nprint(*sorted({{m.split('.')[0] for m in sys.modules}}))")
    assert ran.returncode == 0, ran.stderr
    return set(ran.stdout.split("\n")[-2].split())


def test_importing_the_library_loads_nothing_heavy() -> None:
    assert loaded_by("import ductcalc").isdisjoint({"numpy", "pandas", "pint", "click", "rich"})


def test_a_check_loads_neither_pandas_nor_pint_nor_scipy() -> None:
    words = "import ductcalc\nductcalc.check(ductcalc.read_shop('examples/one-machine'))"
    loaded = loaded_by(words)
    assert "numpy" in loaded
    assert loaded.isdisjoint({"pandas", "pint", "scipy"})


needs_cli = pytest.mark.skipif(importlib.util.find_spec("ductcalc.cli") is None, reason="no command line yet")


@needs_cli
def test_importing_the_command_line_loads_neither_numpy_nor_pandas_nor_pint() -> None:
    assert loaded_by("import ductcalc.cli.app").isdisjoint({"numpy", "pandas", "pint"})


@needs_cli
@pytest.mark.parametrize("option", ["--help", "--version"])
def test_help_and_version_load_neither_numpy_nor_pandas_nor_pint(option: str) -> None:
    words = f"from ductcalc.cli import main\ntry:\n    main(['{option}'])\nexcept SystemExit:\n    pass"
    assert loaded_by(words).isdisjoint({"numpy", "pandas", "pint"})


@pytest.mark.parametrize("name", ductcalc.__all__)
def test_every_public_name_is_there(name: str) -> None:
    assert getattr(ductcalc, name) is not None
    assert name in dir(ductcalc)


def test_an_unknown_name_is_an_ordinary_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        ductcalc.nothing  # noqa: B018


def test_the_version_stands_in_one_place() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert settings["project"]["dynamic"] == ["version"]
    assert settings["tool"]["hatch"]["version"]["path"] == "ductcalc/__init__.py"
    assert f"**{ductcalc.__version__}**" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_package_says_that_it_is_typed() -> None:
    assert (PACKAGE / "py.typed").is_file()


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_files_and_functions_stay_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_LINES
    long = {
        node.name: count
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.FunctionDef) and (count := code_lines(node, text)) > MOST_CODE_LINES
    }
    assert not long


def code_lines(node: ast.FunctionDef, text: str) -> int:
    """Count a function's lines that are neither blank, nor comment, nor its docstring."""
    docstring = node.body[0].end_lineno if ast.get_docstring(node) is not None else node.lineno - 1
    head = (node.body[0].lineno - node.lineno) if ast.get_docstring(node) is not None else 0
    assert docstring is not None and node.end_lineno is not None
    rows = text.splitlines()[docstring : node.end_lineno]
    return head + sum(bool(row.strip()) and not row.strip().startswith("#") for row in rows)


FORBIDDEN = re.compile(
    "|".join(
        (
            r"/(?:work|tmp|root|shared|home)/",
            r"https?" + r"://",
            r"\b" + "ag" + r"ents?\b",
            "helper" + " session",
            r"\b" + "ses" + r"sions?\b",
            "local" + "host",
        )
    ),
    re.IGNORECASE,
)


def written() -> list[Path]:
    folders = [PACKAGE, ROOT / "data", ROOT / "examples", ROOT / "tests"]
    found = [p for folder in folders for p in folder.rglob("*") if p.suffix in {".py", ".csv", ".toml", ".md", ".txt"}]
    return [*found, ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "pyproject.toml"]


def test_the_project_speaks_of_itself_only() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()[:80]}"
        for path in written()
        if path != Path(__file__)
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), start=1)
        if FORBIDDEN.search(line)
    ]
    assert found == []


def test_nothing_but_the_agreed_names_stands_at_the_top() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "ductcalc", "tests", "data", "examples"}
    names = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")} - {"dist", "build", "ductcalc.egg-info"}
    assert names <= allowed
