"""[size]: the inside diameters that may be bought."""

from __future__ import annotations

from ductcalc.shop.settings import SizeSettings
from ductcalc.tables import cells
from ductcalc.tables.section import Section, said
from ductcalc.units import UnreadableError, quoted

MOST_SIZES = 20
_HINT = 'write sizes = ["4 in", "5 in", "6 in"], each with its unit'


def read_sizes(section: Section) -> SizeSettings:
    """Return [size]; note every problem."""
    value, place = section.take("sizes"), section.at("sizes")
    section.finish()
    if value is None:
        return SizeSettings()
    entries = [value] if isinstance(value, str) else value
    if not isinstance(entries, list) or not entries or not all(isinstance(entry, str) for entry in entries):
        section.notebook.note(place, f"{quoted(said(value))} is not a list of sizes", _HINT, said(value))
        return SizeSettings()
    found: set[float] = set()
    for entry in entries:
        try:
            found.add(cells.size(entry, None))
        except UnreadableError as error:
            section.notebook.note_unreadable(place, error, entry)
    if len(found) > MOST_SIZES:
        section.notebook.note(place, f"{len(found)} sizes are too many", f"write {MOST_SIZES} at the most")
    return SizeSettings(tuple(sorted(found)))
