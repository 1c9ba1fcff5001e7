"""What to change first as a JSON document in SI units, and as CSV in the units shown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.improve.candidate import Candidate, Measured
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.harm import CaseEffect
from ductcalc.answers.improve.improve import Improve, Together
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.improve.sentences import verdict
from ductcalc.report.improve.text import named
from ductcalc.report.improve.words import changes_words, effect_lines
from ductcalc.report.json_text import GRADES, PROGRAM, audit_of_cases, fields_of

CANDIDATE = ("kind", "run", "section", "sections", "rows", "written_like", "measured")
KEYS: dict[Measured, str] = {
    "size": "m",
    "length": "m",
    "angle": "deg",
    "share": "share",
    "build": "build",
    "radius": "radius_over_diameter",
    "count": "count",
    "state": "state",
}
"""What follows before_ and after_: the unit, or what it is that has none."""


def improve_document(answer: Improve, display: Display) -> dict[str, Any]:
    """Return the answer as nested plain values."""
    return {
        **PROGRAM,
        "shop": answer.shop,
        "verdict": verdict(answer, display).replace("\u00a0", " "),
        "exit_code": answer.exit_code,
        "junction": answer.junction,
        "subject": {
            "machine": answer.subject.machine,
            "case": answer.subject.choice.name,
            "alone": answer.subject.alone,
            "port": answer.subject.run,
        },
        "status": answer.case.status,
        **fields_of(answer.case, *GRADES),
        "audit": audit_of_cases([answer.case]),
        **fields_of(answer, "air_m3_s", "wanted_m3_s", "share"),
        "band": answer.band.share,
        "band_method": answer.band.method,
        "gains": [_gain(found) for found in answer.gains],
        "pairs": _together(answer.pairs),
        "threes": _together(answer.threes),
        **fields_of(answer, "tried", "lost", "unaudited", "pool", "cases", "priced", "provisional", "least_hose_m"),
        "remarks": list(answer.remarks),
        "changes": list(answer.changes),
    }


def _together(found: Together) -> dict[str, Any]:
    return {
        "tried": found.tried,
        "best": None if found.best is None else _gain(found.best),
        "best_without_harm": None if found.unharming is None else _gain(found.unharming),
    }


def _gain(found: Gain) -> dict[str, Any]:
    point = found.case.collector
    return {
        "changes": [_candidate(one) for one in found.candidates],
        **fields_of(found, "filter", "flow_m3_s", "gain_m3_s", "share", "gain_share", "served", "short_at_a_port"),
        "poorest_port": found.poorest,
        "collector_flow_m3_s": None if point is None else point.flow_m3_s,
        "power_w": None if point is None else point.power_w,
        "others": [fields_of(o, "machine", "before_m3_s", "flow_m3_s", "wanted_m3_s") for o in found.others],
        "effects": [_effect(effect) for effect in found.effects],
        "cost": None if found.price is None else found.price.cost,
        "unpriced_parts": None if found.price is None else found.price.unpriced,
        "cost_is_whole": None if found.price is None else found.price.whole,
        "gain_for_money_m3_s": found.gain_for_money,
    }


def _candidate(one: Candidate) -> dict[str, Any]:
    key = KEYS[one.measured]
    changed = {f"before_{key}": one.before, f"after_{key}": one.after}
    return {"label": one.step.label, **fields_of(one, *CANDIDATE), **changed, **fields_of(one, "bends", "filter")}


def _effect(effect: CaseEffect) -> dict[str, Any]:
    slow, poor = effect.section, effect.machine
    return {
        "case": effect.case.name,
        "word": effect.word,
        "worse": effect.harm,
        "section": None if slow is None else slow.section,
        "velocity_m_s": None if slow is None else slow.deciding_velocity_m_s,
        "needed_velocity_m_s": None if slow is None else slow.needed_velocity_m_s,
        "velocity_before_m_s": None if slow is None else effect.before,
        "machine": None if poor is None else poor.machine,
        "share": None if poor is None else poor.least_share,
        "share_before": None if poor is None else effect.before,
    }


def improve_csv(answer: Improve, display: Display) -> str:
    """Return a line for each change and group of changes that is told, those alone first, most gain first."""
    flow = ending("flow", display)
    columns = (
        "rank",
        "changes",
        "rows",
        "subject",
        "case",
        f"wanted_{flow}",
        f"now_{flow}",
        f"then_{flow}",
        f"more_{flow}",
        "more_percent",
        "served",
        "worse",
        "better",
        "cost",
        f"more_{flow}_for_1",
    )
    return csv_text(columns, _rows(answer, display))


def _rows(answer: Improve, display: Display) -> Iterator[list[Any]]:
    for name, found in named(answer):
        yield [
            name,
            changes_words(found.candidates, display).replace("\u00a0", " "),
            " ".join(str(row) for one in found.candidates for row in one.rows),
            answer.subject.machine,
            answer.subject.choice.name,
            shown(answer.wanted_m3_s, "flow", display),
            shown(answer.air_m3_s, "flow", display),
            shown(found.flow_m3_s, "flow", display),
            shown(found.gain_m3_s, "flow", display),
            100.0 * found.gain_share,
            found.served,
            "; ".join(effect_lines(found.harms, display)).replace("\u00a0", " "),
            "; ".join(effect_lines(found.helps, display)).replace("\u00a0", " "),
            None if found.price is None else found.price.cost,
            shown(found.gain_for_money, "flow", display),
        ]
