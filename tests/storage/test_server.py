"""The same store contract on a real PostgreSQL server; what its roles may do; the way to it."""

import json
from dataclasses import replace

import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.engine import open_memory
from kiosk.storage.erasure import erase_person
from kiosk.storage.server import (
    ERASER,
    PUSH,
    Address,
    address_from,
    check_layout,
    clear_removed,
    guards,
    login_kiosk,
    open_server,
    set_up_server,
)
from kiosk.storage.sync import sync
from tests.storage.contract import StoreContract
from tests.storage.examples import KEYS, KIOSKS, Examples, enrolled, store_on
from tests.storage.staff_contract import StaffContract


class TestServer(StoreContract, StaffContract):
    @pytest.fixture
    def engine(self, clinic_database) -> sa.Engine:
        return clinic_database()

    def test_insert_or_replace_is_refused_too(self, full, ex, engine):
        """This engine has no such statement; emptying a table is its way around triggers of rows."""
        for table in ("trial", "audit"):
            with pytest.raises(sa.exc.DBAPIError, match="immutable"), engine.begin() as connection:
                connection.exec_driver_sql(f"TRUNCATE {table} CASCADE")
        assert full.visit_end(ex.visit.id) == ex.end()


def login(engine: sa.Engine, name: str, role: str) -> None:
    with engine.begin() as connection:
        connection.exec_driver_sql(
            f"DO $$ BEGIN CREATE ROLE {name} LOGIN IN ROLE {role}; "
            "EXCEPTION WHEN duplicate_object THEN NULL; END $$")
        if role == PUSH:
            connection.execute(login_kiosk.insert(), [
                {"login": name, "kiosk_id": one, "clinic": "clinic"} for one, _ in KIOSKS])


def test_a_kiosk_may_add_and_look_but_neither_change_nor_remove_nor_empty(clinic_database):
    login(clinic_database(), "kiosk_a", PUSH)
    engine = clinic_database("kiosk_a")
    store, ex = store_on(engine), Examples()
    ex.begin(store)
    assert store.visit(ex.visit.id) == ex.visit
    for statement in ("UPDATE visit SET form = 'B'", "DELETE FROM visit", "TRUNCATE visit CASCADE",
                      "DROP TABLE visit CASCADE", "ALTER TABLE visit DISABLE TRIGGER ALL",
                      "INSERT INTO erasure_permit (id) VALUES (gen_random_uuid())",
                      "UPDATE layout SET revision = 9"):
        with pytest.raises(sa.exc.ProgrammingError, match=r"permission denied|must be owner"):
            with engine.begin() as connection:
                connection.exec_driver_sql(statement)


def test_the_eraser_removes_one_person_under_a_permit_and_nothing_else(clinic_database):
    login(clinic_database(), "eraser_a", ERASER)
    ex, other = Examples(7), Examples(8)
    for one in (ex, other):
        one.begin(store_on(clinic_database(), seed=one.rng.integers(1000)))
    engine = clinic_database("eraser_a")
    with pytest.raises(sa.exc.DBAPIError, match="immutable"), engine.begin() as connection:
        connection.execute(tables.visit.delete())
    erase_person(store_on(engine, kiosk_id="server").ledger, ex.person.id, "asked")
    with engine.connect() as connection:
        assert connection.scalars(sa.select(tables.person.c.id)).all() == [other.person.id]
    with pytest.raises(sa.exc.ProgrammingError, match="permission denied"), engine.begin() as connection:
        connection.exec_driver_sql("UPDATE visit SET form = 'B'")


def test_set_up_twice_does_nothing_and_a_database_without_it_is_refused(postgres, clinic_database):
    engine = clinic_database()
    set_up_server(engine)
    with engine.connect() as connection:
        check_layout(connection)
    with postgres.engine().connect() as connection, pytest.raises(Refused, match="server_not_ours"):
        check_layout(connection)


def test_a_server_elsewhere_must_show_a_certificate_for_its_name(tmp_path):
    with pytest.raises(Refused, match="server_without_tls"):
        open_server(Address("records.harbour.example", "kiosk", "kiosk_a"))
    root = tmp_path / "ca.pem"
    with pytest.raises(Refused, match="server_file_unreadable"):
        open_server(Address("records.harbour.example", "kiosk", "kiosk_a", root_ca=str(root)))
    root.write_text("")
    engine = open_server(Address("records.harbour.example", "kiosk", "kiosk_a", root_ca=str(root)))
    assert dict(engine.url.query) == {
        "connect_timeout": "3", "sslmode": "verify-full", "sslrootcert": str(root)}


def test_a_password_is_read_from_its_file_and_told_nowhere(tmp_path):
    secret = tmp_path / "password"
    secret.write_text("grey boats in the rain\n")
    file = tmp_path / "server.json"
    file.write_text(json.dumps({"host": "127.0.0.1", "database": "kiosk", "user": "kiosk_a",
                                "password_file": str(secret)}))
    engine = open_server(address_from(file))
    assert engine.url.password == "grey boats in the rain"
    assert "grey boats" not in f"{engine!r} {engine.url} {address_from(file)!r}"
    file.write_text("{}")
    with pytest.raises(Refused, match="server_file_unreadable"):
        address_from(file)


def test_what_was_erased_is_in_no_file_of_the_tables_once_they_are_cleared(postgres, clinic_database):
    marker = "Zyxwvut-Marker"
    owner, ex = clinic_database(), Examples()
    store_on(owner).add_person(replace(ex.person, family_name=marker))

    def on_disk() -> bool:
        with postgres.engine().connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql("CHECKPOINT")
        files = (path for path in (postgres.folder / "data" / "base").rglob("*") if path.is_file())
        return any(marker.encode() in path.read_bytes() for path in files)

    assert on_disk()
    erase_person(store_on(owner, kiosk_id="server").ledger, ex.person.id, "asked")
    assert on_disk()  # removed rows stay in free space until then
    clear_removed(owner)
    assert not on_disk()


def test_a_server_set_up_before_there_were_signatures_is_brought_up_to_date(postgres):
    postgres.new_database("older")
    engine = postgres.engine("older")
    with engine.begin() as connection:
        tables.metadata.create_all(connection)
        connection.exec_driver_sql(
            "CREATE TABLE received (rx_seq BIGINT GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY, table_name "
            "TEXT NOT NULL, row_key TEXT NOT NULL, kiosk_id TEXT NOT NULL, sha256 TEXT NOT NULL, "
            "received_at TIMESTAMPTZ NOT NULL, UNIQUE (table_name, row_key))")
        connection.exec_driver_sql("CREATE TABLE layout (revision INTEGER PRIMARY KEY)")
        connection.exec_driver_sql("INSERT INTO layout VALUES (1)")
        for statement in guards():
            connection.exec_driver_sql(statement)
    with engine.connect() as connection, pytest.raises(Refused, match="server_not_ours"):
        check_layout(connection)
    set_up_server(engine)
    login(engine, "kiosk_a", PUSH)
    store, ex = enrolled(store_on(open_memory(), KEYS.audit, kiosk_id="01")), Examples()
    ex.begin(store)
    assert sync(store.ledger, postgres.engine("older", "kiosk_a")).pushed > 5
    engine.dispose()
