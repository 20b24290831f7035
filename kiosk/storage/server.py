"""The clinic's server, one PostgreSQL that many kiosks push to and pull from: its address and its set-up.

The address is a small JSON file: host, port, database, user, password_file, root_ca. A server on another
machine must show a certificate for its name, signed by root_ca (TLS, verify-full). Connecting times out after
3 s.

The server has the store's tables, triggers of its own, and two roles. Its owner sets it up, makes logins and
does nothing else. Role `kiosk_push` may select and insert; updates, deletes and truncation are not granted,
and triggers refuse them to the owner too. Row-level security lets a login write in the name of its own kiosk
only, and read what kiosks of its clinic wrote (`login_kiosk`). Only role `kiosk_eraser` may add an erasure
permit or an order and remove the rows. `received.rx_seq` numbers the rows in the order in which they were
received, and only the server gives that number. Decision security-8.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql

from kiosk.base.errors import Refused
from kiosk.storage.column_types import UtcTime
from kiosk.storage.rows import engine_errors_refused
from kiosk.storage.tables import MUTABLE, PERSON_OF, metadata
from kiosk.storage.trust_list import ErasureOrder

PUSH: Final = "kiosk_push"
ERASER: Final = "kiosk_eraser"
SERVER_REVISION: Final = 2
server: Final = sa.MetaData()
received: Final = sa.Table(
    "received", server,
    sa.Column("rx_seq", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), sa.Identity(),
              primary_key=True),
    sa.Column("table_name", sa.Text(), nullable=False), sa.Column("row_key", sa.Text(), nullable=False),
    sa.Column("kiosk_id", sa.Text(), nullable=False), sa.Column("sha256", sa.Text(), nullable=False),
    sa.Column("received_at", UtcTime(), nullable=False),
    sa.Column("signature", sa.Text(), nullable=False, server_default=""),
    sa.UniqueConstraint("table_name", "row_key", "kiosk_id", "signature", name="received_once"))
layout: Final = sa.Table("layout", server, sa.Column("revision", sa.Integer(), primary_key=True))
login_kiosk: Final = sa.Table(
    "login_kiosk", server, sa.Column("login", sa.Text(), primary_key=True),
    sa.Column("kiosk_id", sa.Text(), primary_key=True), sa.Column("clinic", sa.Text(), nullable=False))
erasure_order: Final = sa.Table(
    "erasure_order", server, sa.Column("signature", sa.Text(), primary_key=True),
    sa.Column("person_id", sa.Uuid(), nullable=False), sa.Column("reason", sa.Text(), nullable=False),
    sa.Column("ordered_at", UtcTime(), nullable=False), sa.Column("eraser", sa.Text(), nullable=False))
trust_list: Final = sa.Table(
    "trust_list", server, sa.Column("signature", sa.Text(), primary_key=True),
    sa.Column("content", sa.Text(), nullable=False))


def set_up_server(engine: sa.Engine) -> None:
    """Make tables, triggers and roles in an empty database, or bring an older set-up to this revision."""
    with engine_errors_refused(), engine.begin() as connection:
        known = sa.inspect(connection).has_table("layout")
        revision = connection.scalar(sa.select(sa.func.max(layout.c.revision))) if known else 0
        if revision == SERVER_REVISION:
            return
        if revision == 1:
            connection.exec_driver_sql(
                "ALTER TABLE received ADD COLUMN signature TEXT NOT NULL DEFAULT '', "
                "DROP CONSTRAINT received_table_name_row_key_key, "
                "ADD CONSTRAINT received_once UNIQUE (table_name, row_key, kiosk_id, signature)")
        else:
            metadata.create_all(connection)
        server.create_all(connection)
        connection.execute(layout.insert().values(revision=SERVER_REVISION))
        for statement in (*(guards() if revision == 0 else ()), *grants(), *row_security()):
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
    both = f"{PUSH}, {ERASER}"
    numbered = ", ".join(column.name for column in received.columns if column.name != "rx_seq")
    yield f"REVOKE ALL ON received FROM {PUSH}"
    yield f"GRANT SELECT ON {shown} TO {PUSH}"
    yield f"GRANT INSERT ON {', '.join(kept)}, trust_list TO {PUSH}"
    yield f"GRANT INSERT ({numbered}) ON received TO {PUSH}"
    yield f"GRANT SELECT ON layout, login_kiosk, erasure_order, trust_list TO {both}"
    yield f"GRANT SELECT ON {shown}, trial_chunk, outbox TO {ERASER}"
    yield f"GRANT INSERT ON audit, erasure_order TO {ERASER}"
    yield f"GRANT DELETE ON {', '.join(PERSON_OF)}, trial_chunk TO {ERASER}"
    yield f"GRANT SELECT, INSERT, DELETE ON erasure_permit TO {ERASER}"
    yield f"GRANT SELECT ON erasure_permit TO {PUSH}"


def row_security() -> Iterator[str]:
    """The statements by which a login writes in its own kiosk's name and reads what its clinic shares."""
    own = "kiosk_id IN (SELECT kiosk_id FROM login_kiosk WHERE login = current_user)"
    shared = ("kiosk_id IN (SELECT other.kiosk_id FROM login_kiosk mine JOIN login_kiosk other "
              "ON other.clinic = mine.clinic WHERE mine.login = current_user)")
    for name in (*(table.name for table in metadata.sorted_tables if table.name not in MUTABLE), "received"):
        yield f"ALTER TABLE {name} ENABLE ROW LEVEL SECURITY"
        yield f"CREATE POLICY {name}_read ON {name} FOR SELECT TO {PUSH} USING ({shared})"
        yield f"CREATE POLICY {name}_write ON {name} FOR INSERT TO {PUSH} WITH CHECK ({own})"
        yield f"CREATE POLICY {name}_erase ON {name} TO {ERASER} USING (true) WITH CHECK (true)"


