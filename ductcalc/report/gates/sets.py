"""Every solved gate set as CSV: a line per set, a yes or no per machine, its air, the slowest section, the word."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.table import SetTable, set_table
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.units.display import Shown


def gates_csv(gates: Gates, display: Display) -> str:
    """Return the proof by list; air of a shut machine is what its gate leaks."""
    table = set_table(gates)
    flow, speed = ending("flow", display), ending("speed", display)
    columns = (
        *table.machines,
        "named_set",
        "helpers",
        *(f"air {machine} [{flow}]" for machine in table.machines),
        "slowest_section",
        f"speed_{speed}",
        f"needed_speed_{speed}",
        "served",
        "may_run",
        "settling_sections",
        "word",
        "largest",
        "forbidden",
    )
    return csv_text(columns, _rows(table, display))


def _rows(table: SetTable, display: Display) -> Iterator[list[Any]]:
    opened, air = table.open.tolist(), table.air_m3_s.tolist()
    speed, needed = table.speed_m_s.tolist(), table.needed_m_s.tolist()
    served, may_run, settling = table.served.tolist(), table.may_run.tolist(), table.settling.tolist()
    largest, forbidden = table.largest.tolist(), table.forbidden.tolist()
    for n, word in enumerate(table.word):
        yield [
            *opened[n],
            table.name[n],
            table.helpers[n],
            *(_number(flow, "flow", display) for flow in air[n]),
            table.section[n],
            _number(speed[n], "speed", display),
            _number(needed[n], "speed", display),
            served[n],
            may_run[n],
            settling[n],
            word,
            largest[n],
            forbidden[n],
        ]


def _number(value: float, dimension: Shown, display: Display) -> float | None:
    return shown(value, dimension, display) if math.isfinite(value) else None
