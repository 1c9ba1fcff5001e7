"""The fenced blocks of README and examples/README: how they are run, and how their output is written anew.

`python -m tests.docs.blocks` runs every block and puts its present output in.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from ductcalc.cli import deliver
from tests.typed import ROOT, typed

README, WALK = ROOT / "README.md", ROOT / "examples" / "README.md"
COLUMNS = 80
"""Characters in a line of the terminal that the blocks show."""
FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Block:
    """One fenced block: its language and text."""

    language: str
    text: str


def blocks(page: Path = README) -> list[Block]:
    """Return a page's blocks in order."""
    return [Block(language, text) for language, text in FENCE.findall(page.read_text("utf-8"))]


def console_output(command: str) -> str:
    """Run `$ ductcalc ...` in the project's folder and return what it prints."""
    words = shlex.split(command.removeprefix("$ "))
    assert words[0] == "ductcalc"
    with mock.patch.object(deliver, "PIPE", COLUMNS):
        return typed(*words[1:]).stdout


def python_output(text: str) -> str:
    """Run a Python block in the project's folder and return what it prints."""
    printed = io.StringIO()
    with contextlib.chdir(ROOT), contextlib.redirect_stdout(printed):
        exec(compile(text, "README.md", "exec"), {})
    return printed.getvalue()


def refreshed(page: Path) -> str:
    """Return a page with every console block's and Python block's present output."""
    last: list[str] = []

    def anew(match: re.Match[str]) -> str:
        language, text = match.groups()
        if language == "console":
            command = text.split("\n", 1)[0]
            return f"```console\n{command}\n{console_output(command)}```"
        if language == "python":
            last.append(text)
        if language == "text" and last:
            return f"```text\n{python_output(last.pop())}```"
        return match.group(0)

    return FENCE.sub(anew, page.read_text("utf-8"))


if __name__ == "__main__":
    for page in (README, WALK):
        page.write_text(refreshed(page), "utf-8")
