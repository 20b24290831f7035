"""Worlds of three kiosks and a server in one process: the kiosk's own code on stores in memory, all seeded.

A step is a visit, a correction, a sync (which may break off anywhere), a clock set wrong or right, an old
disk put back, an order of the eraser, or a forgery by somebody with a login. At the end everybody syncs.
One world at a time: the worlds of a process share their engines, whose disks each world begins with anew.
"""

import sqlite3
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache
from hashlib import sha256
from uuid import UUID

import numpy as np
import sqlalchemy as sa
from sqlalchemy.pool import StaticPool

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.column_types import coerced, hash_column, row_sha256
from kiosk.storage.engine import PRAGMAS, open_memory
from kiosk.storage.erasure import erase_person
from kiosk.storage.ids import IdSource
from kiosk.storage.rows import Ledger
from kiosk.storage.rows_by_key import key_of
from kiosk.storage.server import SERVER_REVISION, erasure_order, give_order, layout, received, server
from kiosk.storage.store import Store
from kiosk.storage.sync import begin_queueing, sync
from kiosk.storage.trust_list import row_statement, signature, signed_order
from tests.storage.examples import BEGINS, ERASER_KEY, KEYS, SITE, Examples, enrolled

NAMES = ("01", "02", "03")
STEPS = 10


class Broken(Exception):
    """The connection is lost."""


@dataclass
class Kiosk:
    """One kiosk: its disk (a store in memory), its clock's error, and copies of its disk."""

    store: Store
    error: timedelta
    copies: list[bytes]


