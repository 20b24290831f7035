"""Opening the store: a file or memory, checked to be ours and of a revision known here.

The file bears our application id and the schema revision in its header. Every transaction takes the write
lock at its start and is on the disk when it ends (write-ahead log, synchronous FULL). Encryption and the
server's engine join here: whatever gives a connection may stand behind the same tables.
"""

import sqlite3
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy.pool import QueuePool, StaticPool

from kiosk.errors import Refused
from kiosk.storage.tables import SCHEMA_REVISION, metadata
from kiosk.storage.triggers import sqlite_triggers

APPLICATION_ID: Final = 0x70757273  # "purs"
BUSY_S: Final = 5.0
READING: Final = "kiosk_reading"  # an execution option: this transaction only reads and takes no write lock
_PRAGMAS: Final = ("foreign_keys=on", "recursive_triggers=on", "temp_store=memory")
_PRAGMAS_TO_WRITE: Final = ("journal_mode=wal", "synchronous=full")


def open_memory() -> sa.Engine:
    """A new store in memory, gone with its engine."""
    engine = _engine(":memory:", "BEGIN IMMEDIATE", _PRAGMAS, StaticPool)
    _create(engine)
    return engine


def open_file(path: Path, *, read_only: bool = False) -> sa.Engine:
    """The store in a file; made where there is none, unless it is opened to be read only.

    Refused: no_such_store, not_our_file, newer_schema, store_read_only, store_busy, store_unreadable (each
    with the name of the file).
    """
    if not path.is_file() and (read_only or path.exists()):
        raise Refused("not_our_file" if path.exists() else "no_such_store", {"file": path.name})
    mode = "ro" if read_only else "rwc"
    pragmas = _PRAGMAS if read_only else _PRAGMAS + _PRAGMAS_TO_WRITE
    begin = "BEGIN" if read_only else "BEGIN IMMEDIATE"
    address = f"file:{quote(str(path.resolve()))}?mode={mode}"
    try:
        _check(path, address)
        engine = _engine(address, begin, pragmas, QueuePool)
        _create(engine)
    except (sqlite3.OperationalError, sa.exc.OperationalError) as fault:
        raise Refused(obstacle(_message(fault)), {"file": path.name, "found": _message(fault)}) from fault
    except (sqlite3.DatabaseError, sa.exc.DatabaseError) as fault:
        raise Refused("not_our_file", {"file": path.name}) from fault
    return engine


def obstacle(message: str) -> str:
    """The code of what the engine says is in the way."""
    if "readonly" in message:
        return "store_read_only"
    return "store_busy" if "locked" in message else "store_unreadable"


def _check(path: Path, address: str) -> None:
    """Before anything is written: ours, or new."""
    connection = sqlite3.connect(address, uri=True, timeout=BUSY_S)
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


def _engine(address: str, begin: str, pragmas: tuple[str, ...], pool: type[sa.Pool]) -> sa.Engine:
    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(address, uri=True, timeout=BUSY_S, isolation_level=None,
                                     check_same_thread=False)
        for pragma in pragmas:
            connection.execute(f"PRAGMA {pragma}")
        return connection

    engine = sa.create_engine("sqlite+pysqlite://", creator=connect, poolclass=pool)

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
