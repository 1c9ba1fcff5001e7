"""The examples in the docstrings run and show what they say."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import ductcalc.physics

MODULES = sorted(module.name for module in pkgutil.iter_modules(ductcalc.physics.__path__))
WITH_EXAMPLES = [name for name in MODULES if name not in {"amounts", "imperial"}]


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_every_example_shows_what_it_says(name: str) -> None:
    result = doctest.testmod(importlib.import_module(f"ductcalc.physics.{name}"))
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_every_public_function_names_its_source_or_that_it_is_a_definition(name: str) -> None:
    module = importlib.import_module(f"ductcalc.physics.{name}")
    functions = [
        thing
        for thing in vars(module).values()
        if callable(thing) and getattr(thing, "__module__", "") == module.__name__
    ]
    named = ("Source:", "(definition)", "(geometry)", "(continuity)", "turned round")
    silent = [
        function.__name__
        for function in functions
        if not function.__name__.startswith("_")
        and not isinstance(function, type)
        and not any(word in (function.__doc__ or "") for word in named)
    ]
    allowed = {"evaluate", "straight_line", "parabola"}
    assert set(silent) <= allowed
