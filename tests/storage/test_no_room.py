"""A full disk and a store that turned read only in mid-visit: told in a sentence, nothing earlier lost."""

import os
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.base.system_packages import program
from kiosk.demo.simulated_visits import VirtualClock, demo_person
from kiosk.i18n.language import load_language
from kiosk.storage.engine import open_file
from kiosk.storage.ids import IdSource
from kiosk.storage.integrity import check_integrity
from kiosk.storage.journal import StoreJournal
from kiosk.storage.store import Store
from kiosk.wording.reasons import sentence
from tests.needed_packages import need
from tests.simulated_visit import SimulatedVisit, context_on, person_arriving
from tests.storage.examples import KEYS


class Visiting:
    """A visit on an encrypted file; after so many trials kept, `happens` is called; trouble is noted."""

    def __init__(self, path: Path, after: int, happens, heals) -> None:
        self.clock = VirtualClock()
        self.new_id = IdSource(self.clock.now_utc, np.random.default_rng(4))
        self.engine = open_file(path, KEYS)
        self.store = Store(self.engine, now=self.clock.now_utc, new_id=self.new_id, kiosk_id="04",
                           audit_key=KEYS.audit)
        self.journal = StoreJournal(self.store.ledger)
        self.after, self.happens, self.heals, self.told = after, happens, heals, []

    def run(self) -> None:
        context = context_on(self.store, self.clock, self.new_id, self.journal)
        person = demo_person(self.new_id)
        context.furnish(person)
        simulated = person_arriving(4, context)
        self.visit = context.begin(person, "training")
        sitting = SimulatedVisit(context, self.clock, self.visit)
        self.runner, sitting.stage.draw = sitting.runner, self.each_frame
        sitting.sit(simulated)
        self.journal.end()

    def each_frame(self) -> None:
        """Between two frames: let the trouble begin, and end 40 frames (2 s) after it was told."""
        if len(self.runner.scored) == self.after and self.happens is not None:
            self.happens(self)
            self.happens = None
        if self.runner.trouble is not None:
            self.told.append(self.runner.trouble)
            if len(self.told) == 40:
                self.heals(self)


def pages(visiting: Visiting, limit: str) -> None:
    """Every connection may use so many pages more."""
    engine, connections = visiting.engine, []
    for _ in range(3):
        connections.append(engine.connect())
    for connection in connections:
        driver = connection.connection.driver_connection
        driver.execute(f"PRAGMA max_page_count={limit}")
        connection.close()


def fill_up(visiting: Visiting) -> None:
    pages(visiting, str(visiting.engine.connect().exec_driver_sql("PRAGMA page_count").scalar_one()))


def make_room(visiting: Visiting) -> None:
    pages(visiting, "1073741823")


def only_read(on: str):
    def turn(visiting: Visiting) -> None:
        connections = [visiting.engine.connect() for _ in range(3)]
        for connection in connections:
            connection.connection.driver_connection.execute(f"PRAGMA query_only={on}")
            connection.close()
    return turn


@pytest.mark.parametrize(("happens", "heals", "code"), [
    (fill_up, make_room, "store_full"), (only_read("on"), only_read("off"), "store_read_only")])
def test_a_visit_waits_while_a_trial_cannot_be_kept_and_goes_on_when_it_can(tmp_path, happens, heals, code):
    visiting = Visiting(tmp_path / "kiosk.store", 3, happens, heals)
    visiting.run()
    assert {one.code for one in visiting.told} == {code} and len(visiting.told) >= 40
    told = sentence(code, visiting.told[0].values, load_language("en"))
    assert told.endswith(".") and "SQL" not in told
    trials = visiting.store.trials_of(visiting.visit.id)
    assert [trial.position for trial in trials] == list(range(1, 12))
    assert {trial.record.facts.outcome for trial in trials} == {"complete"}
    visiting.store.close()
    assert check_integrity(tmp_path / "kiosk.store", KEYS, "04").fault is None


