"""Migrating a store from an older schema revision to this one, after a backup that has been checked.

Each step changes the tables from one revision to the next with alembic's operations. All steps are one
transaction: either the store has the new schema with all its triggers, or it is unchanged. SQLite changes a
table by copying it, which drops its triggers, so all triggers are made again.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

import sqlalchemy as sa
from sqlcipher3 import dbapi2 as sqlcipher

from kiosk.base.errors import Refused
from kiosk.storage.backup import Backup, make_backup
from kiosk.storage.engine import APPLICATION_ID, connect_file
from kiosk.storage.keys import StoreKeys
from kiosk.storage.tables import SCHEMA_REVISION, sqlite_triggers

if TYPE_CHECKING:
    from alembic.operations import Operations

Step = Callable[["Operations"], None]
STEPS: Final[Mapping[int, Step]] = {}
"""By the revision from which a step starts; there has been one revision so far."""


def upgrade(store: Path, keys: StoreKeys, backups: Path, kiosk_id: str, now: datetime, *,
            steps: Mapping[int, Step] = STEPS, to: int = SCHEMA_REVISION,
            guards: Callable[[], Iterator[str]] = sqlite_triggers) -> Backup | None:
    """Migrate a store; returns the backup made before, None where the store has this revision already.

    Refused: not_our_file, migration_undone (with what went wrong), and as make_backup.
    """
    revision = _revision(store, keys)
    if revision == to:
        return None
    if any(number not in steps for number in range(revision, to)) or revision > to:
        raise Refused("migration_undone", {"found": f"no way from layout {revision} to {to}"})
    backup = make_backup(store, keys, backups, kiosk_id, now, layout=min(revision, SCHEMA_REVISION))
    try:
        with _changing(store, keys) as connection:
            _take_steps(connection, [steps[number] for number in range(revision, to)], guards, to)
    except (sa.exc.SQLAlchemyError, sqlcipher.Error) as fault:
        raise Refused("migration_undone", {"found": type(fault).__name__}) from fault
    return backup


def _revision(store: Path, keys: StoreKeys) -> int:
    connection = connect_file(store, keys, create=False)
    try:
        if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            raise Refused("not_our_file", {"file": store.name})
        return int(connection.execute("PRAGMA user_version").fetchone()[0])
    finally:
        connection.close()


@contextmanager
def _changing(store: Path, keys: StoreKeys) -> Iterator[sa.Connection]:
    """One transaction without foreign key checks while tables are copied; they are checked at its end."""
    def connect() -> sqlcipher.Connection:
        connection = connect_file(store, keys, create=False)
        connection.execute("PRAGMA foreign_keys=off")
        return connection

    engine = sa.create_engine("sqlite+pysqlite://", module=sqlcipher, creator=connect,
                              poolclass=sa.pool.NullPool)
    sa.event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN IMMEDIATE"))
    with engine.begin() as connection:
        yield connection
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise Refused("migration_undone", {"found": f"{len(broken)} rows would refer to none"})


def _take_steps(connection: sa.Connection, steps: list[Step], guards: Callable[[], Iterator[str]],
                to: int) -> None:
    from alembic.migration import MigrationContext
    from alembic.operations import Operations

    query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    known = {name: sql for name, sql in connection.exec_driver_sql(query)}
    for name in known:
        connection.exec_driver_sql(f"DROP TRIGGER {name}")
    operations = Operations(MigrationContext.configure(connection))
    for step in steps:
        step(operations)
    others = [sql for name, sql in known.items() if not name.startswith("immutable_")]
    for statement in (*guards(), *others):
        connection.exec_driver_sql(statement)
    connection.exec_driver_sql(f"PRAGMA user_version={to}")
