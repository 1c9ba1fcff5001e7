"""[findings] of shop.toml: unasked warnings that are switched off by name."""

from __future__ import annotations

from ductcalc.shop import FindingSettings
from ductcalc.tables.section import Section, said
from ductcalc.tables.words import choice
from ductcalc.units import UnreadableError, quoted

HINT = 'write for example off = ["long hose"]; ductcalc tables findings lists the names'


def read_findings(section: Section) -> FindingSettings:
    """Return which warnings are switched off; note every name that is not known."""
    written = section.take("off")
    section.finish()
    if written is None:
        return FindingSettings()
    if isinstance(written, str):
        written = [written]
    if not isinstance(written, list):
        section.notebook.note(section.at("off"), f"{quoted(said(written))} is not a list of names", HINT, said(written))
        return FindingSettings()
    # only a shop that switches something off pays for loading the rules
    from ductcalc.findings.every_rule import RULES

    known = [rule.name for rule in RULES]
    found = []
    for name in written:
        try:
            found.append(choice(said(name), known, "finding"))
        except UnreadableError as error:
            section.notebook.note_unreadable(section.at("off"), error, said(name))
    return FindingSettings(tuple(dict.fromkeys(found)))
