"""The integrity of a store's file: every page, every foreign key, every row's hash, and the audit's chain.

Reads the whole file (about half a second for 100 MB), so it is checked for backups, restores and `kiosk audit
verify`, not at each start.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.audit_chain import Anchor, ChainCheck, verify
from kiosk.storage.column_types import hash_column, row_sha256
from kiosk.storage.engine import READING, check_belongs, connect_file, damaged_pages, open_file
from kiosk.storage.keys import StoreKeys


@dataclass(frozen=True)
class IntegrityReport:
    """What a check found.

    pages: numbers of damaged pages. structure: what SQLite's integrity_check says ("ok"). links: how many
    rows refer to a row that is missing. rows: (table, key) of each row whose hash is wrong. counts: rows by
    table.
    """

    pages: tuple[int, ...]
    structure: str
    links: int
    rows: tuple[tuple[str, str], ...]
    counts: dict[str, int]
    audit: ChainCheck

    @property
    def fault(self) -> str | None:
        """The first fault, by the name of its field; None where there is none."""
        for found, word in ((self.pages, "pages"), (self.structure != "ok", "structure"),
                            (self.links, "links"), (self.rows, "rows"), (self.audit.breaks, "audit")):
            if found:
                return word
        return None


def check_integrity(path: Path, keys: StoreKeys, kiosk_id: str, anchors: Iterable[Anchor] = (), *,
                    older: bool = False) -> IntegrityReport:
    """Check a store's file; Refused as open_file, and `store_damaged` where pages are damaged.

    `older`: it may have an older layout; rows of tables that have changed since are left unread.
    """
    check_belongs(path, keys)
    pages = damaged_pages(path, keys)
    if pages:
        raise Refused("store_damaged", {"file": path.name, "pages": pages})
    structure, links = _structure(path, keys)
    engine = open_file(path, keys, read_only=True, older=older)
    try:
        wrong, counts = _rows(engine)
        audit = verify_audit(engine, keys.audit, kiosk_id, anchors)
    finally:
        engine.dispose()
    return IntegrityReport(pages, structure, links, wrong, counts, audit)


def verify_audit(engine: sa.Engine, key: bytes, kiosk_id: str, anchors: Iterable[Anchor] = ()) -> ChainCheck:
    """Check one kiosk's audit against the chain, the pages in the store and anchors from elsewhere."""
    audit, report = tables.audit, tables.report
    with engine.connect().execution_options(**{READING: True}) as connection:
        lines = sa.select(audit).where(audit.c.kiosk_id == kiosk_id).order_by(audit.c.seq)
        read = [dict(row) for row in connection.execute(lines).mappings()]
        pages = sa.select(report.c.audit_seq, report.c.audit_head).where(report.c.kiosk_id == kiosk_id)
        on_pages = [Anchor(row.audit_seq, row.audit_head) for row in connection.execute(pages)]
    return verify(key, read, (*on_pages, *anchors))


def _structure(path: Path, keys: StoreKeys) -> tuple[str, int]:
    connection = connect_file(path, keys, read_only=True)
    try:
        answer = str(connection.execute("PRAGMA integrity_check").fetchone()[0])
        return answer, len(connection.execute("PRAGMA foreign_key_check").fetchall())
    finally:
        connection.close()


def _rows(engine: sa.Engine) -> tuple[tuple[tuple[str, str], ...], dict[str, int]]:
    wrong, counts = [], {}
    with engine.connect().execution_options(**{READING: True}, stream_results=True) as connection:
        for table in _unchanged(connection):
            counts[table.name] = 0
            for row in connection.execute(sa.select(table)).mappings():
                counts[table.name] += 1
                kept = dict(row)
                if table.name not in tables.MUTABLE and row_sha256(table, kept) != kept[hash_column(table)]:
                    wrong.append((table.name, str(row.get("id", row.get("seq", row.get("sha256"))))))
    return tuple(wrong), counts


def _unchanged(connection: sa.Connection) -> list[sa.Table]:
    """The tables of the store that have the columns of today's layout."""
    inspected = sa.inspect(connection)
    columns = {name: {str(one["name"]) for one in inspected.get_columns(name)}
               for name in inspected.get_table_names()}
    return [table for table in tables.metadata.sorted_tables
            if columns.get(table.name) == set(table.columns.keys())]
