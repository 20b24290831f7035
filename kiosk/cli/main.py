"""The command line: the parser made from the table of commands, and the command that it finds.

Exit codes: 0 done, 1 refused with a reason, 2 wrong usage, 3 system packages missing, 130 stopped by Ctrl-C.
Errors are one plain sentence for each fault on standard error. Only what `--help` needs is imported before a
command is known.
"""

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

from kiosk.cli.commands import COMMANDS, Command
from kiosk.i18n.message import N_

DEFAULT = "start"
INTERRUPTED = 130  # Ctrl-C, as a shell tells it
WHAT_IT_DOES = N_("Follow a moving disc with a finger: record, score, compare.")
COMMAND = N_("COMMAND")


class UsageError(Exception):
    """Wrong usage: the command as it was typed, and what is wrong, as argparse says it."""

    def __init__(self, command: str, message: str) -> None:
        super().__init__(message)
        self.command, self.message = command, message


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise UsageError(self.prog, message)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; the exit code."""
    words = list(sys.argv[1:] if argv is None else argv) or [DEFAULT]
    try:
        chosen = parse(words)
    except UsageError as wrong:
        return _refuse_usage(wrong)
    return _run(chosen, own_process=argv is None)


def parse(words: Sequence[str]) -> argparse.Namespace:
    """The arguments of a command; `run` names what runs it. UsageError where they are wrong."""
    if words[0] in _PASSING_ON:
        return argparse.Namespace(run=_PASSING_ON[words[0]], rest=list(words[1:]))
    return command_parser(next((word for word in words if not word.startswith("-")), "")).parse_args(words)


def command_parser(wanted: str | None = None) -> argparse.ArgumentParser:
    """The parser of all commands, in English; the arguments of the wanted command only (None: of all)."""
    parser = _Parser(prog="kiosk", description=WHAT_IT_DOES.text)
    commands = parser.add_subparsers(metavar=COMMAND.text, parser_class=_Parser)
    for command in COMMANDS:
        below = commands.add_parser(command.name, help=command.help.text if command.help else None)
        if wanted in (None, command.name):
            _fill(below, command)
    return parser


def _fill(parser: argparse.ArgumentParser, command: Command) -> None:
    command.arguments(parser)
    if command.run:
        parser.set_defaults(run=command.run)
    if command.commands:
        below = parser.add_subparsers(required=True, metavar="|".join(one.name for one in command.commands))
        for one in command.commands:
            _fill(below.add_parser(one.name), one)


def _run(chosen: argparse.Namespace, *, own_process: bool) -> int:
    """The command that was found. A process of our own that opens a store says nothing of what it holds."""
    from kiosk.base.crash_report import say_and_leave_nothing
    from kiosk.base.errors import KioskError
    from kiosk.cli.refusals import print_refusal
    from kiosk.i18n.language import load_language

    language = load_language("en")
    try:
        if own_process and hasattr(chosen, "store"):
            say_and_leave_nothing()
        module, _, function = chosen.run.partition(":")
        return int(getattr(import_module(module), function)(chosen, language))
    except KioskError as refusal:
        print_refusal(refusal, language)
        return refusal.exit_code
    except BrokenPipeError:
        return 1
    except KeyboardInterrupt:
        if not own_process:
            raise
        print("\rStopped.", file=sys.stderr)
        return INTERRUPTED


def _refuse_usage(wrong: UsageError) -> int:
    from kiosk.base.errors import WrongUsage
    from kiosk.cli.refusals import print_refusal
    from kiosk.i18n.language import load_language

    refusal = WrongUsage("wrong_usage", {"command": wrong.command, "message": wrong.message})
    print_refusal(refusal, load_language("en"))
    return refusal.exit_code


_PASSING_ON = {command.name: command.run for command in COMMANDS if command.passes_on}
