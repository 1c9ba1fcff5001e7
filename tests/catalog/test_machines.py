"""Kinds of machine: each in plain words, found however they are written, with the air of its own row."""

from __future__ import annotations

import pytest

from ductcalc.catalog import kinds_like, machine_kind, machine_kinds, table

CFM = 0.3048**3 / 60.0


def test_every_row_has_a_kind_of_its_own():
    kinds = [row["kind"] for row in table("machine_airflow").rows]
    assert all(kinds) and list(machine_kinds()) == kinds
    assert len({machine_kind(kind) for kind in kinds}) == len(kinds)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Table Saw", "table saw"),
        ("tablesaw", "table saw"),
        ("cabinet saw", "table saw"),
        ("bandsaw", "band saw"),
        ("miter saw", "mitre saw"),
        ('Thickness planer 15"', "planer 15 in"),
        ("thicknesser 15in", "planer 15 in"),
    ],
)
def test_a_kind_is_found_in_any_writing(text, kind):
    assert machine_kind(text) == kind


def test_a_machine_in_several_sizes_has_no_kind_of_its_bare_word():
    assert machine_kind("planer") is None
    assert {"planer 12 in", "planer 15 in", "planer 20 in"} <= set(kinds_like("thicknesser"))


def test_the_air_of_a_kind_is_its_rows():
    assert machine_kinds()["planer 15 in"].fact.value == pytest.approx(525 * CFM)
    assert machine_kinds()["spindle moulder"].fact.value == pytest.approx(1450 / 3600)
