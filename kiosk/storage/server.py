"""The clinic's server, one PostgreSQL that many kiosks push to and pull from: its address and its set-up.

The address is a small JSON file: host, port, database, user, password_file, root_ca. A server on another
machine must show a certificate for its name, signed by root_ca (TLS, verify-full). Connecting times out after
3 s.

The server has the store's tables, triggers of its own, and two roles. Its owner sets it up and does nothing
else. Role `kiosk_push` may select and insert; updates, deletes and truncation are not granted, and triggers
refuse them to the owner too. Only role `kiosk_eraser` may add an erasure permit and remove the rows it
covers. `received.rx_seq` numbers the rows in the order in which they were received. Decision security-8.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage.column_types import UtcTime
from kiosk.storage.rows import engine_errors_refused
from kiosk.storage.tables import MUTABLE, PERSON_OF, SCHEMA_REVISION, metadata

PUSH: Final = "kiosk_push"
ERASER: Final = "kiosk_eraser"
LOCAL_ONLY: Final = ("trial_chunk", "outbox")
server: Final = sa.MetaData()
received: Final = sa.Table(
    "received", server, sa.Column("rx_seq", sa.BigInteger(), sa.Identity(), primary_key=True),
    sa.Column("table_name", sa.Text(), nullable=False), sa.Column("row_key", sa.Text(), nullable=False),
    sa.Column("kiosk_id", sa.Text(), nullable=False), sa.Column("sha256", sa.Text(), nullable=False),
    sa.Column("received_at", UtcTime(), nullable=False), sa.UniqueConstraint("table_name", "row_key"))
layout: Final = sa.Table("layout", server, sa.Column("revision", sa.Integer(), primary_key=True))


def set_up_server(engine: sa.Engine) -> None:
    """Make tables, triggers and roles in an empty database; nothing where they are there already."""
    with engine_errors_refused(), engine.begin() as connection:
        if sa.inspect(connection).has_table("layout"):
            return
        metadata.create_all(connection)
        server.create_all(connection)
        connection.execute(layout.insert().values(revision=SCHEMA_REVISION))
        for statement in (*guards(), *grants()):
            connection.exec_driver_sql(statement)


def guards() -> Iterator[str]:
    """The statements that make the functions and triggers of every immutable table."""
    for table in metadata.sorted_tables:
        if table.name in MUTABLE:
            continue
        person = PERSON_OF.get(table.name)
        allowed = "FALSE" if person is None else (
            f"TG_OP = 'DELETE' AND EXISTS (SELECT 1 FROM erasure_permit WHERE person_id = {person})")
        name = f"immutable_{table.name}"
        yield (f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {allowed} THEN "
               f"RETURN OLD; END IF; RAISE EXCEPTION 'immutable: {table.name}' USING ERRCODE = '23000'; "
               "END $$")
        yield (f"CREATE TRIGGER {name} BEFORE UPDATE OR DELETE ON {table.name} FOR EACH ROW "
               f"EXECUTE FUNCTION {name}()")
        yield f"CREATE FUNCTION {name}_all() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN " \
              f"RAISE EXCEPTION 'immutable: {table.name}' USING ERRCODE = '23000'; END $$"
        yield (f"CREATE TRIGGER {name}_all BEFORE TRUNCATE ON {table.name} FOR EACH STATEMENT "
               f"EXECUTE FUNCTION {name}_all()")


def grants() -> Iterator[str]:
    """The statements that make the two roles and grant what each may do."""
    for role in (PUSH, ERASER):
        yield (f"DO $$ BEGIN CREATE ROLE {role} NOLOGIN; EXCEPTION WHEN duplicate_object THEN NULL; END $$")
    kept = [table.name for table in metadata.sorted_tables if table.name not in MUTABLE]
    shown = ", ".join([*kept, "received"])
    yield f"GRANT SELECT, INSERT ON {shown} TO {PUSH}"
    yield f"GRANT SELECT ON layout TO {PUSH}, {ERASER}"
    yield f"GRANT SELECT ON {shown}, trial_chunk, outbox TO {ERASER}"
    yield f"GRANT INSERT ON audit TO {ERASER}"
    yield f"GRANT DELETE ON {', '.join(PERSON_OF)}, trial_chunk TO {ERASER}"
    yield f"GRANT SELECT, INSERT, DELETE ON erasure_permit TO {ERASER}"
    yield f"GRANT SELECT ON erasure_permit TO {PUSH}"


LOOPBACK: Final = ("127.0.0.1", "::1", "localhost")
CONNECT_S: Final = 3


@dataclass(frozen=True)
class Address:
    """Where the server is and how to log in; password_file and root_ca are paths."""

    host: str
    database: str
    user: str
    port: int = 5432
    password_file: str = ""
    root_ca: str = ""


def address_from(file: Path) -> Address:
    """The address read from a file; Refused `server_file_unreadable`."""
    try:
        return Address(**json.loads(file.read_text("utf-8")))
    except (OSError, ValueError, TypeError) as fault:
        raise Refused("server_file_unreadable", {"file": file.name}) from fault


def open_server(address: Address) -> sa.Engine:
    """The server's engine, not connected yet. Refused `server_without_tls`, `server_file_unreadable`.

    Connecting may be refused: server_not_vouched_for, server_other_name, server_speaks_plainly (all three
    before anything is sent), server_login_refused, server_away.
    """
    local = address.host in LOOPBACK
    if not local and not address.root_ca:
        raise Refused("server_without_tls", {"host": address.host})
    if address.root_ca and not Path(address.root_ca).is_file():
        raise Refused("server_file_unreadable", {"file": Path(address.root_ca).name})
    options = {"connect_timeout": str(CONNECT_S)}
    if address.root_ca:
        options |= {"sslmode": "verify-full", "sslrootcert": address.root_ca}
    url = sa.URL.create("postgresql+psycopg", address.user, _password(address), address.host, address.port,
                        address.database, options)
    return sa.create_engine(url, pool_pre_ping=True, hide_parameters=True)


def check_layout(connection: sa.Connection) -> None:
    """Refused `server_not_ours` where the server was set up for another layout, or not at all."""
    if not sa.inspect(connection).has_table("layout"):
        raise Refused("server_not_ours")
    if connection.scalar(sa.select(sa.func.max(layout.c.revision))) != SCHEMA_REVISION:
        raise Refused("server_not_ours")


def _password(address: Address) -> str | None:
    if not address.password_file:
        return None
    try:
        return Path(address.password_file).read_text("utf-8").strip()
    except OSError as fault:
        raise Refused("server_file_unreadable", {"file": Path(address.password_file).name}) from fault
