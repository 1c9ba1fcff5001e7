"""The reference tables: facts with range, source and confidence, and the words that the tables know.

Nothing is read before it is asked for, and what was read is kept: every answer here is immutable.
"""

from ductcalc.catalog.fact import Fact, fact
from ductcalc.catalog.fittings import branch_entry, elbow, gate_part_open, hood_entry, opening_of_gate
from ductcalc.catalog.machines import kinds_like, machine_kind, machine_kinds
from ductcalc.catalog.pipe import (
    HOSE,
    inside_of,
    is_adapter,
    joint_leakage,
    lengths_sold,
    pipe_make,
    pipe_weight,
    roughness,
    sizes_for,
    sizes_sold,
    transport_speed,
)
from ductcalc.catalog.read import Source, Table, cite, sources, table, table_names
from ductcalc.catalog.words import default_style, material_key, materials, speaks_of_metal, style_key, styles

__all__ = [
    "HOSE",
    "Fact",
    "Source",
    "Table",
    "branch_entry",
    "cite",
    "default_style",
    "elbow",
    "fact",
    "gate_part_open",
    "hood_entry",
    "inside_of",
    "is_adapter",
    "joint_leakage",
    "kinds_like",
    "lengths_sold",
    "machine_kind",
    "machine_kinds",
    "material_key",
    "materials",
    "opening_of_gate",
    "pipe_make",
    "pipe_weight",
    "roughness",
    "sizes_for",
    "sizes_sold",
    "sources",
    "speaks_of_metal",
    "style_key",
    "styles",
    "table",
    "table_names",
    "transport_speed",
]
