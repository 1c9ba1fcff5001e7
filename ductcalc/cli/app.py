"""The command `ductcalc`, and what becomes of every error that a person can cause."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from io import StringIO

import click

from ductcalc import __version__
from ductcalc.cli import INTERRUPTED
from ductcalc.cli.say import nobody_reads, say, told
from ductcalc.errors import DuctcalcError, InputError
from ductcalc.units.wording import quoted, spelled

COMMANDS = (
    "start",
    "tree",
    "draw",
    "need",
    "check",
    "losses",
    "chart",
    "gates",
    "card",
    "improve",
    "size",
    "compare",
    "parts",
    "expect",
    "tune",
    "diagnose",
    "page",
    "tables",
)
WRONG, NO_ANSWER = 2, 3
OBJECTS_BEFORE_CLEANING = 50_000
EPILOG = """\
\b
Exit codes:
  0  everything asked for is served and nothing settles
  1  computed; something is short or settles
  2  the input or the command is wrong; nothing was computed
  3  a case asked for has no answer

\b
Example:
  ductcalc start my-shop
  ductcalc check my-shop
"""


class InOrder(click.Group):
    """A group whose help lists the commands in the order of the job, and which loads only the one that is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of the moments of the job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command from the file that bears its name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = getattr(import_module(f"ductcalc.cli.{cmd_name}"), f"{cmd_name}_command")
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; one that is not known gets the nearest one as a hint."""
        if args and not args[0].startswith("-") and args[0] not in COMMANDS:
            from difflib import get_close_matches

            if os.path.exists(args[0]):
                check = f"ductcalc check {quoted(args[0]) if ' ' in args[0] else args[0]}"
                raise click.UsageError(f"{quoted(args[0])} is a shop, not a command\n  hint: {check}", ctx)
            near = get_close_matches(args[0], COMMANDS)
            hint = f"did you mean {near[0]}?" if near else f"commands: {', '.join(COMMANDS)}"
            raise click.UsageError(f"no command is named {quoted(args[0])}\n  hint: {hint}", ctx)
        return super().resolve_command(ctx, args)


@click.group(
    cls=InOrder,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"]},
    invoke_without_command=True,
)
@click.version_option(__version__, message="ductcalc %(version)s")
@click.pass_context
def ductcalc(context: click.Context) -> None:
    """Real air flow and pressure loss in every branch of a small shop's dust duct.

    SHOP is a folder with duct.csv, collector.csv and shop.toml, or a duct table alone.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command and leave with its exit code.

    Memory is searched for rings of objects less often than usual: a short command makes none worth the time.
    """
    gc.set_threshold(OBJECTS_BEFORE_CLEANING)
    code = run(arguments)
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError, AttributeError):
            stream.flush()
    # all is written and closed by now; taking every loaded module apart would cost more than many an answer
    os._exit(code)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code; every error that a person can cause becomes a message."""
    if sys.stdout is None:
        sys.stdout = StringIO()
    try:
        code = ductcalc.main(None if arguments is None else list(arguments), "ductcalc", standalone_mode=False)
        sys.stdout.flush()
    except click.ClickException as error:
        return _said(_shown(error), error.exit_code)
    except InputError as error:
        return _said(told(error), WRONG)
    except DuctcalcError as error:
        return _said(str(error), NO_ANSWER)
    except (click.Abort, KeyboardInterrupt):
        return _said("interrupted", INTERRUPTED)
    except (BrokenPipeError, SystemExit):
        # click leaves by SystemExit when the reader of a help page or of a few words has gone
        nobody_reads()
        return 0
    except OSError as error:
        return _unwritable(error)
    except (RecursionError, MemoryError):
        return _said("the shop is too large for this computer\n  hint: read it in parts", WRONG)
    return int(code or 0)


def _unwritable(error: OSError) -> int:
    """Say that standard output takes no more, as on a full disk; nothing more is written."""
    nobody_reads()
    reason = (error.strerror or "unwritable").casefold()
    return _said(f"the answer cannot be written: {reason}\n  hint: make room, or write it elsewhere", WRONG)


def _shown(error: click.ClickException) -> str:
    """Return what click says of a wrong command, with what was typed spelled out; the line ends are ours."""
    said = "\n".join(map(spelled, error.format_message().split("\n")))
    if not isinstance(error, click.UsageError) or error.ctx is None:
        return said
    context = error.ctx
    return f"{context.get_usage()}\nTry '{context.command_path} --help' for help.\n\nError: {said}"


def _said(text: str, code: int) -> int:
    say(text)
    return code
