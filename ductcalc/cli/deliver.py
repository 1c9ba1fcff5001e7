"""Where an answer goes: a terminal, a pipe, a file; and the shop's remarks to standard error."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from ductcalc.cli.options import NARROWEST, TUNED, OutputOptions
from ductcalc.cli.say import say, write_out
from ductcalc.shop.readings import FILE
from ductcalc.units.wording import spelled

if TYPE_CHECKING:
    from ductcalc.report.blocks import Block
    from ductcalc.report.draw.picture import Picture
    from ductcalc.report.render import Page
    from ductcalc.shop import Shop
    from ductcalc.shop.readings import Reading

PIPE = 100
"""Characters in a line of what goes to a pipe or a file."""
PAPER = 80
"""Characters in a line of what is hung on a wall, where no terminal says otherwise."""


class Refused(click.ClickException):
    """An output file that cannot be written; the command was wrong."""

    exit_code = 2

    def __init__(self, path: Path, message: str, hint: str) -> None:
        """Keep the message in the layout of all messages."""
        super().__init__(f"{spelled(str(path))}: {message}\n  hint: {hint}")


class Reports(NamedTuple):
    """The forms of an answer, each made only when it is asked for; of pictures and pages as far as there are any."""

    text: Callable[[], Iterable[Block]]
    json: Callable[[], dict[str, Any]]
    csv: Callable[[], str]
    picture: Callable[[], Picture] | None = None
    html: Callable[[], str] | None = None


def read(shop: Path, collector: Path | None, wishes: OutputOptions, changes: Sequence[str] = ()) -> Shop:
    """Read the shop, tell the reader's remarks on standard error, and see that the output file may be written.

    changes: what-ifs as typed, after which the shop is returned.
    """
    refuse_output(wishes, shop, collector)
    found = read_and_remark(shop, collector)
    if not changes:
        return found
    from ductcalc.shop.change import changed
    from ductcalc.tables.what_if import read_changes

    return changed(found, read_changes(found, changes))


def read_and_remark(shop: Path, collector: Path | None) -> Shop:
    """Read a shop and tell the reader's remarks on standard error."""
    from ductcalc.tables import read_shop

    context = click.get_current_context(silent=True)
    tuned = context.meta.get(TUNED) if context is not None and context.params.get("shop") == shop else None
    found = read_shop(shop, collector, tuned)
    for remark in found.remarks:
        say(f"remark: {remark}")
    return found


def read_log(shop: Path, log: Path | None, found: Shop) -> tuple[Reading, ...]:
    """Read the log of readings, the shop's own where none is named, and tell what had to be decided about it."""
    from ductcalc.tables.readings import readings_and_remarks

    own = (shop if shop.is_dir() else shop.parent) / FILE
    if log is None and not own.exists():
        raise click.UsageError(
            f"there are no readings: {spelled(str(own))} is not there\n"
            f"  hint: ductcalc expect SHOP --output {FILE} writes the form; or name another log with --readings"
        )
    readings, remarks = readings_and_remarks(log or own, found)
    for remark in remarks:
        say(f"remark: {remark}")
    return readings


def refuse_output(wishes: OutputOptions, *inputs: Path | None) -> None:
    """Refuse an output file that is there already (without --force), is a folder, or one of the shop's own tables."""
    path = wishes.output
    if path is None:
        return
    try:
        _refuse(path, wishes.force, [given for given in inputs if given])
    except OSError as error:
        raise _unwritable(path, error) from None


_TABLES = ("duct.csv", "collector.csv", "shop.toml")
TAKEN_HINT = "delete or rename it, or name another place with --to"
TAKEN = "choose another name, or add --force to replace it"


def _refuse(path: Path, force: bool, inputs: Sequence[Path]) -> None:
    if path.is_dir():
        raise Refused(path, "this is a folder", "name a file in it")
    if not path.parent.is_dir():
        raise Refused(path, "its folder is not there", "make the folder first, or choose another one")
    own = [file for given in inputs for file in (given, *(given / name for name in (*_TABLES, FILE)))]
    if any(file.exists() and path.exists() and file.samefile(path) for file in own) or (
        path.name.casefold() in _TABLES and any(one.is_dir() and path.parent.samefile(one) for one in inputs)
    ):
        raise Refused(path, "this is one of the shop's own tables", "choose another file")
    if os.path.lexists(path) and not force:
        raise Refused(path, "this file is there already", TAKEN)


