"""Every worked line of the method is what its function computes, and every formula of the program is in it."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ductcalc.physics
from ductcalc.catalog.read import data_folder, table_names

METHOD = (data_folder() / "METHOD.md").read_text(encoding="utf-8")
WORKED = re.findall(r"^ *`(\w+)\((.*)\)(\[\d\])? = ([-\d.e+]+)`$", METHOD, flags=re.MULTILINE)
PHYSICS = Path(ductcalc.physics.__file__).parent


def formulas() -> dict[str, Callable[..., Any]]:
    """Return every public formula by name."""
    modules = [import_module(f"ductcalc.physics.{file.stem}") for file in sorted(PHYSICS.glob("[a-z]*.py"))]
    return {
        name: made
        for module in modules
        for name, made in inspect.getmembers(module, inspect.isfunction)
        if made.__module__ == module.__name__ and not name.startswith("_")
    }


@pytest.mark.parametrize(("name", "given", "place", "printed"), WORKED, ids=[line[0] for line in WORKED])
def test_a_worked_line_is_what_its_function_computes(name: str, given: str, place: str, printed: str) -> None:
    found = formulas()[name](*ast.literal_eval(f"({given},)"))
    value = float(np.asarray(found)[int(place[1:-1])] if place else found)
    digits = printed.partition("e")[0].lstrip("-0.").replace(".", "")
    assert value == pytest.approx(float(printed), rel=0.6 * 10.0 ** (1 - max(len(digits), 4)))


def test_no_worked_line_is_passed_over() -> None:
    written = re.findall(r"^ *`\w+\(.*`$", METHOD, flags=re.MULTILINE)
    assert len(written) == len(WORKED) > 25


def test_every_table_that_it_names_is_shipped() -> None:
    named = set(re.findall(r"[Tt]able\s+`(\w+)`", METHOD))
    assert named <= set(table_names())
    assert {"air", "roughness", "hose", "joint_leakage", "elbow", "transition", "gate", "machine"} < named


def test_every_file_of_formulas_on_the_way_of_the_air_is_in_it() -> None:
    worked = {name for name, *_ in WORKED}
    homes = {formulas()[name].__module__.rpartition(".")[2] for name in worked}
    assert {"air", "velocity", "friction", "leakage", "fittings", "junction", "fan", "collector", "conveying"} <= homes
