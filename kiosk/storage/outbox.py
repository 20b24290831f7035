"""What waits for the server: a queue in the store, filled by triggers from the moment a server is used.

Only rows this kiosk made are queued. Their keys stand in `outbox` until the server has them. The place of the
last row pulled stands there too, under the name RECEIVED.
"""

from collections.abc import Iterator
from typing import Final

import sqlalchemy as sa

from kiosk.storage.rows import Ledger, Writing
from kiosk.storage.tables import MUTABLE, metadata, outbox

RECEIVED: Final = "received"
KEY: Final = {"audit": "{row}kiosk_id || ':' || {row}seq", "reference_table": "{row}sha256"}


def pushed_tables() -> Iterator[sa.Table]:
    """Every immutable table, parents first."""
    return (table for table in metadata.sorted_tables if table.name not in MUTABLE)


def begin_queueing(ledger: Ledger) -> None:
    """From now on, and for everything kept so far; nothing where it was begun before."""
    with ledger.writing() as writing:
        begun = sa.select(outbox.c.id).where(outbox.c.table_name == RECEIVED)
        if writing.connection.execute(begun).first() is not None:
            return
        set_place(writing, 0)
        for table in pushed_tables():
            writing.connection.exec_driver_sql(_fill(table.name), (ledger.kiosk_id,))
            writing.connection.exec_driver_sql(_trigger(table.name, ledger.kiosk_id))


def place(writing: Writing) -> int:
    """How far the server's rows have been pulled."""
    row = writing.connection.execute(sa.select(outbox).where(outbox.c.table_name == RECEIVED)).first()
    return 0 if row is None else int(row.row_key)


def set_place(writing: Writing, rx_seq: int) -> None:
    """Pulled up to here."""
    writing.connection.execute(outbox.delete().where(outbox.c.table_name == RECEIVED))
    writing.add(outbox, {"table_name": RECEIVED, "row_key": str(rx_seq), "tries": 0})


def _key(table: str, row: str) -> str:
    """A row's key as text; a UUID is kept as 32 hexadecimal digits."""
    return KEY.get(table, "{row}id").format(row=row)


def _new(columns: str, source: str) -> str:
    return (f"INSERT INTO outbox (id, table_name, row_key, tries, made_at, kiosk_id, sha256) "
            f"SELECT lower(hex(randomblob(16))), {columns}, 0, {source}")


def _fill(table: str) -> str:
    return _new(f"'{table}', {_key(table, '')}", f"made_at, kiosk_id, '' FROM {table} WHERE kiosk_id = ?")


def _trigger(table: str, kiosk_id: str) -> str:
    own = kiosk_id.replace("'", "''")
    made = _new(f"'{table}', {_key(table, 'NEW.')}", "NEW.made_at, NEW.kiosk_id, ''")
    return (f"CREATE TRIGGER queue_{table} AFTER INSERT ON {table} WHEN NEW.kiosk_id = '{own}' "
            f"BEGIN {made}; END")
