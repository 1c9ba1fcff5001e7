"""The number grammar: what a person writes before a unit, as a float.

Read are 6, 6.5, 6,5 (decimal comma), 1 1/2, 1-1/2, 1/2, 1 234.5, 1'234.5, 1,234.5, 1.234,5 and 1.8e-5, each signed.
Nothing is guessed: `1,200` may be twelve hundred or one and a fifth and is refused, and so is a date where a
fraction was meant.
"""

from __future__ import annotations

import math
import re

from ductcalc.errors import UnreadableError
from ductcalc.units.wording import quoted

_FRACTION = re.compile(r"(?:(\d+)(?: *- *| +))?(\d+) ?/ ?(\d+)(?!\d)")
_SPACED = re.compile(r"\d{1,3}(?:(?: \d{3})+|(?:'\d{3})+)(?:[.,]\d+)?(?![\d'])")
_GROUPED_POINT = re.compile(r"\d{1,3}(?:(?:,\d{3})+\.\d+|(?:,\d{3}){2,})(?!\d)")
_GROUPED_COMMA = re.compile(r"\d{1,3}(?:(?:\.\d{3})+,\d+|(?:\.\d{3}){2,})(?!\d)")
_AMBIGUOUS = re.compile(r"[1-9]\d{0,2},\d{3}(?![\d.,])")
_COMMA = re.compile(r"\d+,\d+(?:e[+-]?\d+)?")
_PLAIN = re.compile(r"(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?")
_MONTH = (
    r"(?:jan|janv|feb|fev|févr|mar|mars|mär|mrz|apr|avr|may|mai|jun|juin|jul|juil|aug|août|sep|sept|oct|okt|nov|dec|déc|dez)"
    r"(?:uary|ruary|ch|il|e|y|ust|tember|ober|ember)?\.?"
)
_DATE = re.compile(
    rf"(?:\d{{1,2}}[-./ ]{{0,2}}{_MONTH}(?:[-./ ]+\d{{2,4}})?|{_MONTH}[-./ ]{{0,2}}\d{{1,4}}"
    r"|\d{4}-\d{1,2}(?:-\d{1,2}(?:t\d{2}:\d{2})?)?|\d{1,2}([-./])\d{1,2}\1(?:\d{2,4})?|\d{1,2}/\d{3,4})(?![\w.,/-])"
)
_NOT_FINITE = re.compile(r"[-+]?(?:nan|inf|infinity)(?!\w)")
_SHEETS_ERROR = re.compile(r"#(?:[A-ZÀ-Ý][A-ZÀ-Ý0-9/ ]*[!?]|N/A|NV|#+)|Err:\d+")
_HEXADECIMAL = re.compile(r"[-+]?0x[0-9a-f]+")
_GREATEST_DENOMINATOR = 128


def refuse_non_numbers(plain: str, given: str) -> None:
    """Raise for a tidied text that is a formula, or starts with an error of the sheet, a date, nan or a hexadecimal."""
    refuse_formula(given.strip(), given)
    if _DATE.match(plain):
        raise UnreadableError(
            f"{quoted(given)} is a date: the spreadsheet turned a fraction into a date",
            'format the cell as text and write the fraction with its unit, for example "1/2 in", or "0.5 in"',
        )
    if _NOT_FINITE.match(plain):
        raise UnreadableError(
            f"{quoted(given)} is not a number", "write a plain number with its unit, or leave the cell blank"
        )
    if _HEXADECIMAL.match(plain):
        raise UnreadableError(
            f"{quoted(given)} is not a plain number", "write the number with the digits 0 to 9 only"
        )


def refuse_formula(text: str, given: str) -> None:
    """Raise for a cell that holds a spreadsheet's formula or error in place of what it stands for."""
    if is_sheets_error(text):
        raise UnreadableError(
            f"{quoted(given)} is an error of the spreadsheet, not a value",
            "mend the cell there (a text such as -4 ft needs the cell format text), and save the table anew",
        )
    if text.startswith("="):
        raise UnreadableError(
            f"{quoted(given)} is a formula, not its value",
            'write the value itself, for example "6 in", or save the table with values in place of formulas',
        )


def is_sheets_error(text: str) -> bool:
    """Tell whether a cell begins with an error value of a spreadsheet, such as `#REF!` or `#####`."""
    return _SHEETS_ERROR.match(text) is not None


def leading_number(plain: str, given: str) -> tuple[float, str]:
    """Read the number at the start of a tidied text; return it with the rest of the text.

    Raises UnreadableError when there is no number, when it is ambiguous or when it is not finite.
    """
    sign = -1.0 if plain.startswith("-") else 1.0
    body = plain[1:].lstrip() if plain[:1] in ("-", "+") else plain
    value, end = _unsigned(body, given)
    if not math.isfinite(value):
        raise UnreadableError(f"{quoted(given)} is too large for a number", "write a number of everyday size")
    return sign * value + 0.0, body[end:].strip()


def _unsigned(body: str, given: str) -> tuple[float, int]:
    """Read an unsigned number at the start of a text; return it and where it ends."""
    if found := _FRACTION.match(body):
        return _fraction(found, given), found.end()
    if found := _SPACED.match(body):
        return float(found[0].replace(" ", "").replace("'", "").replace(",", ".")), found.end()
    if found := _GROUPED_POINT.match(body):
        return float(found[0].replace(",", "")), found.end()
    if found := _GROUPED_COMMA.match(body):
        return float(found[0].replace(".", "").replace(",", ".")), found.end()
    if found := _AMBIGUOUS.match(body):
        raise _ambiguous(found[0], given)
    if found := _COMMA.match(body):
        return float(found[0].replace(",", ".")), found.end()
    if found := _PLAIN.match(body):
        return float(found[0]), found.end()
    raise UnreadableError(
        f"{quoted(given)} does not start with a number", 'write a number and its unit, for example "6 in"'
    )


def _fraction(found: re.Match[str], given: str) -> float:
    """Return the value of a simple or mixed fraction."""
    whole, above, below = float(found[1] or 0), float(found[2]), float(found[3])
    if below == 0:
        raise UnreadableError(f"{quoted(given)} divides by zero", 'write a fraction such as "1/2"')
    if below > _GREATEST_DENOMINATOR or (found[1] and above >= below):
        raise UnreadableError(
            f"{quoted(given)} is no fraction of everyday use", 'write for example "1 1/2" or "1.5"'
        )
    return whole + above / below


def _ambiguous(number: str, given: str) -> UnreadableError:
    """Say that a comma before three digits has two readings."""
    whole, tail = number.split(",")
    point = f"{whole}.{tail.rstrip('0') or '0'}"
    return UnreadableError(
        f"{quoted(given)} can be read in two ways: the comma may part thousands or decimals",
        f"write {whole}{tail} or {point}, whichever was meant",
    )
