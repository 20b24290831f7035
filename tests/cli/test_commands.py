"""The table of commands: every row leads to a function, and `--help` loads nothing heavy."""

import inspect
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from kiosk.cli import commands
from kiosk.cli.main import command_parser
from kiosk.i18n.adaptation import ROLES as TRANSLATION_ROLES
from kiosk.storage.erasure import REASONS

ROOT = Path(__file__).resolve().parents[2]
ROWS = dict(commands.that_run())
# Whatever is not part of Python, but for the table itself and the facts of this machine.
MAY_BE_LOADED = {"kiosk", "kiosk.base", "kiosk.base.settings", "kiosk.cli", "kiosk.cli.commands",
                 "kiosk.cli.main", "kiosk.i18n", "kiosk.i18n.message", "kiosk.visits", "kiosk.visits.staff"}
LOADED = """
import sys
from kiosk.cli.main import command_parser
{}
print(*sorted(name for name in sys.modules if name.partition('.')[0] not in sys.stdlib_module_names))
"""


@pytest.mark.parametrize("row", ROWS.values(), ids=ROWS.keys())
def test_every_command_leads_to_a_function_of_the_command_line(row: commands.Command) -> None:
    module, _, name = row.run.partition(":")
    assert module.startswith("kiosk.cli.")
    function = getattr(import_module(module), name)
    assert list(inspect.signature(function).parameters) == ["chosen", "language"]


def test_every_command_is_there_once_with_its_help() -> None:
    assert len({command.name for command in commands.COMMANDS}) == len(commands.COMMANDS)
    assert all(command.help for command in commands.COMMANDS)
    listed = command_parser().format_help()
    assert all(f"    {command.name}" in listed for command in commands.COMMANDS)


def test_a_command_runs_or_has_commands_below_it() -> None:
    def rows(below: tuple[commands.Command, ...]) -> list[commands.Command]:
        return [row for command in below for row in (command, *rows(command.commands))]

    assert all(bool(row.run) != bool(row.commands) for row in rows(commands.COMMANDS))


def test_choices_that_the_table_repeats_are_those_of_the_code() -> None:
    assert commands.ERASURE_REASONS == REASONS
    assert commands.TRANSLATION_ROLES == TRANSLATION_ROLES


@pytest.mark.parametrize("asked", ["command_parser('').format_help()", "command_parser()"],
                         ids=["--help", "the arguments of every command"])
def test_help_and_arguments_load_python_alone(asked: str) -> None:
    ran = subprocess.run([sys.executable, "-P", "-c", LOADED.format(asked)], cwd=ROOT, capture_output=True,
                         text=True, check=True)
    loaded = {name for name in ran.stdout.split() if not name.startswith(("__", "_virtualenv", "_distutils"))}
    assert loaded - MAY_BE_LOADED == set()
