"""Reading a table: lazy, immutable, and a wrong name is met with the nearest one."""

from __future__ import annotations

import subprocess
import sys

import pytest

from ductcalc.catalog import fact, table
from ductcalc.errors import InputError


def test_an_unknown_table_is_met_with_the_nearest_name():
    with pytest.raises(InputError) as caught:
        table("elbo")
    assert caught.value.problems[0].given == "elbo"
    assert caught.value.problems[0].hint == "did you mean elbow?"


def test_a_name_far_from_all_is_met_with_the_list():
    with pytest.raises(InputError) as caught:
        table("zzz")
    assert "air, branch_entry" in caught.value.problems[0].hint


def test_a_path_is_not_a_table_name():
    with pytest.raises(InputError):
        table("../data/elbow")


def test_a_row_cannot_be_changed():
    with pytest.raises(TypeError):
        table("gate").rows[0]["value"] = "0"  # type: ignore[index]


def test_importing_the_catalog_reads_no_table_and_needs_no_heavy_package():
    code = (
        "import sys, ductcalc.catalog as c; from ductcalc.catalog import read;"
        "assert read.table.cache_info().currsize == 0;"
        "print([m for m in ('pandas', 'pint', 'rich', 'scipy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_fact_that_is_not_there_or_not_single_is_a_key_error():
    with pytest.raises(KeyError):
        fact("gate", "ajar")
    with pytest.raises(KeyError):
        fact("gate", "part open")
