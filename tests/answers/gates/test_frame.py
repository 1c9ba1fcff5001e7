"""The proof by list as a pandas table."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas
import pytest

from ductcalc.answers.gates.gates import Gates, gates
from tests.gate_shops import row_of_machines
from tests.scenes import end, gate, pipe, port, reducer, run, shop, wye

ABC = ("a", "b", "c")
SETS = {"greedy": {"open": ["a", "b"], "helpers": ["b"], "flow": {"a": "900 cfm"}}}


@cache
def found() -> Gates:
    return gates(row_of_machines(ABC, gates={"sets": SETS, "leak": "2 %"}))


@cache
def frame() -> pandas.DataFrame:
    return found().frame()


def test_a_row_for_every_solved_set_and_then_the_named_ones() -> None:
    assert len(frame()) == found().solved_sets + 1
    patterns = {tuple(row) for row in frame().iloc[:-1][list(ABC)].to_numpy()}
    assert len(patterns) == 7
    assert frame()["named set"].tolist() == [""] * 7 + ["greedy"]


def test_machines_are_boolean_columns() -> None:
    assert all(frame()[name].dtype == bool for name in (*ABC, "served", "may run", "largest", "forbidden"))


def test_numbers_have_their_unit_in_the_column_name() -> None:
    numbers = [name for name, kind in frame().dtypes.items() if kind.kind == "f"]
    assert numbers == [*(f"air {m} [m3/s]" for m in ABC), "speed [m/s]", "needed speed [m/s]"]


def test_rows_say_what_the_answers_say() -> None:
    assert found().together
    for answer in found().together:
        rows = frame().iloc[:7]
        (row,) = rows[np.all([rows[m] == (m in answer.asked) for m in ABC], axis=0)].to_dict("records")
        assert (row["word"], row["served"], row["may run"]) == (answer.word, answer.served, answer.may_run)
        assert row["settling sections"] == len(answer.settling)
        assert answer.slowest is not None and row["slowest section"] == answer.slowest.section
        assert row["speed [m/s]"] == answer.slowest.deciding_velocity_m_s
        assert row["needed speed [m/s]"] == answer.slowest.needed_velocity_m_s
        assert [row[f"air {m.machine} [m3/s]"] for m in answer.asked_machines] == [
            m.flow_m3_s for m in answer.asked_machines
        ]


def test_the_speed_is_the_one_that_decides_also_where_a_riser_does() -> None:
    """The level pipe is wider, so that its air is slower, and yet the riser is nearer to its own limit."""
    up = pipe("4 ft", rise="4 ft")
    rising = [port("a", "5 in", k=9), gate(), up, reducer("5.1 in"), pipe("4 ft"), wye("drop", "6 in"), end("6 in")]
    level = run("drop", port("b", "5 in", k=9), gate(), pipe("4 ft"))
    drawn = gates(shop(run("main", *rising), level))
    told = drawn.frame()[["slowest section", "speed [m/s]", "needed speed [m/s]"]].itertuples(index=False, name=None)
    decides = []
    for row, case in zip(told, (*drawn.singles, *drawn.together), strict=True):
        slow = case.slowest
        assert slow is not None
        assert row == (slow.section, slow.deciding_velocity_m_s, slow.needed_velocity_m_s)
        decides.append(slow.decides)
    assert decides == ["riser", "level", "riser"]


def test_a_shut_machine_has_what_its_gate_leaks() -> None:
    first = frame().iloc[0]
    assert 0.0 < first["air b [m3/s]"] < 0.05 * first["air a [m3/s]"]


def test_named_set_has_its_helpers_and_its_own_word() -> None:
    last = frame().iloc[-1]
    assert (last["helpers"], last["word"], bool(last["served"])) == ("b", "short", False)


def test_largest_and_forbidden_are_marked() -> None:
    marked = frame()[frame()["largest"]]
    told = {answer.asked for answer in found().largest}
    assert {tuple(m for m in ABC if row[m]) for row in marked.to_dict("records")} == told
    assert frame()["forbidden"].sum() == len(found().forbidden)


def test_a_set_without_an_answer_has_no_numbers() -> None:
    from tests.answers.gates.test_sets import beyond

    table = gates(beyond()).frame()
    assert table["word"].tolist() == ["no answer"] * 3
    assert table["air a [m3/s]"].isna().all() and table["speed [m/s]"].isna().all()
    assert not table["served"].any()


@pytest.mark.parametrize("together", [2, 3])
def test_the_whole_table_does_not_hang_on_what_is_shown(together: int) -> None:
    again = gates(row_of_machines(ABC, gates={"sets": SETS, "leak": "2 %"}), together).frame()
    pandas.testing.assert_frame_equal(again, frame())
