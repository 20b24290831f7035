"""Opening the store, an encrypted file or memory, and what the database engine's errors mean.

SQLCipher encrypts each page (4096 bytes) of a file under a raw key (AES-256, HMAC over the page). The file
begins with the salt of its keys, so it shows whose it is before a key is tried. It has the kiosk's
application id and the schema revision, both checked. A transaction takes the write lock at its start and is
on the disk when it ends (write-ahead log, synchronous FULL), unless it runs with the option READING. A store
in memory is not encrypted and ends with its engine. The key is in no address, log or message.

Decision storage-5.
"""

import os
import re
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import Final
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy.pool import QueuePool, StaticPool
from sqlcipher3 import dbapi2 as sqlcipher

from kiosk.base.errors import Refused
from kiosk.storage.keys import StoreKeys
from kiosk.storage.tables import SCHEMA_REVISION, metadata, sqlite_triggers

FILE_ERRORS: Final = {
    "readonly": "store_read_only", "locked": "store_busy", "full": "store_full",
    "disk I/O": "disk_in_trouble", "malformed": "store_damaged", "not a database": "store_damaged",
    "permission denied": "server_login_refused"}
SERVER_ERRORS: Final = {
    "certificate verify failed": "server_not_vouched_for", "does not match host name": "server_other_name",
    "does not support SSL": "server_speaks_plainly", "authentication failed": "server_login_refused",
    "no pg_hba.conf entry": "server_login_refused", "pg_hba.conf rejects": "server_login_refused",
    "does not exist": "server_login_refused"}


def refusal_code(message: str) -> str:
    """The kiosk's code for an error message of the database engine or of the server.

    A message that names a connection comes from the server. A refused certificate is looked for first: the
    name of a server may have several addresses, each with an error of its own.

    >>> refusal_code("attempt to write a readonly database")
    'store_read_only'
    >>> refusal_code('connection to server at "localhost" failed: SSL error: certificate verify failed')
    'server_not_vouched_for'
    >>> refusal_code("connection failed: server closed the connection unexpectedly")
    'server_away'
    """
    of_server = "connection" in message
    for words, code in (SERVER_ERRORS if of_server else FILE_ERRORS).items():
        if words in message:
            return code
    return "server_away" if of_server else "store_unreadable"


PAGE_BYTES: Final = 4096
SALT_MATCHES: Final = 12  # equal bytes, of 16, from which the file is taken for ours, its salt damaged
ENCRYPTED_VALUES: Final = 240  # different byte values in the first page, from which it is taken for encrypted


def check_belongs(path: Path, keys: StoreKeys) -> None:
    """Check, before a key is tried, that a file is the store of these keys and has all its pages.

    A file that is missing or empty passes. Refused: not_our_file, key_of_other_store, store_cut_short,
    store_damaged.
    """
    size = path.stat().st_size if path.exists() else 0
    if size == 0:
        return
    with path.open("rb") as file:
        first = file.read(PAGE_BYTES)
    same = sum(a == b for a, b in zip(first, keys.salt, strict=False))
    if same < SALT_MATCHES:
        looks_ours = size % PAGE_BYTES == 0 and len(set(first)) >= ENCRYPTED_VALUES
        raise Refused("key_of_other_store" if looks_ours else "not_our_file", {"file": path.name})
    if size % PAGE_BYTES:
        raise Refused("store_cut_short", {"file": path.name, "bytes": size})
    if same < len(keys.salt):
        raise Refused("store_damaged", {"file": path.name})


APPLICATION_ID: Final = 0x70757273  # "purs"
PAGE: Final = re.compile(r"page (\d+)")
BUSY_S: Final = 5.0
READING: Final = "kiosk_reading"  # an execution option: this transaction only reads and takes no write lock
PRAGMAS: Final = ("foreign_keys=on", "recursive_triggers=on", "temp_store=memory", "cipher_log_level=none")
PRAGMAS_TO_WRITE: Final = ("journal_mode=wal", "synchronous=full", "secure_delete=on")


def open_memory() -> sa.Engine:
    """A new store in memory; it ends with its engine."""
    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")
        return connection

    engine = _with_begin(sa.create_engine("sqlite+pysqlite://", creator=connect, poolclass=StaticPool,
                                      hide_parameters=True))
    _create(engine)
    return engine


