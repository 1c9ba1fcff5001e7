"""Bytes of a file to text: UTF-8 with or without a mark, UTF-16, else Windows-1252 with a remark."""

from __future__ import annotations

import codecs

from ductcalc.errors import InputError, Place, Problem

_BOOKS = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
_SAVE_AS = 'open it in the spreadsheet and save it as "CSV UTF-8"'


def decode(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    """Return the text of a file and remarks on what had to be decided.

    Raises InputError for a spreadsheet's own format, for an empty file and for bytes that are no text.
    """
    if data.startswith(_BOOKS):
        raise _error(file, "this is a spreadsheet's own file, not a table of text", _SAVE_AS)
    text, remarks = _decoded(data, file)
    if not text.strip("\ufeff \t\r\n\x00"):
        raise _error(file, "the file is empty", "`ductcalc start FOLDER` writes a shop to begin with")
    return text.lstrip("\ufeff"), remarks


def _decoded(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    if data.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)) or _utf_32_without_mark(data):
        raise _error(file, "the file is in UTF-32, which few programs write", _SAVE_AS)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _strict(data, "utf-16", file), ()
    encoding = _utf_16_without_mark(data)
    if encoding is not None:
        return _strict(data, encoding, file), (f"{file} was read as UTF-16 without a byte-order mark",)
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        remark = f'{file} is not UTF-8 and was read as Windows-1252; save it as "CSV UTF-8" to be sure'
        return _strict(data.removeprefix(codecs.BOM_UTF8), "cp1252", file), (remark,)


def _utf_16_without_mark(data: bytes) -> str | None:
    """Guess UTF-16 by its zero bytes: plain letters have one in every second place."""
    start = data[:4096]
    even, odd = start[0::2].count(0), start[1::2].count(0)
    if max(even, odd) * 4 < len(start) or not start:
        return None
    return "utf-16-le" if odd > even else "utf-16-be"


def _utf_32_without_mark(data: bytes) -> bool:
    """Guess UTF-32 by its zero bytes: plain letters have three in every four."""
    start = data[: min(4096, len(data) // 4 * 4)]
    return any(start) and not (any(start[0::4] + start[1::4]) and any(start[2::4] + start[3::4]))


def _strict(data: bytes, encoding: str, file: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise _error(
            file, f"the file is not readable text: byte {error.start + 1} fits no letter", _SAVE_AS
        ) from None


def _error(file: str, message: str, hint: str) -> InputError:
    return InputError([Problem(message, hint, Place(file))])
