"""Opening the store: an encrypted file, or memory, checked to be ours and of a revision known here.

A file is encrypted page by page under a raw key (AES-256, HMAC over each page) and begins with the salt of
its keys, so whose it is shows before anything is tried. It bears our application id and the schema revision.
Every transaction takes the write lock at its start and is on the disk when it ends (write-ahead log,
synchronous FULL). Memory is plain and gone with its engine. The key stands in no address, log or message.
"""

import os
import re
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy.pool import QueuePool, StaticPool
from sqlcipher3 import dbapi2 as sqlcipher

from kiosk.base.errors import Refused
from kiosk.storage.database_errors import obstacle
from kiosk.storage.keys import StoreKeys
from kiosk.storage.look_at_file import check_belongs
from kiosk.storage.tables import SCHEMA_REVISION, metadata
from kiosk.storage.triggers import sqlite_triggers

APPLICATION_ID: Final = 0x70757273  # "purs"
PAGE: Final = re.compile(r"page (\d+)")
BUSY_S: Final = 5.0
READING: Final = "kiosk_reading"  # an execution option: this transaction only reads and takes no write lock
PRAGMAS: Final = ("foreign_keys=on", "recursive_triggers=on", "temp_store=memory", "cipher_log_level=none")
PRAGMAS_TO_WRITE: Final = ("journal_mode=wal", "synchronous=full", "secure_delete=on")


def open_memory() -> sa.Engine:
    """A new store in memory, gone with its engine."""
    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")
        return connection

    engine = _begins(sa.create_engine("sqlite+pysqlite://", creator=connect, poolclass=StaticPool,
                                      hide_parameters=True))
    _create(engine)
    return engine


def open_file(path: Path, keys: StoreKeys, *, read_only: bool = False) -> sa.Engine:
    """The encrypted store in a file; made where there is none, unless it is opened to be read only.

    Refused: no_such_store, not_our_file, key_of_other_store, store_damaged, store_cut_short, newer_schema,
    older_schema, store_read_only, store_busy, store_full, store_unreadable (with the name of the file).
    """
    if not path.is_file() and (read_only or path.exists()):
        raise Refused("not_our_file" if path.exists() else "no_such_store", {"file": path.name})
    check_belongs(path, keys)
    try:
        _check(path, keys, read_only)
        if not path.exists():
            _make_private(path)
        engine = _file_engine(path, keys, read_only)
        if not read_only:
            _create(engine)
    except (sqlcipher.OperationalError, sa.exc.OperationalError) as fault:
        raise Refused(obstacle(_message(fault)), {"file": path.name, "found": _message(fault)}) from fault
    except (sqlcipher.DatabaseError, sa.exc.DatabaseError) as fault:
        raise whats_wrong(path, keys) from fault
    return engine


def _make_private(path: Path) -> None:
    """An empty file that only its owner may read; a folder that is not there is told by the engine."""
    with suppress(OSError):
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT, 0o600))


def whats_wrong(path: Path, keys: StoreKeys) -> Refused:
    """A file of ours that cannot be read: which pages are damaged, or that its end is missing."""
    pages = damaged_pages(path, keys)
    if pages:
        return Refused("store_damaged", {"file": path.name, "pages": pages})
    return Refused("store_cut_short", {"file": path.name, "bytes": path.stat().st_size})


def damaged_pages(path: Path, keys: StoreKeys) -> tuple[int, ...]:
    """The pages, from 1, that are not as they were written under this key."""
    connection = _keyed(path, keys, "ro")
    try:
        told = [str(row[0]) for row in connection.execute("PRAGMA cipher_integrity_check")]
    finally:
        connection.close()
    return tuple(int(found.group(1)) for line in told if (found := PAGE.search(line)))


def connect_file(path: Path, keys: StoreKeys, *, read_only: bool = False, create: bool = True) -> Any:
    """One connection of the driver, keyed."""
    connection = _keyed(path, keys, "ro" if read_only else "rwc" if create else "rw")
    connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    for pragma in PRAGMAS if read_only else PRAGMAS + PRAGMAS_TO_WRITE:
        connection.execute(f"PRAGMA {pragma}")
    return connection


def _keyed(path: Path, keys: StoreKeys, mode: str) -> Any:
    connection = sqlcipher.connect(f"file:{quote(str(path.resolve()))}?mode={mode}", uri=True, timeout=BUSY_S,
                                   isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA cipher_log_level=none")
    connection.execute(f"PRAGMA key=\"x'{keys.database.hex()}{keys.salt.hex()}'\"")
    return connection


def _check(path: Path, keys: StoreKeys, read_only: bool) -> None:
    """Before anything is written: ours, or new."""
    if not path.exists():
        return
    connection = connect_file(path, keys, read_only=read_only, create=False)
    try:
        tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        application = connection.execute("PRAGMA application_id").fetchone()[0]
        revision = connection.execute("PRAGMA user_version").fetchone()[0]
    finally:
        connection.close()
    if (tables or application) and application != APPLICATION_ID:
        raise Refused("not_our_file", {"file": path.name})
    if revision > SCHEMA_REVISION:
        raise Refused("newer_schema", {"file": path.name, "file_has": revision, "known": SCHEMA_REVISION})
    if application and revision < SCHEMA_REVISION:
        raise Refused("older_schema", {"file": path.name, "file_has": revision, "known": SCHEMA_REVISION})


def _file_engine(path: Path, keys: StoreKeys, read_only: bool) -> sa.Engine:
    engine = sa.create_engine("sqlite+pysqlite://", module=sqlcipher, poolclass=QueuePool,
                              creator=lambda: connect_file(path, keys, read_only=read_only),
                              hide_parameters=True)
    return _begins(engine, "BEGIN" if read_only else "BEGIN IMMEDIATE")


def _begins(engine: sa.Engine, begin: str = "BEGIN IMMEDIATE") -> sa.Engine:
    @sa.event.listens_for(engine, "begin")
    def _begin(connection: sa.Connection) -> None:
        reading = connection.get_execution_options().get(READING)
        connection.exec_driver_sql("BEGIN" if reading else begin)

    return engine


def _create(engine: sa.Engine) -> None:
    """The tables, their guards and the revision, in one transaction; nothing where they are already there."""
    with engine.begin() as connection:
        if _application_of(connection) == APPLICATION_ID:
            return
        metadata.create_all(connection)
        for statement in sqlite_triggers():
            connection.exec_driver_sql(statement)
        connection.exec_driver_sql(f"PRAGMA user_version={SCHEMA_REVISION}")
        connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")


def _application_of(connection: sa.Connection) -> Any:
    return connection.exec_driver_sql("PRAGMA application_id").scalar_one()


def _message(fault: Exception) -> str:
    return str(getattr(fault, "orig", None) or fault)