def open_file(path: Path, keys: StoreKeys, *, read_only: bool = False, older: bool = False) -> sa.Engine:
    """The encrypted store in a file; a new one where there is none, unless `read_only`.

    `older`: a store of an older layout is opened too (before it is migrated).

    Refused: no_such_store, not_our_file, key_of_other_store, store_damaged, store_cut_short, newer_schema,
    older_schema, store_read_only, store_busy, store_full, store_unreadable (with the name of the file).
    """
    if not path.is_file() and (read_only or path.exists()):
        raise Refused("not_our_file" if path.exists() else "no_such_store", {"file": path.name})
    check_belongs(path, keys)
    try:
        _check(path, keys, read_only, older)
        if not path.exists():
            _make_private(path)
        engine = _file_engine(path, keys, read_only)
        if not read_only:
            _create(engine)
    except (sqlcipher.OperationalError, sa.exc.OperationalError) as fault:
        raise Refused(refusal_code(_message(fault)), {"file": path.name, "found": _message(fault)}) from fault
    except (sqlcipher.DatabaseError, sa.exc.DatabaseError) as fault:
        raise damage_found(path, keys) from fault
    return engine


def _make_private(path: Path) -> None:
    """An empty file that only its owner may read; where the folder is missing, the engine says so later."""
    with suppress(OSError):
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT, 0o600))


def damage_found(path: Path, keys: StoreKeys) -> Refused:
    """Why a file of ours cannot be read: the pages that are damaged, or that its end is missing."""
    pages = damaged_pages(path, keys)
    if pages:
        return Refused("store_damaged", {"file": path.name, "pages": pages})
    return Refused("store_cut_short", {"file": path.name, "bytes": path.stat().st_size})


def damaged_pages(path: Path, keys: StoreKeys) -> tuple[int, ...]:
    """The numbers, from 1, of the pages whose HMAC does not hold under this key."""
    connection = _keyed(path, keys, "ro")
    try:
        told = [str(row[0]) for row in connection.execute("PRAGMA cipher_integrity_check")]
    finally:
        connection.close()
    return tuple(int(found.group(1)) for line in told if (found := PAGE.search(line)))


def connect_file(path: Path, keys: StoreKeys, *, read_only: bool = False,
                 create: bool = True) -> sqlcipher.Connection:
    """One connection of the driver with its key and settings."""
    connection = _keyed(path, keys, "ro" if read_only else "rwc" if create else "rw")
    connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    for pragma in PRAGMAS if read_only else PRAGMAS + PRAGMAS_TO_WRITE:
        connection.execute(f"PRAGMA {pragma}")
    return connection


def _keyed(path: Path, keys: StoreKeys, mode: str) -> sqlcipher.Connection:
    connection = sqlcipher.connect(f"file:{quote(str(path.resolve()))}?mode={mode}", uri=True, timeout=BUSY_S,
                                   isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA cipher_log_level=none")
    connection.execute(f"PRAGMA key=\"x'{keys.database.hex()}{keys.salt.hex()}'\"")
    return connection


def _check(path: Path, keys: StoreKeys, read_only: bool, older: bool) -> None:
    """Before anything is written: whether the file is a store of this kiosk and revision, or new."""
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
    if application and revision < SCHEMA_REVISION and not older:
        raise Refused("older_schema", {"file": path.name, "file_has": revision, "known": SCHEMA_REVISION})


def _file_engine(path: Path, keys: StoreKeys, read_only: bool) -> sa.Engine:
    engine = sa.create_engine("sqlite+pysqlite://", module=sqlcipher, poolclass=QueuePool,
                              creator=lambda: connect_file(path, keys, read_only=read_only),
                              hide_parameters=True)
    return _with_begin(engine, "BEGIN" if read_only else "BEGIN IMMEDIATE")


def _with_begin(engine: sa.Engine, begin: str = "BEGIN IMMEDIATE") -> sa.Engine:
    """The engine, its transactions begun by this statement; those that only read begin without the lock."""
    @sa.event.listens_for(engine, "begin")
    def _begin(connection: sa.Connection) -> None:
        reading = connection.get_execution_options().get(READING)
        connection.exec_driver_sql("BEGIN" if reading else begin)

    return engine


def _create(engine: sa.Engine) -> None:
    """Make tables, triggers and revision in one transaction, unless they are there already."""
    with engine.begin() as connection:
        if _application_of(connection) == APPLICATION_ID:
            return
        metadata.create_all(connection)
        for statement in sqlite_triggers():
            connection.exec_driver_sql(statement)
        connection.exec_driver_sql(f"PRAGMA user_version={SCHEMA_REVISION}")
        connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")


def _application_of(connection: sa.Connection) -> int:
    return int(connection.exec_driver_sql("PRAGMA application_id").scalar_one())


def _message(fault: Exception) -> str:
    return str(getattr(fault, "orig", None) or fault)
