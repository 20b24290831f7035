"""The commands of set-up: side by side, heard as they speak, ended with what runs them, a failure told."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from kiosk.base.set_up_commands import AT_ONCE, CommandRunner
from tests.sources import ROOT


def python(code: str) -> list[str]:
    return [sys.executable, "-c", code]


def test_every_line_is_heard_and_the_last_one_too() -> None:
    heard: list[str] = []
    CommandRunner()([python("print('one'); print('two', end='')")], hear=heard.append)
    assert heard == ["one", "two"]


def test_some_run_side_by_side_and_no_more(tmp_path: Path) -> None:
    """Each waits until as many as may run are there; one more would wait in vain."""
    wait = ("import pathlib, sys, time; here = pathlib.Path(sys.argv[1]); (here / sys.argv[2]).touch()\n"
            f"while len(list(here.iterdir())) < {AT_ONCE}: time.sleep(.01)")  # fmt: skip
    CommandRunner()([[*python(wait), str(tmp_path), str(number)] for number in range(AT_ONCE)])
    assert len(list(tmp_path.iterdir())) == AT_ONCE


def test_the_first_that_fails_ends_the_others_and_is_told(tmp_path: Path) -> None:
    late = tmp_path / "late"
    slow = python(f"import time, pathlib; time.sleep(30); pathlib.Path({str(late)!r}).touch()")
    began_s = time.monotonic()
    with pytest.raises(SystemExit, match=r"Set-up did not finish\. .*: no such wheel"):
        CommandRunner()([slow, python("import sys; sys.exit('no such wheel')")])
    assert time.monotonic() - began_s < 20
    assert not late.exists()


def test_a_program_that_is_not_there_is_told() -> None:
    with pytest.raises(SystemExit, match=r"no-such-program does not start: No such file or directory\."):
        CommandRunner()([["no-such-program"]])


def test_the_caller_s_own_python_leads_no_command_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("PYTHONPATH", "PIP_TARGET", "PIP_USER"):
        monkeypatch.setenv(name, "elsewhere")
    heard: list[str] = []
    names = "import os; print(sorted(set(os.environ) & {'PYTHONPATH', 'PIP_TARGET', 'PIP_USER', 'MINE'}))"
    CommandRunner(beside={"MINE": "1"})([python(names)], hear=heard.append)
    assert heard == ["['MINE']"]


@pytest.mark.parametrize(("number", "code", "word"), [
    (signal.SIGINT, 130, "Stopped."),
    (signal.SIGTERM, 143, "Ended."),
])
def test_ctrl_c_and_the_end_of_a_machine_end_set_up_in_one_line(
    tmp_path: Path, number: int, code: int, word: str
) -> None:
    """A set-up in a process of its own, at work on a command that would take a minute."""
    child = tmp_path / "child"
    slow = (f"import os, pathlib, time\npathlib.Path({str(child)!r}).write_text(str(os.getpid()))\n"
            "time.sleep(60)")  # fmt: skip
    script = (
        "import sys\nfrom kiosk.base import bootstrap\nfrom kiosk.base.set_up_commands import CommandRunner\n"
        f"bootstrap.prepared_command = lambda *_: CommandRunner()([[sys.executable, '-c', {slow!r}]])\n"
        "bootstrap.enter('kiosk', [], ('kiosk',))\n"
    )
    process = subprocess.Popen([sys.executable, "-c", script], cwd=ROOT, stderr=subprocess.PIPE, text=True)
    while not child.exists() or not child.read_text():
        assert process.poll() is None
        time.sleep(0.02)
    process.send_signal(number)
    told = process.communicate(timeout=20)[1]
    assert process.returncode == code
    assert told.strip() == f"{word} What has been fetched stays: the same command goes on from there."
    with pytest.raises(ProcessLookupError):
        os.kill(int(child.read_text()), 0)
