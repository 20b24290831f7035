"""Backups: made beside a running store, examined, sealed, rotated; a restore proves itself on a copy."""

import json
import os
import shutil
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest

from kiosk.base.errors import Refused
from kiosk.storage.backup import backups_in, check_backup, kept, make_backup, restore, rotate
from kiosk.storage.engine import open_file
from kiosk.storage.key_file import KeyFile, keys_beside
from kiosk.storage.keys import Cost
from tests.storage.contract import StoreContract
from tests.storage.examples import Clock, Examples, new_ids, same_bits, store_on

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
WORDS = "a lamp beside the harbour wall"


@pytest.fixture
def clinic(tmp_path):
    """A store with its key file, still open, and its keys."""
    import numpy as np
    path = tmp_path / "kiosk.store"
    slots = KeyFile(tmp_path / "kiosk.store.keys", np.random.default_rng(5).bytes, Clock(), Cost(1, 64))
    keys, _ = slots.create(new_ids()(), "site", WORDS)
    store = store_on(open_file(path, keys), keys.audit)
    StoreContract.full.__wrapped__(StoreContract(), store, Examples())
    return path, keys, store


def test_a_backup_of_a_store_in_use_comes_back_with_every_bit(clinic, tmp_path):
    path, keys, store = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    assert made.folder.name == "2026-03-02T093000Z"
    assert str(made.anchor) == store.audit_head() != ""
    expected = store.trials_of(Examples().visit.id)
    store.close()
    path.unlink()
    sound = restore(made.folder, path, keys, "04")
    assert sound.fault is None and sound.counts == made.manifest["rows"]
    again = store_on(open_file(path, keys), keys.audit)
    assert same_bits(expected[0], again.trials_of(Examples().visit.id)[0])


def test_the_keys_in_a_backup_open_it_with_the_same_passphrase(clinic, tmp_path):
    path, keys, _ = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    slots = KeyFile(made.folder / "kiosk.store.keys", bytes, Clock())
    assert slots.unlock("site", WORDS)[0] == keys


def test_a_backup_shows_nothing_in_clear_and_leaves_nothing_half_made(clinic, tmp_path):
    path, keys, _ = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    content = made.store.read_bytes()
    assert not any(word in content for word in (b"K-0412-7", b"SQLite format", b"1954-05"))
    assert sorted(one.name for one in (tmp_path / "backups").iterdir()) == [made.folder.name]
    assert sorted(one.name for one in made.folder.iterdir()) == [
        "kiosk.store", "kiosk.store.keys", "manifest.json"]


def test_proving_leaves_no_file_behind(clinic, tmp_path):
    path, keys, _ = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    before = sorted(one.name for one in tmp_path.iterdir())
    assert restore(made.folder, path, keys, "04", only_prove=True).fault is None
    assert sorted(one.name for one in tmp_path.iterdir()) == before


def test_a_backup_is_proved_for_a_folder_that_is_not_there_yet(clinic, tmp_path):
    path, keys, _ = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    elsewhere = tmp_path / "new" / "place" / "kiosk.store"
    assert restore(made.folder, elsewhere, keys, "04", only_prove=True).fault is None
    assert not elsewhere.parent.exists()
    assert restore(made.folder, elsewhere, keys, "04").fault is None
    assert elsewhere.is_file() and keys_beside(elsewhere).is_file()


@pytest.mark.skipif(os.name == "nt", reason="permissions as POSIX has them")
def test_what_is_restored_is_its_owner_s_alone(clinic, tmp_path):
    path, keys, _ = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    for file in made.folder.iterdir():
        file.chmod(0o644)
    restored = tmp_path / "elsewhere" / "kiosk.store"
    restore(made.folder, restored, keys, "04")
    assert {file.stat().st_mode & 0o777 for file in restored.parent.iterdir()} == {0o600}


