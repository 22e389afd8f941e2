"""What every command's parser is made of: its help, its one-sentence errors, the options many share."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import Any


class Help(argparse.RawDescriptionHelpFormatter):
    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=32, width=100)


class Parser(argparse.ArgumentParser):
    """Says what is off in one sentence; where the help is comes after it.

    branches: parsers that take over when the first word is their name, so that a command with commands of its
    own can also be given without one.
    """

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.branches: dict[str, Parser] = {}

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        if args and args[0] in self.branches:
            return self.branches[args[0]].parse_known_args(args[1:], namespace)
        return super().parse_known_args(args, namespace)

    def error(self, message: str) -> None:  # type: ignore[override]
        sentence = message if message.endswith(".") else message + "."
        self.exit(2, f"{self.prog}: {sentence} See {self.prog} --help.\n")


class Commands:
    """The commands of one parser; each group of them adds its own."""

    def __init__(self, parser: argparse.ArgumentParser) -> None:
        self._parsers = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def add_group(self, name: str, summary: str, more: str = "") -> Commands:
        """A command that has commands of its own."""
        parser = self._parsers.add_parser(
            name, help=summary, description=more or summary, formatter_class=Help
        )
        return Commands(parser)

    def add(
        self, name: str, run: Callable[[argparse.Namespace], int], summary: str, more: str = ""
    ) -> argparse.ArgumentParser:
        """A command that `run` carries out and answers with the exit code; its options are to be added."""
        parser = self._parsers.add_parser(
            name, help=summary, description=more or summary, formatter_class=Help
        )
        parser.set_defaults(command=run)
        return parser


def add_branch(
    parser: argparse.ArgumentParser,
    name: str,
    run: Callable[[argparse.Namespace], int],
    summary: str,
    more: str = "",
) -> argparse.ArgumentParser:
    """A command of a command that is also one without it; its options are to be added."""
    assert isinstance(parser, Parser)
    branch = Parser(prog=f"{parser.prog} {name}", description=more or summary, formatter_class=Help)
    branch.set_defaults(command=run)
    parser.branches[name] = branch
    listed = parser.epilog or "also:"
    parser.epilog = f"{listed}\n  {branch.prog:<28}{summary}"
    return branch


def add_input(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--input", metavar="NAME", help="only the MIDI input whose name has NAME in it")


def add_data(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--data", type=Path, metavar="DIR", help="the folder of the log and the settings")


def add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON instead of words")


def add_data_and_json(parser: argparse.ArgumentParser) -> None:
    add_data(parser)
    add_json(parser)
