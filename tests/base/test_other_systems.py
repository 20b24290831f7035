"""What Windows and macOS do otherwise, as far as it can be had without them.

Windows has no fcntl, no process groups and no time zones of its own, names text files' bytes by a code page,
ends lines with CR LF, and reserves some file names. The toolkit and its windows are not tried here.
Recordings, reference tables and a site's own texts with lines that end in CR LF are tested with each of them.
"""

import ast
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path, PureWindowsPath

import pytest

from kiosk.i18n.catalogue_file import read_catalogue
from kiosk.storage import backup
from kiosk.wording.page_tag import ALPHABET
from tests.sources import ROOT, nodes, ours, source_tree

UNIX_ONLY_MODULES = ("fcntl", "grp", "pty", "pwd", "resource", "syslog", "termios", "tty")
UNIX_ONLY_NAMES = {
    "os": ("geteuid", "getuid", "fork", "killpg", "setsid", "sched_setscheduler", "SCHED_IDLE", "O_NONBLOCK",
           "mkfifo", "statvfs", "sync", "chown", "nice"),
    "signal": ("SIGKILL", "SIGHUP", "SIGALRM", "SIGPIPE", "SIGCHLD", "pthread_sigmask"),
}  # fmt: skip
# The standard library's own modules are loaded first: this Python's are those of this system.
WITHOUT_THEM = f"""
import importlib, multiprocessing, os, pkgutil, runpy, selectors, signal, socket, subprocess, sys, tempfile
class Missing:
    def find_spec(self, name, path=None, target=None):
        if name in {UNIX_ONLY_MODULES}:
            raise ModuleNotFoundError(name, name=name)
for name in {UNIX_ONLY_MODULES}:
    sys.modules.pop(name, None)
sys.meta_path.insert(0, Missing())
for module, names in {UNIX_ONLY_NAMES}.items():
    for name in names:
        if hasattr(sys.modules[module], name):
            delattr(sys.modules[module], name)
"""
EVERY_MODULE = """
import kiosk, norms
for package in (kiosk, norms):
    for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        if not found.name.startswith("kiosk.screens") and not found.name.endswith("__main__"):
            importlib.import_module(found.name)
print("all there")
"""
ONE_VISIT = """
from kiosk.cli.main import main
sys.exit(main(["demo", "--seed", "7", "--visits", "1", "--no-window", "--out", sys.argv[1]]))
"""
# Microsoft, "Naming Files, Paths, and Namespaces" (from memory).
RESERVED = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10))}
NOT_IN_A_NAME = set('<>:"/\\|?*') | set(map(chr, range(32)))


def ran(code: str, *arguments: str, options: tuple[str, ...] = (), **variables: str) -> str:
    done = subprocess.run(
        [sys.executable, *options, "-P", "-c", code, *arguments], cwd=ROOT, env=os.environ | variables,
        capture_output=True, text=True, encoding="utf-8",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def files(folder: Path) -> dict[str, bytes]:
    found = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def test_every_module_loads_without_what_unix_alone_has() -> None:
    assert ran(WITHOUT_THEM + EVERY_MODULE).strip() == "all there"


def test_a_demo_is_the_same_without_unix_in_the_c_locale_and_with_no_encoding_left_to_chance(
    tmp_path: Path,
) -> None:
    ran(WITHOUT_THEM + ONE_VISIT, str(tmp_path / "without"))
    c_locale = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    strict = ("-X", "warn_default_encoding", "-W", "error::EncodingWarning")
    ran("import sys" + ONE_VISIT, str(tmp_path / "plain"), options=strict, **c_locale)
    made = files(tmp_path / "without")
    assert made and made == files(tmp_path / "plain")


def test_every_text_file_and_process_is_read_with_its_encoding_named() -> None:
    tree = ours(source_tree())
    unnamed = [f"{path}:{call.lineno}" for path, call in nodes(tree, ast.Call) if _by_code_page(call)]
    assert unnamed == []


def _by_code_page(call: ast.Call) -> bool:
    """Whether a call reads or writes text as the system's code page has it."""
    called = ast.unparse(call.func).rpartition(".")[2]
    named = {keyword.arg for keyword in call.keywords}
    if called in ("read_text", "write_text"):
        return "encoding" not in named and len(call.args) < (1 if called == "read_text" else 2)
    if called in ("run", "Popen", "check_output"):
        return "text" in named and "encoding" not in named
    if ast.unparse(call.func) == "open":
        return "encoding" not in named and not any("b" in ast.unparse(one) for one in call.args[1:2])
    return False


@pytest.mark.parametrize(("call", "found"), [
    ("path.read_text()", True), ("path.read_text('utf-8')", False), ("path.write_text(told)", True),
    ("subprocess.run(asked, text=True)", True), ("subprocess.run(asked, text=True, encoding='utf-8')", False),
    ("open(path)", True), ("open(path, 'rb')", False),
])  # fmt: skip
def test_the_rule_of_encodings_catches_what_it_is_for(call: str, found: bool) -> None:
    (one,) = (node for node in ast.walk(ast.parse(call)) if isinstance(node, ast.Call))
    assert _by_code_page(one) is found


def test_no_page_tag_is_a_name_that_windows_reserves() -> None:
    """A page is saved as TAG.pdf or TAG-2.pdf; four characters of the alphabet."""
    assert not [name for name in RESERVED if len(name) == 4 and set(name) <= set(ALPHABET)]
    assert PureWindowsPath("COM1.pdf").name.partition(".")[0] in RESERVED


def test_a_backup_s_folder_bears_a_name_that_windows_takes() -> None:
    name = datetime(2026, 1, 12, 9, tzinfo=UTC).strftime(backup.NAME)
    assert not set(name) & NOT_IN_A_NAME and not name.endswith((".", " "))
    assert PureWindowsPath("C:/backups", name).parts[-1] == name


def test_every_file_of_the_project_bears_a_name_that_windows_takes() -> None:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
    names = [name for name in listed.decode("utf-8").split("\0") if name]
    assert len(names) > 500
    for name in names:
        for part in name.split("/"):
            assert not set(part) & NOT_IN_A_NAME and not part.endswith((".", " ")), name
            assert part.partition(".")[0].upper() not in RESERVED, name
    assert len({name.lower() for name in names}) == len(names)


def test_a_catalogue_with_lines_ended_by_cr_lf_says_the_same(tmp_path: Path) -> None:
    plain = ROOT / "locales" / "de" / "LC_MESSAGES" / "kiosk.po"
    windows = tmp_path / "kiosk.po"
    windows.write_bytes(plain.read_bytes().replace(b"\n", b"\r\n"))
    said = [[(one.context, one.id, one.string) for one in read_catalogue(path)] for path in (plain, windows)]
    assert len(said[0]) > 900 and said[0] == said[1]


def test_time_zones_come_with_the_program_where_the_system_has_none() -> None:
    """Nepal is 5 h 45 min ahead of UTC (IANA time zone database)."""
    code = (
        "import zoneinfo, datetime; assert zoneinfo.TZPATH == ();"
        "print(zoneinfo.ZoneInfo('Asia/Kathmandu').utcoffset(datetime.datetime(2026, 1, 12)))"
    )
    assert ran(code, PYTHONTZPATH="").strip() == "5:45:00"
