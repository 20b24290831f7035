"""From an older layout of the store to this one, from code, after a backup that has been examined.

Each step changes the tables from one revision to the next by alembic's operations. All steps are one
transaction: either the store has the new layout with all its guards, or it is as it was. Changing a table on
this engine means to copy it, and that drops its triggers: all guards are made anew.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import sqlalchemy as sa
from sqlcipher3 import dbapi2 as sqlcipher

from kiosk.base.errors import Refused
from kiosk.storage.backup import Backup, make_backup
from kiosk.storage.engine import APPLICATION_ID, connect_file
from kiosk.storage.keys import StoreKeys
from kiosk.storage.tables import SCHEMA_REVISION
from kiosk.storage.triggers import sqlite_triggers

Step = Callable[[Any], None]
STEPS: Final[Mapping[int, Step]] = {}
"""By the revision a step starts from; there has been one layout so far."""


def upgrade(store: Path, keys: StoreKeys, backups: Path, kiosk_id: str, now: datetime, *,
            steps: Mapping[int, Step] = STEPS, to: int = SCHEMA_REVISION,
            guards: Callable[[], Iterator[str]] = sqlite_triggers) -> Backup | None:
    """Bring a store to this layout; the backup made before, None where nothing was to do.

    Refused: not_our_file, migration_undone (with what went wrong), and as make_backup.
    """
    revision = _revision(store, keys)
    if revision == to:
        return None
    if any(number not in steps for number in range(revision, to)) or revision > to:
        raise Refused("migration_undone", {"found": f"no way from layout {revision} to {to}"})
    backup = make_backup(store, keys, backups, kiosk_id, now)
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
    """One transaction in which referenced tables may be copied; links are checked at its end."""
    def connect() -> Any:
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