@pytest.fixture
def small_disk():
    folder = Path(tempfile.mkdtemp())
    mounted = os.geteuid() == 0 and subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=12m", "tmpfs", str(folder)], capture_output=True).returncode == 0
    if not mounted:
        folder.rmdir()
        pytest.skip("a small disk cannot be mounted here")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=False)
    folder.rmdir()


def test_on_a_disk_that_fills_up_everything_kept_before_stays(small_disk):
    path, ballast = small_disk / "kiosk.store", small_disk / "ballast"

    def fill(visiting: Visiting) -> None:
        with ballast.open("wb", buffering=0) as file:
            try:
                while True:
                    file.write(b"\0" * 4096)
            except OSError:
                return

    visiting = Visiting(path, 2, fill, lambda _: ballast.unlink())
    try:
        visiting.run()
    finally:
        visiting.store.close()
    assert {one.code for one in visiting.told} == {"store_full"}
    assert sentence("store_full", visiting.told[0].values, load_language("en")) == (
        "The disk is full, so nothing new is kept. What was kept is safe. Make room, then go on.")
    ballast.unlink(missing_ok=True)
    assert check_integrity(path, KEYS, "04").fault is None
    again = open_file(path, KEYS)
    with again.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM trial").scalar_one() == 11


@pytest.fixture
def failing_disk(tmp_path):
    """A disk of its own, mounted; skipped where that is not allowed."""
    need("e2fsprogs")
    disk = Disk(tmp_path)
    if not disk.mounted:
        pytest.skip("a disk that fails cannot be mounted here")
    yield disk
    disk.unmount()


class Disk:
    """An ext4 file system in a file; after an error the system lets nobody write to it."""

    def __init__(self, folder: Path) -> None:
        self.image, self.folder = folder / "image", folder / "disk"
        self.folder.mkdir()
        with self.image.open("wb") as file:
            file.truncate(32 << 20)
        self.mounted = os.geteuid() == 0 and not _run(
            program("mkfs.ext4") or "", "-q", "-F", str(self.image)) and self.mount()

    def mount(self) -> bool:
        return not _run("mount", "-o", "loop,errors=remount-ro", str(self.image), str(self.folder))

    def unmount(self) -> None:
        _run("umount", "-l", str(self.folder))

    def fails(self) -> None:
        device = next(line.split()[0] for line in Path("/proc/mounts").read_text().splitlines()
                      if line.split()[1] == str(self.folder))
        Path("/sys/fs/ext4", Path(device).name, "trigger_fs_error").write_text("1")


def _run(*command: str) -> int:
    return subprocess.run(command, capture_output=True, timeout=30).returncode


def test_on_a_disk_that_the_system_made_read_only_it_is_told_and_everything_kept_before_stays(failing_disk):
    path = failing_disk.folder / "kiosk.store"

    def give_up(visiting: Visiting) -> None:
        raise KeyboardInterrupt

    visiting = Visiting(path, 3, lambda _: failing_disk.fails(), give_up)
    with pytest.raises(KeyboardInterrupt):
        visiting.run()
    visiting.journal.end()
    visiting.store.close()
    assert {one.code for one in visiting.told} == {"disk_in_trouble"} and len(visiting.told) == 40
    assert sentence("disk_in_trouble", visiting.told[0].values, load_language("en")) == (
        "The disk does not work as it should, so nothing new is kept. Call the site lead.")
    failing_disk.unmount()
    assert failing_disk.mount()
    assert check_integrity(path, KEYS, "04").fault is None
    again = open_file(path, KEYS)
    with again.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM trial").scalar_one() == 3
    again.dispose()


def test_what_can_never_be_kept_is_no_trouble_that_passes(tmp_path, monkeypatch):
    def refuse(self, trial):
        raise Refused("samples_not_from_raw", {"block": "steady", "trial": 1})

    monkeypatch.setattr(Store, "add_trial", refuse)
    visiting = Visiting(tmp_path / "kiosk.store", 99, None, None)
    with pytest.raises(Refused, match="samples_not_from_raw"):
        visiting.run()
    visiting.journal.end()
