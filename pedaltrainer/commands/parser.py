"""What every command's parser is made of: its help, its one-sentence errors, the commands below it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import Any

from pedaltrainer.commands import COMMANDS, load
from pedaltrainer.system.terminal import put


class Help(argparse.RawDescriptionHelpFormatter):
    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=32, width=100)


def in_utf8(word: str) -> str:
    """A word that is text: what a terminal sends that is not UTF-8 comes as half of a character."""
    try:
        word.encode()
    except UnicodeEncodeError:
        raise argparse.ArgumentTypeError(f"“{word}” will not do; write it in UTF-8.") from None
    return word


class Parser(argparse.ArgumentParser):
    """Says what is off in one sentence; where the help is comes after it.

    builder: the function that adds its options, as the table has it; called at the first reading.
    branches: parsers that take over when the first word is their name, so that a command with commands of its
    own can also be given without one.
    """

    def __init__(self, *, prog: str, builder: str = "", **options: str) -> None:
        super().__init__(prog=prog, formatter_class=Help, **options)  # type: ignore[arg-type]
        # Colours would be made with what steers a terminal (from Python 3.14 on).
        self.color = False
        self.builder, self._is_built = builder, False
        self.branches: dict[str, Parser] = {}

    def add_argument(self, *names: Any, **options: Any) -> argparse.Action:
        """As argparse adds it; words of no other type are text."""
        return super().add_argument(*names, **({} if "action" in options else {"type": in_utf8}) | options)

    def runs(self, command: Callable[[argparse.Namespace], int], more: str = "") -> None:
        """Let `command` carry out what was read and answer with the exit code. more: told in its help."""
        self.set_defaults(command=command)
        self.description = more or self.description

    def parse_known_args(  # type: ignore[override]
        self, args: Sequence[str] | None = None, namespace: argparse.Namespace | None = None
    ) -> tuple[argparse.Namespace, list[str]]:
        if not self._is_built:
            self._is_built = True
            if self.builder:
                load(self.builder)(self)
            self._add_commands()
        if args and args[0] in self.branches:
            return self.branches[args[0]].parse_known_args(args[1:], namespace)
        return super().parse_known_args(args, namespace)

    def _add_commands(self) -> None:
        """Add the commands that the table has below this one: in its place, or beside it where it runs."""
        below = [row for row in COMMANDS if row[0].split()[:-1] == self.prog.split()[1:]]
        if self.get_default("command") is not None:
            for name, summary, builder in below:
                branch = Parser(prog=f"pedaltrainer {name}", description=summary, builder=builder)
                self.branches[name.split()[-1]] = branch
                self.epilog = f"{self.epilog or 'also:'}\n  {branch.prog:<28}{summary}"
        elif below:
            parsers = self.add_subparsers(title="commands", metavar="COMMAND", required=True)
            for name, summary, builder in below:
                parsers.add_parser(name.split()[-1], help=summary, description=summary, builder=builder)

    def _print_message(self, message: str, file: object = None) -> None:
        """All that argparse prints goes this way: help, the version, and what is off in the words."""
        if message:
            put(message, to_stderr=file is not sys.stdout, end="")

    def error(self, message: str) -> None:  # type: ignore[override]
        sentence = message if message.endswith(".") else message + "."
        self.exit(2, f"{self.prog}: {sentence} See {self.prog} --help.\n")
