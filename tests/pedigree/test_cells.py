"""Every number of the reference tables is used: changed, it changes what is told, or breaks a tie to a formula.

The long run (`DUCTCALC_LONG=1`) changes each value in turn, the ordinary one a few of every table.
"""

from __future__ import annotations

import os
import random
from functools import cache

import pytest

from tests.pedigree import probes
from tests.pedigree.cells import Cell, changed, every_cell, forget
from tests.pedigree.ties import ties

LONG = bool(os.environ.get("DUCTCALC_LONG"))
A_FEW = 2
CHANGES = (lambda number: 1.4 * number + 0.01, lambda number: number / 8.0, lambda number: 8.0 * number)


def tied() -> str:
    return repr([tie.holds for tie in ties()])


PROBES: dict[str, tuple[probes.Probe, ...]] = {
    "elbow": (probes.coefficients, probes.purchases),
    "hood_entry": (probes.coefficients,),
    "roughness": (probes.coefficients,),
    "transport": (probes.coefficients, tied, probes.reports),
    "gate": (probes.coefficients, tied, probes.reports),
    "branch_entry": (probes.coefficients, tied),
    "transition": (tied,),
    "hose": (probes.reports, probes.changes),
    "sizes": (probes.sold,),
    "sheet": (probes.sold,),
    "outside": (probes.sold,),
    "measuring": (probes.gauges, probes.pages, probes.diagnosis, tied, probes.reports),
    "machine_airflow": (probes.first_layout,),
    "parts": (probes.first_layout, probes.sizes, probes.bills, probes.purchases),
    "running": (probes.purchases, probes.findings),
    "bulk": (probes.bills, probes.purchases),
    "findings": (probes.near_limits, probes.thin_air, probes.sold, probes.findings),
}
ELSEWHERE = (tied, probes.reports, probes.purchases)

ENDS_ALONE = {"main speed"}
"""Rows of which the program takes the ends and not the value."""

VALUES = [cell for cell in every_cell() if cell.column == ("low" if cell.item in ENDS_ALONE else "value")]


def chosen() -> list[Cell]:
    if LONG:
        return VALUES
    dear = {"findings", "parts", "running", "bulk"}
    names = sorted({cell.table for cell in VALUES} - dear)
    draw = random.Random(17)
    tables = ([cell for cell in VALUES if cell.table == name] for name in names)
    return [cell for cells in tables for cell in draw.sample(cells, min(A_FEW, len(cells)))]


@cache
def as_shipped(probe: probes.Probe) -> str:
    forget()
    return probe()


def told(probe: probes.Probe) -> str:
    try:
        return probe()
    except Exception as error:
        return repr(error)


def test_ties_hold() -> None:
    found = list(ties())
    assert len(found) > 30
    assert [tie for tie in found if not tie.holds] == []


@pytest.mark.parametrize("cell", chosen(), ids=str)
def test_a_changed_value_is_noticed(cell: Cell) -> None:
    for probe in PROBES.get(cell.table, ELSEWHERE):
        shipped = as_shipped(probe)
        for change in CHANGES:
            with changed(cell, change):
                if told(probe) != shipped:
                    return
    pytest.fail(f"nothing changes with {cell}")
