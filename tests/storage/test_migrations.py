"""From one layout to the next: a backup first, all or nothing, every guard in place again."""

from datetime import UTC, datetime

import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage.backup import backups_in
from kiosk.storage.engine import connect_file, open_file
from kiosk.storage.migrations import upgrade
from kiosk.storage.sync import begin_queueing
from kiosk.storage.tables import SCHEMA_REVISION
from tests.storage.contract import StoreContract
from tests.storage.examples import KEYS, Examples, store_on

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
NEXT = SCHEMA_REVISION + 1


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "kiosk.store"
    (tmp_path / "kiosk.store.keys").write_text("{}")
    store = store_on(open_file(path, KEYS), KEYS.audit)
    StoreContract.full.__wrapped__(StoreContract(), store, Examples())
    begin_queueing(store.ledger)
    store.close()
    return path


def copy_visit(operations) -> None:
    """A new column by copying the table, which drops its triggers on this engine."""
    with operations.batch_alter_table("visit", recreate="always") as table:
        table.add_column(sa.Column("room", sa.Text(), nullable=True))


def break_links(operations) -> None:
    operations.execute("DELETE FROM person")


def stumble(operations) -> None:
    operations.execute("DROP TABLE visit_end")
    operations.execute("NO SUCH STATEMENT")


def state(path) -> tuple:
    connection = connect_file(path, KEYS)
    told = (connection.execute("PRAGMA user_version").fetchone()[0],
            sorted(row[0] for row in connection.execute(
                "SELECT name FROM sqlite_master WHERE type='trigger'")),
            connection.execute("SELECT count(*) FROM visit_end").fetchone()[0],
            [row[1] for row in connection.execute("PRAGMA table_info(visit)")])
    connection.close()
    return told


def step(path, *steps):
    return upgrade(path, KEYS, path.parent / "backups", "04", NOW, to=SCHEMA_REVISION + len(steps),
                   steps=dict(enumerate(steps, SCHEMA_REVISION)))


def test_a_new_column_comes_with_every_guard_and_queue_in_place_and_a_backup_of_before(path):
    before = state(path)
    backup = step(path, copy_visit)
    revision, triggers, _, columns = state(path)
    assert revision == NEXT and triggers == before[1] and "room" in columns
    assert backup is not None and backups_in(path.parent / "backups")[0].folder == backup.folder
    assert state(backup.store) == before
    connection = connect_file(path, KEYS)
    with pytest.raises(Exception, match="immutable"):
        connection.execute("UPDATE visit SET form = 'B'")
    connection.close()


@pytest.mark.parametrize("bad", [stumble, break_links])
def test_a_step_that_does_not_go_leaves_the_store_as_it_was(path, bad):
    before = state(path)
    with pytest.raises(Refused, match="migration_undone"):
        step(path, copy_visit, bad)
    assert state(path) == before
    assert store_on(open_file(path, KEYS)).visit(Examples().visit.id) == Examples().visit


def test_the_newest_layout_needs_nothing_and_an_unknown_way_is_refused(path):
    assert step(path) is None
    with pytest.raises(Refused, match="migration_undone"):
        upgrade(path, KEYS, path.parent / "backups", "04", NOW, to=NEXT)
    assert not (path.parent / "backups").exists()


def test_a_store_of_an_older_layout_is_refused_until_it_is_upgraded(path):
    connection = connect_file(path, KEYS)
    connection.execute(f"PRAGMA user_version={SCHEMA_REVISION - 1}")
    connection.close()
    with pytest.raises(Refused, match="older_schema"):
        open_file(path, KEYS)
