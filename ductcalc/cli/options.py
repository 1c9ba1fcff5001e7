"""Options that the commands share, and what they ask for."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import click
from click.core import ParameterSource

from ductcalc.cli.complete import gate_sets, runs, several_machines

if TYPE_CHECKING:
    from ductcalc.cases.choices import Ask
    from ductcalc.report.short import Typed
    from ductcalc.shop import Shop
    from ductcalc.units.closed_list import UnitSystem

Command = TypeVar("Command", bound=Callable[..., Any])
NARROWEST = 20
"""Fewest characters in a line that a page is laid out for."""

JUNCTIONS = ("momentum", "handbook", "factored")
TUNED = "ductcalc.tuned"
_SHARED = ("collector", "collectors", "changes", "units", "junction")
"""Options that every command takes: they go along to the next one."""

_NOT_AGAIN = ("full", "format", "output", "force", "colour", "color", "all_findings", "strict", "cut", "target")
EXIT_CODES = """\
\b
Exit codes: 0 served and nothing settles, 1 something is short or settles,
2 input or command wrong, 3 a case asked for has no answer.
"""


class OutputOptions(NamedTuple):
    """How a person wants the answer: units (None: the shop's), format, file, overwriting, colour, the whole report."""

    units: UnitSystem | None
    format: str
    output: Path | None
    force: bool
    colour: str
    full: bool

    @classmethod
    def of(cls, options: dict[str, Any], *endings: str) -> OutputOptions:
        """Return the wishes among a command's options; endings: of files that only this command writes."""
        return cls(
            options["units"],
            _format_of(options["format"], options["output"], endings),
            options["output"],
            options["force"],
            options["color"] or options["colour"],
            options["full"],
        )

    def system(self, shop: Shop) -> UnitSystem:
        """Return the units to show: those wished for, those of the settings, those of the first size."""
        return self.units or shop.settings.units or shop.first_units


ENDINGS = {".txt": "text", ".json": "json", ".csv": "csv", ".xlsx": "xlsx"}
PICTURES = (".svg", ".png")


def _format_of(wished: str | None, output: Path | None, more: Sequence[str]) -> str:
    """Return the format: what was wished for, or what the output file's ending says; refuses other endings.

    A device needs no ending, and a folder is refused for what it is.
    """
    if output is None or (os.path.exists(output) and not os.path.isfile(output)):
        return wished or "text"
    ending, known = output.suffix.casefold(), ENDINGS | {one: one[1:] for one in more}
    if ending not in known:
        raise click.UsageError(
            f"--output {output}: no such report is written in that form\n  hint: end the name in {', '.join(known)}"
        )
    if wished is not None and wished != known[ending]:
        raise click.UsageError(f"--format {wished} and --output {output} ask for two forms\n  hint: leave --format out")
    return known[ending]


def epilog(example: str, exit_codes: str = EXIT_CODES) -> str:
    """Return the end of a command's help: its exit codes, and an example as the last line."""
    return f"{exit_codes}\n\b\nExample:\n  {example}\n"


def report_options(command: Command) -> Command:
    """Add the options that every report takes."""
    for option in reversed(_REPORT_OPTIONS):
        command = option(command)
    return command


def _keep_tuned(context: click.Context, _: click.Parameter, value: Path | None) -> None:
    """Keep the file for whoever reads the shop: no command needs to know of it."""
    if value is not None:
        context.meta[TUNED] = value


def page_options(command: Command) -> Command:
    """Add the options of what is always one file."""
    command = click.option(
        "--output", type=click.Path(path_type=Path), required=True, help="Write to this file, which ends in .html."
    )(command)
    for option in (_UNITS, _FORCE, _JUNCTION):
        command = option(command)
    return command


def shop_options(command: Command) -> Command:
    """Add the shop, the collector's table and what readings made of its numbers."""
    command = click.option(
        "--tuned",
        type=click.Path(path_type=Path),
        callback=_keep_tuned,
        expose_value=False,
        help="Numbers fitted by ductcalc tune; else tuned.toml in the shop's folder.",
    )(command)
    command = click.option(
        "--collector", type=click.Path(path_type=Path), help="A collector table, when SHOP is a duct table alone."
    )(command)
    return click.argument("shop", type=click.Path(path_type=Path))(command)


def changing_option(command: Command) -> Command:
    """Add the what-if."""
    return click.option(
        "--with",
        "changes",
        multiple=True,
        metavar='"RUN: PIECE N COLUMN = VALUE"',
        shell_complete=runs,
        help="What if this cell of the duct table were another? N counts the run's pieces of that kind.",
    )(command)


def typed() -> Typed:
    """Return how the program was started with the running command, for commands that are to be copied."""
    from ductcalc.report.short import Typed

    started, program = sys.argv[0], "ductcalc"
    name = Path(started).name
    if name == "__main__.py":
        program = "python -m ductcalc"
    elif name.startswith("ductcalc"):
        from shutil import which

        program = "ductcalc" if which(name) == started else started
    context = click.get_current_context()
    beside = [str(other) for other in context.params.get("others", ())]
    given = {
        option.name: list(_words(option.opts[-1], context.params[option.name]))
        for option in context.command.params
        if isinstance(option, click.Option)
        and option.name in context.params
        and context.get_parameter_source(option.name) is ParameterSource.COMMANDLINE
    }
    shared = [word for name, words in given.items() if name in _SHARED for word in words]
    if TUNED in context.meta:
        shared += ["--tuned", str(context.meta[TUNED])]
    own = [word for name, words in given.items() if name not in (*_SHARED, *_NOT_AGAIN) for word in words]
    return Typed(program, context.command.name or "", str(context.params["shop"]), (*beside, *shared), tuple(own))


def _words(option: str, value: object) -> Iterator[str]:
    """Yield an option as it is typed, once for each value."""
    for one in value if isinstance(value, tuple) else (value,):
        yield option
        if one is not True:
            yield str(one)


def finding_options(command: Command) -> Command:
    """Add what becomes of findings."""
    for option in reversed(_FINDING_OPTIONS):
        command = option(command)
    return command


def choosing_options(command: Command) -> Command:
    """Add the options that choose what is open."""
    for option in reversed(_CHOOSING_OPTIONS):
        command = option(command)
    return command


_UNITS = click.option(
    "--units", type=click.Choice(["inch", "metric"]), help="Units to show; else those of the shop."
)
_FORCE = click.option("--force", is_flag=True, help="Let --output replace a file.")
_JUNCTION = click.option("--junction", type=click.Choice(JUNCTIONS), help="The wye method; else as the shop says.")
_REPORT_OPTIONS = (
    _UNITS,
    click.option(
        "--format",
        type=click.Choice(["text", "json", "csv"]),
        help="text unless --output says otherwise. json is SI in full precision; csv has a line per item, an"
        " apostrophe before what looks like a formula.",
    ),
    click.option("--full", is_flag=True, help="The whole report, not its short form."),
    click.option("--output", type=click.Path(path_type=Path), help="Write to this file: .txt, .json, .csv or .xlsx."),
    _FORCE,
    _JUNCTION,
    click.option(
        "--colour",
        type=click.Choice(["auto", "always", "never"]),
        default="auto",
        show_default=True,
        help="Colour only repeats what the words say; NO_COLOR is heeded.",
    ),
    click.option("--color", type=click.Choice(["auto", "always", "never"]), hidden=True),
)
_FINDING_OPTIONS = (
    click.option("--all-findings", is_flag=True, help="Show every warning, not the worst three."),
    click.option("--strict", is_flag=True, help="Exit with 1 in place of 0 when there is any warning."),
)
_CHOOSING_OPTIONS = (
    click.option(
        "--open",
        "opened",
        multiple=True,
        metavar='"A, B"',
        shell_complete=several_machines,
        help="These machines open together, all others shut.",
    ),
    click.option("--all-open", is_flag=True, help="Every machine open."),
    click.option(
        "--all-but", metavar='"A, B"', shell_complete=several_machines, help="Every machine open but these."
    ),
    click.option(
        "--set",
        "sets",
        multiple=True,
        metavar="NAME",
        shell_complete=gate_sets,
        help="A gate set named in shop.toml.",
    ),
)


def asks_of(opened: Sequence[str], all_open: bool, all_but: str | None, sets: Sequence[str]) -> list[Ask] | None:
    """Return what is to be open, None without a choice; several ways of choosing at once are refused."""
    used = [bool(opened), all_open, all_but is not None, bool(sets)]
    if sum(used) > 1:
        raise click.UsageError("choose with one of --open, --all-open, --all-but and --set, not with several")
    if not any(used):
        return None
    from ductcalc.cases.choices import Ask

    if opened:
        return [Ask.machines(*_names(text, "--open")) for text in opened]
    if sets:
        return [Ask.gate_set(name) for name in sets]
    return [Ask.everything(but=_names(all_but, "--all-but") if all_but is not None else ())]


def _names(text: str, option: str) -> list[str]:
    """Split names at commas."""
    names = [name.strip() for name in text.split(",") if name.strip()]
    if not names:
        raise click.UsageError(f'{option} names no machine; write it as {option} "table saw, planer"')
    return names
