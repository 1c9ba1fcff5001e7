"""Sentences whose amounts are put into a reader's units later."""

from __future__ import annotations

import pytest

from ductcalc.findings.phrase import Amount, flow, say, size


def test_amounts_stay_amounts_and_words_become_text() -> None:
    assert say("{} of hose in {} bends", size(0.1), 2) == (Amount("size", 0.1), " of hose in ", "2", " bends")


@pytest.mark.parametrize("parts", [(), (flow(0.1), flow(0.2))])
def test_a_sentence_with_too_few_or_too_many_parts_is_refused(parts: tuple[Amount, ...]) -> None:
    with pytest.raises(ValueError, match="zip"):
        say("{} of air", *parts)
