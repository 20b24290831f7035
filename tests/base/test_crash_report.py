"""What is said when an error of ours ends the kiosk: kind and places, never what a message holds."""

import resource
import subprocess
import sys
from pathlib import Path

import pytest

from kiosk.base.crash_report import report

ROOT = Path(__file__).parents[2]
SECRET = "Wilhelmina Quillfeather, 1954-05-17"
SPEAK = "from kiosk.base.crash_report import speak_of_places_only; speak_of_places_only()\n"
KEEP = "from kiosk.base.crash_report import keep_memory_off_the_disk; keep_memory_off_the_disk()\n"
FAIL = f"def fails():\n    person = {SECRET!r}\n    raise ValueError(person)\n"


def ran(program: str, folder: Path, *, core: bool = False) -> subprocess.CompletedProcess:
    """A program of its own in a folder; `core`: core files of any size are allowed."""
    _, most = resource.getrlimit(resource.RLIMIT_CORE)
    limit = (lambda: resource.setrlimit(resource.RLIMIT_CORE, (most, most))) if core else None
    (folder / "program.py").write_text(f"import sys\nsys.path.insert(0, {str(ROOT)!r})\n" + program)
    return subprocess.run([sys.executable, "program.py"], cwd=folder, capture_output=True, text=True,
                          timeout=30, preexec_fn=limit)


def test_an_error_is_told_by_its_places_and_its_kind():
    def fails():
        raise ValueError(SECRET)

    told = []
    try:
        fails()
    except ValueError as error:
        report(type(error), error.__traceback__, told.append)
    assert told[-1] == "ValueError" and told[-2].startswith("test_crash_report.py:")
    assert told[-2].endswith(" fails") and SECRET not in "".join(told)


@pytest.mark.parametrize("program", [
    "fails()\n",
    "from threading import Thread\none = Thread(target=fails)\none.start()\none.join()\n",
    "class Left:\n    def __del__(self):\n        fails()\none = Left()\ndel one\n",
])
def test_whatever_thread_it_happens_in(tmp_path, program):
    assert SECRET in ran(FAIL + program, tmp_path).stderr
    told = ran(SPEAK + FAIL + program, tmp_path).stderr
    assert "program.py:" in told and "ValueError" in told
    assert SECRET not in told and "Traceback" not in told


def test_no_core_file_of_a_kiosk_that_dies_by_a_signal(tmp_path):
    """Where core files lie beside the program, one is written without this, and holds what was in memory."""
    dies = f"import os\nheld = {SECRET!r}.upper()\nos.abort()\n"
    for name in ("kept", "not_kept"):
        (tmp_path / name).mkdir()
    assert ran(KEEP + dies, tmp_path / "kept", core=True).returncode < 0
    assert [path.name for path in (tmp_path / "kept").iterdir()] == ["program.py"]
    if Path("/proc/sys/kernel/core_pattern").read_text().strip() == "core":
        ran(dies, tmp_path / "not_kept", core=True)
        files = [path for path in (tmp_path / "not_kept").iterdir() if path.name.startswith("core")]
        assert not files or SECRET.upper().encode() in files[0].read_bytes()


def test_a_command_on_a_store_says_nothing_of_what_it_held_when_it_breaks(tmp_path):
    """`kiosk person due`, broken from inside; a command without a store tells its error as Python does."""
    breaks = ("import kiosk.cli.main, {module}\n" + FAIL + "{module}.{name} = lambda *_: fails()\n"
              "sys.argv[1:] = {words!r}\nsys.exit(kiosk.cli.main.main())\n")
    with_store = ["report", "7F-KD", "--store", "a.store"]
    told = ran(breaks.format(module="kiosk.cli.visits", name="report", words=with_store), tmp_path)
    assert told.returncode == 1 and "ValueError" in told.stderr and SECRET not in told.stderr
    checks = breaks.format(module="kiosk.cli.deployment", name="check", words=["check"])
    assert SECRET in ran(checks, tmp_path).stderr


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="prctl is Linux's")
def test_the_system_is_told_not_to_take_its_memory_either(tmp_path):
    asks = "import ctypes\nprint(ctypes.CDLL(None).prctl(3, 0, 0, 0, 0))\n"  # PR_GET_DUMPABLE
    assert ran(asks, tmp_path).stdout == "1\n"
    assert ran(KEEP + asks, tmp_path).stdout == "0\n"
