"""`python3 kiosk` and `python3 tests` on a machine that has nothing yet: check it, set it up, go on in it.

With the standard library only. The few sentences of set-up are English only: the catalogues can be read no
earlier than the environment is. Python 3.6 can read this module, so that one that is too old is told so; what
it leads to is imported after that.
"""

import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from types import FrameType

from kiosk.base.supported_machine import Machine, refuse_what_the_wheels_do_not_run_on

ROOT = Path(__file__).resolve().parents[2]
INTERRUPTED, ENDED = 130, 143  # exit codes after Ctrl-C and after SIGTERM
GOES_ON = "What has been fetched stays: the same command goes on from there."


def enter(module: str, arguments: "Sequence[str]", layers: "Sequence[str]") -> None:
    """Become `python -P -m module arguments` in a ready environment; return at once in a wheel."""
    if not (ROOT / "pyproject.toml").is_file():
        return
    refuse_what_the_wheels_do_not_run_on(Machine.here())
    signal.signal(signal.SIGTERM, _end)
    try:
        command = prepared_command(module, arguments, layers)
    except KeyboardInterrupt:
        print(f"\rStopped. {GOES_ON}", file=sys.stderr)
        raise SystemExit(INTERRUPTED) from None
    become(command)


def prepared_command(module: str, arguments: "Sequence[str]", layers: "Sequence[str]") -> "list[str]":
    """The command to become, once the system's packages and the environment are there."""
    from kiosk.base.environment import environment_folder, is_ready, python_of, set_up_alone
    from kiosk.base.package_installation import Call, is_administrator, prepared
    from kiosk.base.set_up_commands import CommandRunner
    from kiosk.base.set_up_progress import Progress

    environment = environment_folder(ROOT, layers)
    ready, progress = is_ready(environment, ROOT, layers), Progress()
    call = Call(module, arguments)
    arguments = prepared(call, ready, is_administrator(), CommandRunner(), progress)
    if not ready:
        set_up_alone(environment, ROOT, layers, progress)
    return [str(python_of(environment)), "-P", "-m", module, *arguments]


def become(command: "list[str]") -> None:
    """Run a command in place of this one."""
    sys.stdout.flush()
    if os.name == "nt":
        raise SystemExit(subprocess.run(command).returncode)
    os.execv(command[0], command)


def _end(_number: int, _frame: "FrameType | None") -> None:
    """SIGTERM: what runs is ended on the way out."""
    print(f"Ended. {GOES_ON}", file=sys.stderr)
    raise SystemExit(ENDED)