def give_order(engine: sa.Engine, order: ErasureOrder) -> None:
    """Put an eraser's order where every kiosk finds it; by an eraser's login."""
    row = {name: getattr(order, name) for name in order.__dataclass_fields__}
    with engine_errors_refused(), engine.begin() as connection:
        connection.execute(erasure_order.insert(), row)


LOGIN_NAME: Final = re.compile(r"[a-z][a-z0-9_]{0,40}")


def set_login(engine: sa.Engine, login: str, password: str, kiosk_id: str | None, clinic: str) -> None:
    """Make the login of a kiosk (without `kiosk_id` an eraser's) or give a known one a new password.

    Refused `server_login_name`: lower-case letters, digits and underscores only.
    """
    if not LOGIN_NAME.fullmatch(login):
        raise Refused("server_login_name", {"found": login})
    role = ERASER if kiosk_id is None else PUSH
    secret = password.replace("'", "''")
    with engine_errors_refused(), engine.begin() as connection:
        known = connection.execute(sa.text("SELECT 1 FROM pg_roles WHERE rolname = :name"), {"name": login})
        if known.first() is None:
            connection.exec_driver_sql(f"CREATE ROLE {login} LOGIN IN ROLE {role}")
        connection.exec_driver_sql(f"ALTER ROLE {login} PASSWORD '{secret}'".replace("%", "%%"))
        if kiosk_id is not None:
            row = {"login": login, "kiosk_id": kiosk_id, "clinic": clinic}
            connection.execute(postgresql.insert(login_kiosk).values(row).on_conflict_do_nothing())


def clear_removed(engine: sa.Engine) -> None:
    """Write the tables of persons anew, so that no page of them holds what was erased; by their owner."""
    with engine_errors_refused(), engine.connect() as connection:
        direct = connection.execution_options(isolation_level="AUTOCOMMIT")
        for name in PERSON_OF:
            direct.exec_driver_sql(f"VACUUM (FULL) {name}")


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
    if connection.scalar(sa.select(sa.func.max(layout.c.revision))) != SERVER_REVISION:
        raise Refused("server_not_ours")


def _password(address: Address) -> str | None:
    if not address.password_file:
        return None
    try:
        return Path(address.password_file).read_text("utf-8").strip()
    except OSError as fault:
        raise Refused("server_file_unreadable", {"file": Path(address.password_file).name}) from fault
