"""Nothing of a person is written anywhere in plain: every byte a real visit leaves is searched for it.

Planted: names, code, birth date, a note of staff, the passphrase, six touches of a running trial, the page.
The search goes through store, log, journal, temporary files, print spool and the print server's own logs,
what the toolkit writes, and the kiosk's own output over an error in mid-visit, at every stop of the visit and
after. Only a page that staff saved and what they had exported may hold anything: `pages` and `export`.
"""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from kiosk.app.store_opening import Machine, key_file
from kiosk.app.supervisor import CRASHED, keep_running
from kiosk.storage.engine import connect_file
from tests.app.print_server import PrintServer
from tests.needed_packages import need
from tests.storage.examples import BEGINS
from tests.storage.search import (
    BIRTH,
    CODE,
    FAMILY,
    GIVEN,
    NOTE,
    WORDS,
    held_open,
    page,
    pieces,
    searched,
    touches,
    words,
)

ROOT = Path(__file__).parents[2]
STOPS = ["staff set-up", "in the middle of a trial", "page made", "printed", "not printed", "saved", "closed",
         "backup --to", "person export", "person erase"]


class Watched:
    """One kiosk with everything it may write to in one folder, searched whenever it stops."""

    def __init__(self, folder: Path, secret: Path, print_server: PrintServer) -> None:
        self.folder, self.secret = folder, secret
        self.wanted = words(FAMILY, GIVEN, CODE, BIRTH, NOTE, WORDS)
        self.found: dict[str, set[tuple[str, str]]] = {}
        self.told: dict[str, dict] = {}
        self.seen: dict[str, set[str]] = {}
        self.codes: list[int] = []
        for name in ("tmp", "home"):
            (folder / name).mkdir()
        toolkit = {name: os.environ[name] for name in os.environ if not name.startswith(("KIVY", "SDL"))}
        self.environment = toolkit | print_server.environment | {
            "HOME": str(folder / "home"), "TMPDIR": str(folder / "tmp"), "SDL_VIDEODRIVER": "offscreen",
            "XDG_DATA_HOME": str(folder / "home"), "PYTHONPATH": str(ROOT), "PYTHONFAULTHANDLER": "1"}

    def search(self, stop: str) -> None:
        self.seen[stop] = {str(path.relative_to(self.folder)) for path in self.folder.rglob("*")}
        self.found[stop] = searched(self.folder, self.wanted)

    def run(self) -> int:
        """The kiosk as its supervisor starts it, to its end; its exit code."""
        command = [sys.executable, "-m", "tests.storage.watched_visit", self.folder, self.secret]
        with (self.folder / "kiosk.log").open("ab") as log:
            with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=log,
                                  cwd=self.folder, env=self.environment, text=True) as kiosk:
                for line in kiosk.stdout:
                    self.take(kiosk.pid, json.loads(line))
                    kiosk.stdin.write("\n")
                    kiosk.stdin.flush()
                self.codes.append(kiosk.wait(60))
        self.search(f"ended with {self.codes[-1]}")
        return self.codes[-1]

    def take(self, pid: int, told: dict) -> None:
        stop = told.pop("stop")
        self.told[stop] = told
        for number, content in enumerate(told.get("kept", ())):
            self.wanted |= pieces(f"container {stop}.{number}", bytes.fromhex(content), 6)
        if "t_ns" in told:
            self.wanted |= touches(told)
        if "page" in told:
            self.wanted |= page(bytes.fromhex(told["page"]))
        self.search(stop)
        self.found[stop] |= held_open(pid, self.folder, self.wanted)


@contextmanager
def open_folder() -> Iterator[Path]:
    """A folder that the print server's own user may enter too."""
    with TemporaryDirectory() as name:
        os.chmod(name, 0o755)
        yield Path(name)


def open_print_server(folder: Path, preserve: str = "No") -> PrintServer:
    (folder / "cups").mkdir()
    return PrintServer(folder / "cups", preserve)


