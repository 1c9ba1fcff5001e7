"""The number grammar: what is read, and what is refused rather than guessed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.units import UnreadableError, parse, parse_number

READ = [
    ("6", 6.0),
    ("6.5", 6.5),
    ("6,5", 6.5),
    (".5", 0.5),
    ("0,125", 0.125),
    ("1 1/2", 1.5),
    ("1-1/2", 1.5),
    ("1 - 1/2", 1.5),
    ("1/2", 0.5),
    ("½", 0.5),
    ("1½", 1.5),
    ("1 ¼", 1.25),
    ("2-¾", 2.75),
    ("⅛", 0.125),
    ("1⁄2", 0.5),
    ("-3", -3.0),
    ("−3", -3.0),
    ("-1 1/2", -1.5),
    ("+4", 4.0),
    ("1 200", 1200.0),
    ("1\u00a0200", 1200.0),
    ("1\u202f200,5", 1200.5),
    ("1,234.5", 1234.5),
    ("1.234,5", 1234.5),
    ("1,234,567", 1234567.0),
    ("1.234.567", 1234567.0),
    ("1234,56", 1234.56),
    ("1.82e-5", 1.82e-5),
    ("1'200", 1200.0),
    ("1’234’567,5", 1234567.5),
    ("４．５", 4.5),
    ("１，５", 1.5),
    ("\u200b4\ufeff", 4.0),
    ("4\u200e", 4.0),
    ("1\u00ad1/2", 1.5),
    ("–3", -3.0),
]


@pytest.mark.parametrize(("text", "value"), READ)
def test_number_is_read(text: str, value: float) -> None:
    assert parse_number(text) == value


def test_minus_nothing_is_nothing() -> None:
    assert str(parse_number("-0")) == "0.0"


DATES = [
    "2-Jan",
    "02. Jan",
    "Jan-02",
    "Jan 2026",
    "2026-01-02",
    "1.2.2026",
    "1/2/2026",
    "1.2.",
    "2-Jan in",
    "1/2026",
    "2. Mär",
]


@pytest.mark.parametrize("text", DATES)
def test_date_is_named_as_a_fraction_that_the_spreadsheet_changed(text: str) -> None:
    with pytest.raises(UnreadableError) as caught:
        parse(text, "length")
    assert "date" in caught.value.message
    assert text in caught.value.message
    assert '"1/2 in"' in caught.value.hint


@pytest.mark.parametrize("text", ["1,200 cfm", "12,500 cfm"])
def test_comma_before_three_digits_is_never_guessed(text: str) -> None:
    with pytest.raises(UnreadableError) as caught:
        parse(text, "flow")
    assert "two ways" in caught.value.message
    whole, tail = text.split(" ")[0].split(",")
    assert f"{whole}{tail}" in caught.value.hint
    assert f"{float(f'{whole}.{tail}'):g}" in caught.value.hint


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "nothing is written"),
        ("nan", "not a number"),
        ("inf in", "not a number"),
        ("-Infinity", "not a number"),
        ("#VALUE!", "error of the spreadsheet"),
        ("=4", "is a formula"),
        ("1\u200b2 in", "unknown unit"),
        ("1\u00ad2 in", "more than one number"),
        ("1'20 mm", "more than one number"),
        ("12'00' in", "more than one number"),
        ("1'200 in", "two ways"),
        ("1'200 ft", "two ways"),
        ("1'200\"", "two ways"),
        ("0x10 in", "plain number"),
        ("1e999 in", "too large"),
        ("1/0 in", "divides by zero"),
        ("six in", "a number"),
        ("6 in 3", "more than one number"),
        ("6 5 in", "more than one number"),
        ("6..5 in", "more than one number"),
        ("1,2,3 in", "more than one number"),
        ("6² in", "more than one number"),
        ("5 3/2 in", "no fraction"),
        ("9" * 5000 + "/2 in", "too large"),
        ("1/" + "9" * 5000 + " in", "no fraction"),
    ],
)
def test_unreadable_number_is_an_error_with_a_repair(text: str, word: str) -> None:
    with pytest.raises(UnreadableError) as caught:
        parse(text, "length")
    assert word in caught.value.message
    assert caught.value.hint


def test_very_long_text_is_shortened_in_the_message() -> None:
    with pytest.raises(UnreadableError) as caught:
        parse("6 " + "x" * 5000, "length")
    assert len(caught.value.message) < 300


def test_escape_codes_are_spelled_out_in_the_message() -> None:
    with pytest.raises(UnreadableError) as caught:
        parse("\x1b[31m6 in", "length")
    assert "\x1b" not in caught.value.message
    assert "\\u001b" in caught.value.message


@given(st.floats(min_value=-1e9, max_value=1e9, allow_nan=False))
def test_every_written_float_comes_back(value: float) -> None:
    assert parse_number(repr(value)) == value


@given(st.integers(0, 999_999), st.integers(0, 99))
def test_decimal_comma_and_point_mean_the_same(whole: int, hundredths: int) -> None:
    assert parse_number(f"{whole},{hundredths:02d}") == parse_number(f"{whole}.{hundredths:02d}")


@given(st.integers(0, 400), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_mixed_fraction_in_every_spelling(whole: int, below: int, data: st.DataObject) -> None:
    above = data.draw(st.integers(1, below - 1))
    expected = float(whole + Fraction(above, below))
    for text in (f"{whole} {above}/{below}", f"{whole}-{above}/{below}", f"{whole} {above}⁄{below}"):
        assert parse_number(text) == expected


@given(st.integers(1000, 999_999_999), st.integers(1, 9))
def test_thousands_in_every_unambiguous_spelling(whole: int, tenths: int) -> None:
    grouped = f"{whole:,}"
    spellings = (
        f"{grouped}.{tenths}",
        grouped.replace(",", " ") + f".{tenths}",
        grouped.replace(",", ".") + f",{tenths}",
    )
    assert {parse_number(text) for text in spellings} == {float(f"{whole}.{tenths}")}


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_with_a_repair(text: str) -> None:
    try:
        value = parse(text, "length", times=True)
    except UnreadableError as error:
        assert error.message and error.hint
        assert "\x1b" not in error.message
    else:
        assert value == value and abs(value) != float("inf")
