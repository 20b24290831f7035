"""The server's side of the store: the same tables on PostgreSQL, guards of its own, and who may do what.

Whoever sets it up owns the tables and does nothing else. Role `kiosk_push` may look and add: no change, no
removal, no truncation is granted, and triggers refuse them to the owner too. Role `kiosk_eraser` alone
may open an erasure permit and remove what it covers. Rows are received in the order of `received.rx_seq`.
"""

from collections.abc import Iterator
from typing import Final

import sqlalchemy as sa

from kiosk.storage.column_types import UtcTime
from kiosk.storage.rows import in_our_words
from kiosk.storage.tables import MUTABLE, SCHEMA_REVISION, metadata
from kiosk.storage.triggers import PERSON_OF

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
    """Make tables, guards and roles in an empty database, or do nothing where they are."""
    with in_our_words(), engine.begin() as connection:
        if sa.inspect(connection).has_table("layout"):
            return
        metadata.create_all(connection)
        server.create_all(connection)
        connection.execute(layout.insert().values(revision=SCHEMA_REVISION))
        for statement in (*guards(), *grants()):
            connection.exec_driver_sql(statement)


def guards() -> Iterator[str]:
    """Functions and triggers that keep every immutable table as it is."""
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
    """The two roles, and what they are allowed."""
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
