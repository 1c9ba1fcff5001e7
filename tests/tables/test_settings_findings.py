"""[findings] of shop.toml: the warnings that are switched off."""

from __future__ import annotations

import pytest

from ductcalc.errors import InputError
from tests.scenes import two_machines


@pytest.mark.parametrize(
    ("written", "off"),
    [(["long hose", "Thin Pipe", "long hose"], ("long hose", "thin pipe")), ("tee", ("tee",)), ([], ())],
)
def test_names_of_rules_are_switched_off_each_once(written: object, off: tuple[str, ...]) -> None:
    assert two_machines(findings={"off": written}).settings.findings.off == off


def test_nothing_written_switches_nothing_off() -> None:
    assert two_machines(findings={}).settings.findings.off == ()


@pytest.mark.parametrize(
    ("written", "said"),
    [(3, "list of names"), (["long hoes"], "did you mean long hose"), ([["tee"]], "finding")],
)
def test_a_wrong_entry_is_told_with_its_place(written: object, said: str) -> None:
    with pytest.raises(InputError, match=said) as raised:
        two_machines(findings={"off": written})
    place = raised.value.problems[0].place
    assert place is not None and place.key == "findings.off"
