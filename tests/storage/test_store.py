"""The store contract on memory and on a file; and what only a file can show."""

import json
import os
import sqlite3
import subprocess
import sys
import uuid
from hashlib import sha256
from pathlib import Path

import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage.engine import connect_file, open_file, open_memory
from kiosk.storage.tables import SCHEMA_REVISION, metadata
from tests.storage.contract import StoreContract
from tests.storage.examples import KEYS, Examples, same_bits, store_on
from tests.storage.staff_contract import StaffContract


class TestMemory(StoreContract, StaffContract):
    @pytest.fixture
    def engine(self) -> sa.Engine:
        return open_memory()


class TestFile(StoreContract, StaffContract):
    @pytest.fixture
    def engine(self, tmp_path: Path) -> sa.Engine:
        return open_file(tmp_path / "kiosk.store", KEYS)

    def test_a_store_closed_and_opened_again_holds_the_same(self, full, ex, tmp_path):
        trials = full.trials_of(ex.visit.id)
        full.close()
        again = store_on(open_file(tmp_path / "kiosk.store", KEYS))
        assert same_bits(trials[0], again.trials_of(ex.visit.id)[0])
        assert again.find_visit("7F-KD") == ex.visit

    def test_the_sha256_of_every_row_can_be_recomputed_with_the_standard_library(self, full, tmp_path):
        full.close()
        connection = connect_file(tmp_path / "kiosk.store", KEYS)
        checked = 0
        for table in metadata.sorted_tables:
            columns = [(row[1], row[2]) for row in connection.execute(f"PRAGMA table_info({table.name})")]
            own = "row_sha256" if table.name == "reference_table" else "sha256"
            for row in connection.execute(f"SELECT * FROM {table.name}"):
                plain = {name: _plain(kind, value) for (name, kind), value in zip(columns, row, strict=True)}
                kept = plain.pop(own)
                text = json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
                assert sha256(text.encode()).hexdigest() == kept, table.name
                checked += 1
        assert checked > 25

    def test_a_read_only_store_reads_and_refuses_to_write(self, full, ex, tmp_path):
        full.close()
        reader = store_on(open_file(tmp_path / "kiosk.store", KEYS, read_only=True))
        assert reader.visit(ex.visit.id) == ex.visit
        with pytest.raises(Refused, match="store_read_only"):
            reader.add_person(ex.person)


def _plain(kind: str, value: object) -> object:
    if value is None:
        return None
    if kind == "CHAR(32)":
        return str(uuid.UUID(hex=value))
    if kind == "BLOB":
        return sha256(value).hexdigest()
    return bool(value) if kind == "BOOLEAN" else value


def test_the_store_has_the_25_tables_of_the_data_model():
    assert sorted(metadata.tables) == sorted([
        "person", "person_details", "staff", "staff_details", "device", "calibration", "device_check",
        "device_latency", "reference_table", "visit", "visit_end", "trial", "trial_chunk", "observation",
        "score_set", "trial_score", "trial_validity", "block_score", "findings", "report", "sign_off",
        "amendment", "audit", "outbox", "erasure_permit"])


def test_a_trial_is_on_the_disk_when_add_trial_returns_even_if_the_process_dies_there(tmp_path):
    path = tmp_path / "kiosk.store"
    script = f"""
import os
from pathlib import Path
from kiosk.storage.engine import open_file
from tests.storage.examples import KEYS, Examples, store_on
ex = Examples()
store = store_on(open_file(Path({str(path)!r}), KEYS))
ex.begin(store)
store.add_trial(ex.trial())
os._exit(9)
"""
    root = Path(__file__).parents[2]
    ran = subprocess.run([sys.executable, "-c", script], cwd=root, env=os.environ | {"PYTHONPATH": str(root)},
                         capture_output=True, text=True)
    assert ran.returncode == 9, ran.stderr
    expected = Examples()
    found = store_on(open_file(path, KEYS)).trials_of(expected.visit.id)
    assert len(found) == 1
    assert same_bits(expected.trial(), found[0])


def test_a_trial_that_is_not_committed_leaves_nothing(tmp_path):
    engine = open_file(tmp_path / "kiosk.store", KEYS)
    ex, store = Examples(), store_on(engine)
    ex.begin(store)
    with pytest.raises(RuntimeError):
        with store._ledger.writing() as writing:
            from kiosk.storage import row_mapping, tables
            writing.add(tables.trial, row_mapping.trial_row(ex.trial(), ex.calibration))
            raise RuntimeError("power")
    assert store.trials_of(ex.visit.id) == ()


# Refusals

def test_a_file_that_is_no_store_is_refused_and_left_as_it_was(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_bytes(b"these are no tables, " * 400)
    with pytest.raises(Refused) as refusal:
        open_file(path, KEYS)
    assert (refusal.value.code, refusal.value.values["file"]) == ("not_our_file", "notes.txt")
    assert path.read_bytes() == b"these are no tables, " * 400


def test_a_database_of_someone_else_is_refused_and_left_as_it_was(tmp_path):
    path = tmp_path / "other.db"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE notes (text)")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(Refused, match="not_our_file"):
        open_file(path, KEYS)
    assert path.read_bytes() == before


def test_a_store_of_a_newer_revision_is_refused(tmp_path):
    path = tmp_path / "kiosk.store"
    open_file(path, KEYS).dispose()
    connection = connect_file(path, KEYS)
    assert connection.execute("PRAGMA user_version").fetchone() == (SCHEMA_REVISION,)
    connection.execute(f"PRAGMA user_version={SCHEMA_REVISION + 1}")
    connection.commit()
    connection.close()
    with pytest.raises(Refused) as refusal:
        open_file(path, KEYS)
    assert refusal.value.code == "newer_schema"
    assert refusal.value.values["file_has"] == SCHEMA_REVISION + 1


def test_a_store_that_is_not_there_is_not_made_by_reading(tmp_path):
    with pytest.raises(Refused, match="no_such_store"):
        open_file(tmp_path / "none.store", KEYS, read_only=True)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(Refused, match="not_our_file"):
        open_file(tmp_path, KEYS)


def test_a_store_in_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(Refused, match="store_unreadable"):
        open_file(tmp_path / "nowhere" / "kiosk.store", KEYS)
