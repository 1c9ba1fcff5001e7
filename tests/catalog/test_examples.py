"""The examples in the docstrings run."""

from __future__ import annotations

import doctest
from importlib import import_module

import pytest


@pytest.mark.parametrize("name", ["fact", "fittings", "read", "words"])
def test_docstring_examples_run(name):
    results = doctest.testmod(import_module(f"ductcalc.catalog.{name}"))
    assert results.attempted > 0
    assert results.failed == 0
