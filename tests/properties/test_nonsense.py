"""Files of any nonsense end in an answer or in clear messages, and stay as they were; a longer run is `long_run`."""

from __future__ import annotations

import tempfile
from pathlib import Path
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.properties.nonsense import BASE, MAKERS, Case, encoded, ending, write

OF_INPUT = sorted(set(MAKERS) - {"extreme legal numbers"})


@settings(max_examples=250, derandomize=True, deadline=None, database=None)
@given(st.sampled_from(OF_INPUT), st.integers(0, 2**32))
def test_any_nonsense_ends_in_an_answer_or_in_clear_messages(name: str, seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        case = MAKERS[name](Random(seed))
        found = ending(write(case, Path(folder) / "shop"))
        left = {path.name: path.read_bytes() for path in (Path(folder) / "shop").iterdir()}
    assert found.wrong == ""
    assert found.code in (0, 1, 2, 3)
    assert left == case.files


def test_sound_files_are_computed(tmp_path: Path) -> None:
    case = Case({name: encoded(text) for name, text in BASE.items()})
    assert (ending(write(case, tmp_path / "shop")).code, ending(write(case, tmp_path / "shop")).wrong) == (1, "")


def test_a_fault_of_the_program_would_be_seen(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr("ductcalc.tables.reader.decode", lambda data, file: 1 / 0)
    case = Case({name: encoded(text) for name, text in BASE.items()})
    assert ending(write(case, tmp_path / "shop")).wrong.startswith("ZeroDivisionError")
