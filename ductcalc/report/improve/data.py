"""What to change first as a JSON document in SI units, and as CSV in the units shown."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.improve.candidate import Candidate, Measured
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.harm import CaseEffect
from ductcalc.answers.improve.improve import Improve, Together
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.report.columns import csv_of, ending, shown
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
        "band": LEAST_BAND,
        "band_method": None,
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
        **fields_of(found, "filter", "flow_m3_s", "gain_m3_s", "share", "gain_share"),
        "inside_band": found.inside,
        "gain_band": None if found.apart is None else [end - 1.0 for end in found.apart],
        **fields_of(found, "served", "short_at_a_port"),
        "air": found.machine.grade,
        "chips": None if found.slowest is None else found.slowest.word,
        "case_word": found.case.word,
        **fields_of(found, "effort", "leads", "cures"),
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
        "case": effect.now.name,
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


def _csv_columns(answer: Improve, display: Display) -> Columns[tuple[str, Gain]]:
    """Return the columns of a line for a rank and what it stands for."""

    def said(words: str) -> str:
        return words.replace("\u00a0", " ")

    flow = ending("flow", display)
    return (
        Column("rank", lambda line: line[0]),
        Column("changes", lambda line: said(changes_words(line[1].candidates, display))),
        Column("rows", lambda line: " ".join(str(row) for one in line[1].candidates for row in one.rows)),
        Column("subject", lambda line: answer.subject.machine),
        Column("case", lambda line: answer.subject.choice.name),
        Column("wanted", lambda line: answer.wanted_m3_s, "flow"),
        Column("now", lambda line: answer.air_m3_s, "flow"),
        Column("then", lambda line: line[1].flow_m3_s, "flow"),
        Column("more", lambda line: line[1].gain_m3_s, "flow"),
        Column("more_percent", lambda line: 100.0 * line[1].gain_share),
        Column("inside_band", lambda line: line[1].inside),
        Column("served", lambda line: line[1].served),
        Column("worse", lambda line: said("; ".join(effect_lines(line[1].harms, display)))),
        Column("better", lambda line: said("; ".join(effect_lines(line[1].helps, display)))),
        Column("cost", lambda line: line[1].price and line[1].price.cost),
        Column(f"more_{flow}_for_1", lambda line: shown(line[1].gain_for_money, "flow", display)),
        Column("air", lambda line: line[1].machine.grade),
        Column("chips", lambda line: line[1].slowest and line[1].slowest.word),
        Column("effort", lambda line: line[1].effort),
    )


def improve_csv(answer: Improve, display: Display) -> str:
    """Return a line for each change and group of changes that is told, those alone first, most gain first."""
    return csv_of(_csv_columns(answer, display), named(answer), display)