def plain_copy(store: Path, to: Path) -> Path:
    """The folder of a copy of a store that is not encrypted."""
    keys, _ = key_file(store, Machine(BEGINS.astimezone, None, None)).unlock("site", WORDS)
    opened = connect_file(store, keys)
    opened.execute(f"ATTACH '{to / 'plain.store'}' AS plain KEY ''")
    opened.execute("SELECT sqlcipher_export('plain')")
    opened.close()
    return to


@pytest.fixture(scope="module")
def watched(tmp_path_factory) -> Iterator[Watched]:
    """A visit that crashes in its third trial and goes on; its page printed, not printed, saved; exported."""
    need("cups", "cups-client")
    with open_folder() as folder, open_print_server(folder) as print_server:
        secret = tmp_path_factory.mktemp("secret") / "words"
        secret.write_text(WORDS)
        watched = Watched(folder, secret, print_server)
        assert keep_running(watched.run, time.monotonic) == 0
        yield watched


def test_the_visit_crashed_was_taken_up_and_ended_and_its_page_printed_once(watched):
    assert watched.codes == [CRASHED, 0]
    assert list(watched.told) == STOPS
    assert [told["code"] for told in watched.told.values() if "code" in told] == [0, 0, 0, 0]
    assert len(watched.told["page made"]["kept"]) == 12  # eleven, and the one that was interrupted
    assert watched.told["printed"]["outcome"] == "printed"
    assert "printer_did_not_answer" in watched.told["not printed"]["outcome"]


def test_no_file_but_a_saved_page_and_an_export_ever_held_a_word_a_sample_or_a_page(watched):
    allowed = ("pages/", "export/")
    told = {(stop, *one) for stop, found in watched.found.items() for one in found
            if not one[0].startswith(allowed)}
    assert told == set()


def test_the_log_tells_where_the_error_was_and_nothing_it_said(watched):
    log = (watched.folder / "kiosk.log").read_text()
    assert "watched_visit.py" in log and "crash_in_the_third_trial" in log and "RuntimeError" in log
    assert "Traceback" not in log


def test_everything_that_was_to_be_searched_was_there(watched):
    """The store's write-ahead log while it was open, the kiosk's log, the print server's; no job is left."""
    assert {"kiosk.store", "kiosk.store-wal", "kiosk.store-shm", "kiosk.log"} <= watched.seen[
        "in the middle of a trial"]
    assert len(watched.told["in the middle of a trial"]["kept"]) >= 8
    assert (watched.folder / "cups/access_log").stat().st_size > 0
    assert not [name for name in watched.seen["not printed"] if name.startswith("cups/spool/d")]
    assert len(watched.found) >= 12


def test_the_search_finds_all_of_it_in_a_store_that_is_not_encrypted(watched, tmp_path):
    backup = next(watched.folder.glob("backups/*/kiosk.store"))
    found = {what for _, what in searched(plain_copy(backup, tmp_path), watched.wanted)}
    assert {FAMILY, GIVEN, CODE, BIRTH, NOTE, "%PDF"} <= found and WORDS not in found
    kept = {what for what in watched.wanted if what.startswith(("page, ", "container page made"))}
    assert len(kept) > 80 and len(kept & found) > 0.9 * len(kept)  # a piece may lie across two of its pages


def test_the_search_finds_touches_and_words_in_what_was_exported(watched):
    exported = {what for name, what in watched.found["person export"] if name.startswith("export/")}
    assert {FAMILY, GIVEN, CODE, BIRTH, NOTE, "%PDF"} <= exported
    assert any(what.startswith("x_mm y_mm as") for what in exported)
    assert len({what for name, what in watched.found["saved"] if name.startswith("pages/")}) > 30


def test_the_search_finds_a_page_that_a_print_server_keeps(watched):
    pdf = bytes.fromhex(watched.told["page made"]["page"])
    with open_folder() as folder, open_print_server(folder, preserve="Yes") as server:
        subprocess.run(["lp", "-d", "desk"], input=pdf, env=os.environ | server.environment, check=True,
                       capture_output=True, timeout=20)
        found = searched(folder, page(pdf))
    assert len(found) > 30 and all(name.startswith("cups/spool/d") for name, _ in found)
