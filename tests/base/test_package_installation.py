"""What is missing is installed for an administrator and told to others in one line."""

import io
from collections.abc import Sequence
from dataclasses import replace

import pytest

from kiosk.base import package_installation, system_packages
from kiosk.base.package_installation import Call, prepared
from kiosk.base.set_up_progress import Progress
from kiosk.base.system_packages import SYSTEM_PACKAGES

DEMO, START, TESTS = Call("kiosk", ["demo", "--seed", "7"]), Call("kiosk", []), Call("pytest", ["-q"])


class Recorded:
    """Stands for the shell: keeps the commands, and says what apt says."""

    def __init__(self, *lines: str) -> None:
        self.commands: list[list[str]] = []
        self._lines = lines

    def __call__(self, commands: Sequence[Sequence[str]], hear: object = None, watch: object = None) -> None:
        self.commands.extend(map(list, commands))
        for line in self._lines:
            assert callable(hear)
            hear(line)


@pytest.fixture
def lacks(monkeypatch: pytest.MonkeyPatch) -> object:
    """A machine without some of the packages."""

    def without(*names: str) -> None:
        machine = tuple(
            replace(one, is_there=lambda name=one.name: name not in names)  # type: ignore[misc]
            for one in SYSTEM_PACKAGES
        )
        monkeypatch.setattr(system_packages, "SYSTEM_PACKAGES", machine)

    return without


def went_on(call: Call, ready: bool = True, administrator: bool = False) -> tuple[list[str], Recorded, str]:
    recorded, said = Recorded(), io.StringIO()
    arguments = prepared(call, ready, administrator, recorded, Progress(said))
    return arguments, recorded, said.getvalue()


def test_with_nothing_missing_the_arguments_go_on_unchanged(lacks) -> None:
    lacks()
    assert went_on(DEMO, ready=False)[0] == ["demo", "--seed", "7"]


@pytest.mark.parametrize("call", [DEMO, START, TESTS])
def test_without_the_means_to_set_up_it_ends_with_3_and_one_line(call, lacks, capsys) -> None:
    lacks("python3-venv", "libfribidi0")
    with pytest.raises(SystemExit) as ended:
        went_on(call, ready=False)
    assert ended.value.code == 3
    told = capsys.readouterr().err
    line = "apt-get update && apt-get install -y --no-install-recommends python3-venv libfribidi0"
    assert told == f"System packages are missing. Run once as an administrator: {line}\n"


def test_a_ready_environment_needs_nothing_to_be_made(lacks) -> None:
    lacks("python3-venv")
    assert went_on(DEMO)[0] == ["demo", "--seed", "7"]


@pytest.mark.parametrize("name", ["libgl1", "libegl1", "libfribidi0"])
def test_without_what_draws_a_window_start_ends_and_the_demo_goes_on_unseen(name, lacks) -> None:
    lacks(name)
    with pytest.raises(SystemExit) as ended:
        went_on(START)
    assert ended.value.code == 3
    arguments, _, said = went_on(DEMO)
    assert arguments == ["demo", "--seed", "7", "--no-window"]
    assert said.startswith("Going on without a window.") and name in said
    assert went_on(Call("kiosk", ["demo", "--no-window"]))[2] == ""


def test_a_kiosk_goes_on_without_what_it_can_do_without_and_says_so(lacks) -> None:
    lacks("libasound2", "cups-client")
    arguments, _, said = went_on(START)
    assert arguments == []
    assert "libasound2 (spoken instructions and tones), cups-client (printing on paper (lp))" in said
    with pytest.raises(SystemExit):
        went_on(TESTS)


def test_a_command_that_draws_nothing_asks_for_nothing(lacks) -> None:
    lacks("libgl1", "libxi6", "poppler-utils")
    assert went_on(Call("kiosk", ["norms", "check", "demo_norms"]))[0] == ["norms", "check", "demo_norms"]


def test_an_administrator_gets_what_is_missing_and_nothing_else(lacks) -> None:
    lacks("libfribidi0", "poppler-utils", "xvfb")
    arguments, recorded, said = went_on(TESTS, administrator=True)
    assert arguments == ["-q"]
    assert [command[0] for command in recorded.commands] == ["dpkg", "sh"]
    update, install = recorded.commands[1][-1].split(" && ")
    assert update.endswith(" update")
    assert install.endswith(" install -y --no-install-recommends libfribidi0 poppler-utils xvfb")
    assert "Installing poppler-utils: a look at pages.\n" in said


def test_how_far_apt_is_is_told_by_name_size_and_time_left() -> None:
    out, at_s = io.StringIO(), iter(range(0, 1000, 20))
    recorded = Recorded(
        "Need to get 45.3 MB of archives.",
        "dlstatus:1:20.5:Retrieving file 3 of 10 (12s remaining)",
        "pmstatus:xvfb:61.2:Unpacking xvfb (amd64)",
    )
    progress = Progress(out, lambda: next(at_s))
    package_installation.install([system_packages.package("xvfb")], recorded, progress)
    assert "System packages (45.3 MB): 20 %, Retrieving file 3 of 10 (12s remaining)\n" in out.getvalue()
    assert "System packages (45.3 MB): 61 %, Unpacking xvfb (amd64)\n" in out.getvalue()