def deliver(wishes: OutputOptions, reports: Reports, width: int | None = None) -> None:
    """Make the answer in the form wished for and put it where it is wanted; width: of its text, wherever it goes."""
    made = _made(wishes, reports, width)
    if wishes.output is None:
        write_out(str(made))
    else:
        _write(wishes.output, made, wishes.force)
        say(f"wrote {spelled(str(wishes.output))}")


def _made(wishes: OutputOptions, reports: Reports, width: int | None) -> str | bytes:
    if wishes.format == "csv":
        return reports.csv()
    if wishes.format == "xlsx":
        return _workbook(reports.csv())
    if wishes.format == "html" and reports.html is not None:
        return reports.html()
    if wishes.format in ("svg", "png") and reports.picture is not None:
        from ductcalc.report.draw.picture import svg_text

        svg = svg_text(reports.picture())
        return svg if wishes.format == "svg" else _png(svg)
    if wishes.format == "json":
        from ductcalc.report.json_text import json_text

        return json_text(reports.json())
    from ductcalc.report.render import rendered

    return rendered(reports.text(), _page(wishes, width))


def _workbook(text: str) -> bytes:
    from ductcalc.report.workbook import workbook

    try:
        return workbook(text, click.get_current_context().info_name or "ductcalc")
    except ImportError:
        raise click.UsageError(lacking("an .xlsx workbook", "openpyxl", "xlsx")) from None


def _png(svg: str) -> bytes:
    """Paint an SVG picture as pixels, twice as fine as its own units."""
    try:
        from cairosvg import svg2png
    except (ImportError, OSError):
        raise click.UsageError(lacking("a .png picture", "cairosvg", "png")) from None
    return bytes(svg2png(bytestring=svg.encode(), scale=2.0))


def lacking(what: str, library: str, extra: str) -> str:
    """Say what an optional library is needed for, and the command that installs it."""
    return f'{what} needs {library}\n  hint: pip install "ductcalc[{extra}]"'


def paper_width() -> int:
    """Return how wide a text is that will be hung on a wall: as the terminal, or as COLUMNS says, else 80."""
    return _terminal_width()


def _terminal_width() -> int:
    """Return the columns of the terminal, those of paper where it does not tell."""
    import shutil

    return max(shutil.get_terminal_size((PAPER, 24)).columns, NARROWEST)


def _page(wishes: OutputOptions, width: int | None) -> Page:
    """Return the page: as wide as was wished for, else as a terminal, or as wide as what goes to a pipe or file."""
    from ductcalc.report.flow import encoding_or_ascii
    from ductcalc.report.render import Page

    if wishes.output is not None:
        return Page(width or PIPE, "utf-8", wishes.colour == "always")
    terminal = sys.stdout.isatty()
    if width is None:
        width = _terminal_width() if terminal else PIPE
    return Page(width, encoding_or_ascii(sys.stdout.encoding), _coloured(wishes.colour, terminal))


def _coloured(wish: str, terminal: bool) -> bool:
    if wish != "auto":
        return wish == "always"
    return terminal and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _write(path: Path, made: str | bytes, force: bool) -> None:
    """Write a file whole or not at all."""
    from ductcalc.tables.writing import write_whole

    try:
        write_whole(path, made if isinstance(made, bytes) else made.encode("utf-8", "backslashreplace"), force)
    except FileExistsError:
        raise Refused(path, "this file is there already", TAKEN) from None
    except OSError as error:
        raise _unwritable(path, error) from None


def _unwritable(path: Path, error: OSError) -> Refused:
    reason = (error.strerror or "unwritable").casefold()
    hint = "choose a place that you may write to; nothing was written"
    return Refused(path, f"the file cannot be written: {reason}", hint)
