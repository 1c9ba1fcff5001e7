"""The command `ductcalc`, and what becomes of every error that a person can cause."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from ductcalc import __version__
from ductcalc.cli.card import card_command
from ductcalc.cli.check import check_command
from ductcalc.cli.gates import gates_command
from ductcalc.cli.losses import losses_command
from ductcalc.cli.start import start_command
from ductcalc.cli.tables import tables_command
from ductcalc.cli.tree import tree_command
from ductcalc.errors import DuctcalcError, InputError

WRONG, NO_ANSWER, INTERRUPTED = 2, 3, 130
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
    """A group whose help lists the commands in the order of the moments of the job."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order in which they were added."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; one that is not known gets the nearest one as a hint."""
        if args and not args[0].startswith("-") and args[0] not in self.commands:
            from difflib import get_close_matches

            near = get_close_matches(args[0], list(self.commands), n=1)
            hint = f"did you mean {near[0]}?" if near else f"commands: {', '.join(self.commands)}"
            raise click.UsageError(f'no command is named "{args[0]}"\n  hint: {hint}', ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=InOrder, epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="ductcalc %(version)s")
def ductcalc() -> None:
    """Real air flow and pressure loss in every branch of a small shop's dust duct.

    SHOP is a folder with duct.csv, collector.csv and shop.toml, or a duct table alone.
    """


for _command in (start_command, tree_command, check_command, losses_command, gates_command, card_command, tables_command):
    ductcalc.add_command(_command)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command and leave with its exit code."""
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code; every error that a person can cause becomes a message."""
    try:
        code = ductcalc.main(None if arguments is None else list(arguments), "ductcalc", standalone_mode=False)
        sys.stdout.flush()
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except InputError as error:
        return _said(str(error), WRONG)
    except DuctcalcError as error:
        return _said(str(error), NO_ANSWER)
    except (click.Abort, KeyboardInterrupt):
        return _said("interrupted", INTERRUPTED)
    except BrokenPipeError:
        from ductcalc.cli.deliver import nobody_reads

        nobody_reads()
        return 0
    except (RecursionError, MemoryError):
        return _said("the shop is too large for this computer\n  hint: read it in parts", WRONG)
    return int(code or 0)


def _said(text: str, code: int) -> int:
    click.echo(text, err=True)
    return code