def test_logs_left_by_the_store_that_was_there_are_kept_aside_and_never_read(clinic, tmp_path):
    """The store goes on after its backup, and is gone but for its logs: restored is what was backed up."""
    path, keys, store = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    store.add_person(replace(Examples().person, id=UUID(int=99), code="K-0999-9"))
    left = {ending: Path(f"{path}{ending}").read_bytes() for ending in ("-wal", "-shm")}
    assert len(left["-wal"]) > 4096
    store.close()
    place = tmp_path / "again"
    place.mkdir()
    again = place / "kiosk.store"
    for ending, content in left.items():
        Path(f"{again}{ending}").write_bytes(content)
        Path(f"{again}{ending}.aside-1").write_bytes(b"from before")
    sound = restore(made.folder, again, keys, "04")
    assert sound.fault is None and sound.counts == made.manifest["rows"]
    opened = store_on(open_file(again, keys), keys.audit)
    assert "K-0999-9" not in {person.code for person in opened.people()}
    for ending, content in left.items():
        assert Path(f"{again}{ending}.aside-2").read_bytes() == content
        assert Path(f"{again}{ending}.aside-1").read_bytes() == b"from before"


def test_nothing_is_restored_over_a_store(clinic, tmp_path):
    path, keys, _ = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    with pytest.raises(Refused, match="store_in_the_way"):
        restore(made.folder, path, keys, "04")


def flip(path):
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


def other_rows(folder):
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["rows"]["trial"] = 9
    (folder / "manifest.json").write_text(json.dumps(manifest))


@pytest.mark.parametrize(("spoil", "code", "found"), [
    (lambda folder: flip(folder / "kiosk.store"), "backup_unsound", "hash"),
    (lambda folder: (folder / "kiosk.store.keys").unlink(), "backup_incomplete", "kiosk.store.keys"),
    (lambda folder: (folder / "manifest.json").write_text("{"), "backup_unsound", "manifest"),
    (other_rows, "backup_unsound", "seal"),
])
def test_a_spoilt_backup_is_refused_and_nothing_is_put_in_place(clinic, tmp_path, spoil, code, found):
    path, keys, store = clinic
    made = make_backup(path, keys, tmp_path / "backups", "04", NOW)
    store.close()
    path.rename(tmp_path / "away")
    spoil(made.folder)
    with pytest.raises(Refused) as refusal:
        restore(made.folder, path, keys, "04")
    assert refusal.value.code == code and found in refusal.value.values.values()
    assert not path.exists()


def test_a_store_that_is_damaged_gives_no_backup(clinic, tmp_path):
    path, keys, store = clinic
    store.close()
    flip(path)
    with pytest.raises(Refused):
        make_backup(path, keys, tmp_path / "backups", "04", NOW)
    assert list((tmp_path / "backups").iterdir()) == []


def test_seven_days_and_four_weeks_are_kept():
    # From the rule itself, counted by hand for 60 days with two backups a day, ending on Monday 2026-03-02.
    moments = [NOW - timedelta(hours=12 * n) for n in reversed(range(120))]
    days = {"2026-03-02T09:30", "2026-03-01T21:30", "2026-02-28T21:30", "2026-02-27T21:30",
            "2026-02-26T21:30", "2026-02-25T21:30", "2026-02-24T21:30"}
    sundays = {"2026-03-01T21:30", "2026-02-22T21:30", "2026-02-15T21:30"}
    assert {one.isoformat()[:16] for one in kept(moments)} == days | sundays


def test_rotation_removes_only_backups(tmp_path):
    for n in range(40):
        folder = tmp_path / (NOW - timedelta(days=n)).strftime("%Y-%m-%dT%H%M%SZ")
        folder.mkdir()
        (folder / "manifest.json").write_text("{}")
    (tmp_path / "letters").mkdir()
    rotate(tmp_path)
    assert len(backups_in(tmp_path)) == 7 + 2
    assert (tmp_path / "letters").is_dir()
    assert check_backup  # the refusal of an empty folder:
    with pytest.raises(Refused, match="backup_incomplete"):
        check_backup(tmp_path / "letters", None, "04")
    shutil.rmtree(tmp_path)
