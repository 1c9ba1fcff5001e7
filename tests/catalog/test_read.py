"""Reading a table: quick, lazy, immutable, and a wrong name is met with the nearest one."""

from __future__ import annotations

import subprocess
import sys
import time

import pytest

from ductcalc.catalog import fact, table, table_names
from ductcalc.catalog.fact import fact_rows
from ductcalc.catalog.read import data_folder
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


@pytest.mark.parametrize("name", [*table_names(), "sources", "words"])
def test_a_table_is_read_in_two_milliseconds(name):
    data_folder()
    table("gate")
    seconds = []
    for _ in range(10):
        start = time.perf_counter()
        table.__wrapped__(name)
        seconds.append(time.perf_counter() - start)
    assert min(seconds) < 0.002


def test_the_facts_of_the_longest_item_are_made_in_two_milliseconds():
    table("branch_entry")
    seconds = []
    for _ in range(10):
        start = time.perf_counter()
        fact_rows.__wrapped__("branch_entry", "type II run term")
        seconds.append(time.perf_counter() - start)
    assert min(seconds) < 0.002


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