class World:
    """One seeded history; `run` goes through it and `rows` tells what each kiosk then holds."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.moment, self.left, self.number = BEGINS, -1, 0
        self.server = _engine("server", _empty_server())
        ON_SERVER[0] = self._break_off
        self.kiosks = {name: Kiosk(None, timedelta(0), []) for name in NAMES}
        for name in NAMES:
            self._open(name, _empty_kiosk(name))
        self.people: list[Examples] = []
        self.erased: set[UUID] = set()

    def run(self) -> None:
        acts: list[Callable[[], None]] = [
            self.visit, self.visit, self.correct, self.sync_one, self.sync_one, self.sync_one,
            self.set_clock, self.put_back, self.erase, self.forge]
        for _ in range(STEPS):
            self.moment += timedelta(minutes=int(self.rng.integers(1, 600)))
            acts[self.rng.integers(len(acts))]()
        last = self.rng.permutation(NAMES)
        for name in (*last, *last[:2]):  # whoever synced last before has everything
            sync(self.kiosks[str(name)].store.ledger, self.server, erase_many=True)

    def visit(self) -> None:
        store, ex = self._any().store, Examples(self._next())
        store.add_person(ex.person)
        if self.rng.random() < 0.5:
            store.add_device(ex.device)
            store.add_calibration(ex.calibration)
            store.begin_visit(ex.visit)
            store.end_visit(ex.end())
        self.people.append(ex)

    def correct(self) -> None:
        store = self._any().store
        known = store.people()
        if known:
            one = known[self.rng.integers(len(known))]
            store.add_person(replace(one, birth_date=str(self.rng.integers(1920, 1990))))

    def sync_one(self) -> None:
        self.left = int(self.rng.integers(1, 60)) if self.rng.random() < 0.4 else -1
        with suppress(Broken):
            sync(self._any().store.ledger, self.server, batch=int(self.rng.integers(3, 60)))
        self.left = -1

    def set_clock(self) -> None:
        wrong = timedelta(days=int(self.rng.integers(-4000, 4000)))
        self._any().error = wrong if self.rng.random() < 0.7 else timedelta(0)

    def put_back(self) -> None:
        """Keep a copy of the disk, or put back an earlier one."""
        name = NAMES[self.rng.integers(3)]
        one = self.kiosks[name]
        if not one.copies or self.rng.random() < 0.4:
            one.copies.append(_disk(one.store.ledger.engine))
            return
        self._open(name, one.copies[self.rng.integers(len(one.copies))])
        with one.store.ledger.writing() as writing:
            writing.begin_epoch()

    def erase(self) -> None:
        """As `kiosk person erase` does: an order, then the rows on the server, unless that is broken off."""
        if not self.people:
            return
        person_id = self.people[self.rng.integers(len(self.people))].person.id
        if person_id in self.erased:
            return
        give_order(self.server, signed_order(ERASER_KEY, person_id, "asked", self.moment))
        self.erased.add(person_id)
        if self.rng.random() < 0.5:
            there = Ledger(self.server, lambda: self.moment, self._ids(), "server")
            with suppress(Refused):  # unknown there, as it was not sent yet
                erase_person(there, person_id, "asked")

    def forge(self) -> None:
        """Somebody writes what they like into the server, under a key that is not on the list."""
        person_id = self.people[self.rng.integers(len(self.people))].person.id if self.people else UUID(int=1)
        forged = [
            (tables.audit, {"seq": 10**7 + self._next(), "action": "erase_person_asked",
                            "object_kind": "person", "object_id": str(person_id), "object_sha256": "",
                            "previous_mac": "", "mac": ""}),
            (tables.person, {"id": UUID(int=self._next())})]
        table, row = forged[self.rng.integers(len(forged))]
        made = {"made_at": datetime(2036, 1, 1, tzinfo=BEGINS.tzinfo), "kiosk_id": "01"}
        whole = coerced(table, made | row)
        whole = {**whole, hash_column(table): row_sha256(table, whole)}
        entry = {"table_name": table.name, "row_key": key_of(table, whole), "kiosk_id": "01",
                 "sha256": whole[hash_column(table)], "received_at": self.moment}
        entry["signature"] = signature(SITE, row_statement(
            table.name, entry["row_key"], "01", entry["sha256"]))
        if self.rng.random() < 0.3:
            entry["table_name"] = "no_such_table"
        with self.server.begin() as connection:
            connection.execute(table.insert(), whole)
            connection.execute(received.insert(), entry)
            connection.execute(erasure_order.insert(), {
                "signature": f"{self._next():0128x}", "person_id": person_id, "reason": "asked",
                "ordered_at": self.moment, "eraser": "00" * 32})

    def rows(self, name: str) -> dict[str, list[str]]:
        """The hashes of everything a kiosk holds, without the audits, which each kiosk writes for itself."""
        ledger = self.kiosks[name].store.ledger
        travel = [table for table in tables.metadata.sorted_tables
                  if table.name not in (*tables.MUTABLE, "audit")]
        found = ledger.each(*(sa.select(table.c[hash_column(table)]) for table in travel))
        return {table.name: sorted(next(iter(row.values())) for row in rows)
                for table, rows in zip(travel, found, strict=True)}

    def digest(self) -> str:
        """One hash over every row of every kiosk and the server, audits included."""
        whole = sha256()
        for engine in (*(one.store.ledger.engine for one in self.kiosks.values()), self.server):
            with engine.connect() as connection:
                for table in tables.metadata.sorted_tables:
                    if table.name not in tables.MUTABLE:
                        hashes = connection.scalars(sa.select(table.c[hash_column(table)])).all()
                        whole.update(repr(sorted(hashes)).encode())
        return whole.hexdigest()

    def _open(self, name: str, disk: bytes) -> None:
        one = self.kiosks[name]
        one.store = Store(_engine(name, disk), now=lambda: self.moment + one.error, new_id=self._ids(),
                          kiosk_id=name, audit_key=KEYS.audit)

    def _ids(self) -> IdSource:
        return IdSource(lambda: self.moment, np.random.default_rng(self.rng.integers(2**60)))

    def _any(self) -> Kiosk:
        return self.kiosks[NAMES[self.rng.integers(3)]]

    def _next(self) -> int:
        self.number += 1
        return int(self.rng.integers(2**40)) * 1000 + self.number

    def _break_off(self) -> None:
        if self.left == 0:
            raise Broken
        self.left -= self.left > 0


ON_SERVER: list[Callable[[], None]] = [lambda: None]
"""What happens before each statement on the server."""


def _engine(name: str, disk: bytes) -> sa.Engine:
    engine = _engine_of(name)
    raw = engine.raw_connection()
    raw.driver_connection.deserialize(disk)
    raw.close()
    return engine


@cache
def _engine_of(name: str) -> sa.Engine:
    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")
        return connection

    engine = sa.create_engine("sqlite+pysqlite://", creator=connect, poolclass=StaticPool)
    sa.event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN"))
    if name == "server":
        sa.event.listen(engine, "before_cursor_execute", lambda *_: ON_SERVER[0]())
    return engine


def _disk(engine: sa.Engine) -> bytes:
    raw = engine.raw_connection()
    try:
        return raw.driver_connection.serialize()
    finally:
        raw.close()


@cache
def _empty_kiosk(name: str) -> bytes:
    store = enrolled(Store(open_memory(), now=lambda: BEGINS, new_id=IdSource(
        lambda: BEGINS, np.random.default_rng(int(name))), kiosk_id=name, audit_key=KEYS.audit))
    begin_queueing(store.ledger)
    return _disk(store.ledger.engine)


@cache
def _empty_server() -> bytes:
    engine = open_memory()
    with engine.begin() as connection:
        server.create_all(connection)
        connection.execute(layout.insert().values(revision=SERVER_REVISION))
    return _disk(engine)
