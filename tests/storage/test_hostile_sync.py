"""A stolen login of one kiosk on a real server: nothing forged arrives, and nothing honest is held up.

Before rows were signed a line of the audit erased everybody, a birth date was replaced, one table name
stopped all later syncs, and a huge number hid all later rows. Ed25519 itself is checked against RFC 8032.
"""

from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

import pytest
import sqlalchemy as sa
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.column_types import Row, coerced, hash_column, row_sha256
from kiosk.storage.engine import open_memory
from kiosk.storage.row_checks import RowFault
from kiosk.storage.rows_by_key import key_of
from kiosk.storage.server import ERASER, PUSH, give_order, received, set_login
from kiosk.storage.sync import STAYS_OUT, sign_earlier, sync, trust
from kiosk.storage.trust_list import (
    TrustList,
    holds,
    public_key,
    row_statement,
    signature,
    signed_list,
    signed_order,
)
from tests.storage.examples import BEGINS, ERASER_KEY, KIOSKS, LIST, SITE, Examples
from tests.storage.test_server import login
from tests.storage.test_sync import kiosk, one_visit

THIEF = Ed25519PrivateKey.from_private_bytes(bytes(range(3, 35)))


@pytest.fixture
def server(clinic_database) -> sa.Engine:
    login(clinic_database(), "kiosk_a", PUSH)
    return clinic_database("kiosk_a")


@pytest.fixture
def pair(server):
    first, second = kiosk(open_memory(), "01", 11), kiosk(open_memory(), "02", 12)
    ex = one_visit(first, 7)
    for one in (first, second):
        sync(one.ledger, server)
    return first, second, ex


def plant(engine: sa.Engine, table: sa.Table, row: Row, key: Ed25519PrivateKey = THIEF) -> None:
    """What someone with a login can do: a row with a right hash, entered under a signature of their own."""
    whole = coerced(table, {"made_at": BEGINS, "kiosk_id": "01", **row})
    whole = {**whole, hash_column(table): row_sha256(table, whole)}
    with engine.begin() as connection:
        connection.execute(table.insert(), whole)
        enter(connection, table, whole, key)


def enter(connection: sa.Connection, table: sa.Table, row: Row, key: Ed25519PrivateKey,
          **more: object) -> None:
    entry = {"table_name": table.name, "row_key": key_of(table, row), "kiosk_id": row["kiosk_id"],
             "sha256": row[hash_column(table)], "received_at": BEGINS}
    statement = row_statement(*(str(entry[name]) for name in ("table_name", "row_key", "kiosk_id", "sha256")))
    connection.execute(received.insert(), {**entry, "signature": signature(key, statement), **more})


def honest_still_arrives(first, second, server) -> None:
    later = one_visit(first, 99)
    sync(first.ledger, server)
    sync(second.ledger, server)
    assert second.person(later.person.id) == later.person
    assert second.scores_of(later.visit.id) == first.scores_of(later.visit.id)


def test_a_forged_line_of_the_audit_erases_nobody_and_is_named_once(pair, server):
    first, second, ex = pair
    plant(server, tables.audit, {"seq": 10**6, "action": "erase_person_asked", "object_kind": "person",
                                 "object_id": str(ex.person.id), "object_sha256": "", "previous_mac": "",
                                 "mac": ""})
    found = sync(second.ledger, server)
    assert found.erased == 0 and second.person(ex.person.id) == ex.person
    assert [(one.table, one.fault) for one in found.stays_out] == [("audit", RowFault.NOT_SIGNED)]
    assert sync(second.ledger, server).stays_out == []
    lines = second.ledger.all(sa.select(tables.audit).where(tables.audit.c.action == STAYS_OUT))
    assert len(lines) == 1
    honest_still_arrives(first, second, server)


def test_an_enrolled_kiosk_that_lies_in_its_audit_erases_nobody_either(pair, server):
    first, second, ex = pair
    with first.ledger.writing() as writing:
        writing.note_of("erase_person_asked", "person", str(ex.person.id))
    sync(first.ledger, server)
    assert sync(second.ledger, server).erased == 0
    assert second.person(ex.person.id) == ex.person


def test_a_forged_birth_date_is_not_shown(pair, server):
    first, second, ex = pair
    before = second.ledger.one(sa.select(tables.person_details))
    plant(server, tables.person_details, {
        **{name: value for name, value in before.items() if name not in ("id", "sha256")},
        "id": UUID(int=5), "supersedes": before["id"], "birth_date": "1999",
        "made_at": datetime(2027, 1, 1, tzinfo=UTC)})
    assert sync(second.ledger, server).stays_out[0].fault is RowFault.NOT_SIGNED
    assert second.person(ex.person.id).birth_date == ex.person.birth_date
    honest_still_arrives(first, second, server)


@pytest.mark.parametrize("name", ["no_such_table", "outbox", "erasure_permit", "x" * 5000])
def test_a_table_that_does_not_exist_or_does_not_travel_stops_nothing(pair, server, name):
    first, second, _ = pair
    with server.begin() as connection:
        connection.execute(received.insert(), {
            "table_name": name, "row_key": "1", "kiosk_id": "01", "sha256": "", "received_at": BEGINS,
            "signature": "00"})
    assert sync(second.ledger, server).stays_out[0].fault is RowFault.UNKNOWN_TABLE
    honest_still_arrives(first, second, server)


@pytest.mark.parametrize("key", ["", "x", "-", "01:99999999999999999999999", "\u0663:\u0663"])
@pytest.mark.parametrize("table", ["audit", "visit", "reference_table"])
def test_a_key_that_is_none_stops_nothing(pair, server, table, key):
    first, second, _ = pair
    with server.begin() as connection:
        connection.execute(received.insert(), {
            "table_name": table, "row_key": key, "kiosk_id": "01", "sha256": "", "received_at": BEGINS,
            "signature": "00"})
    sync(second.ledger, server)
    honest_still_arrives(first, second, server)


def test_a_huge_number_can_be_given_by_the_owner_only_and_hides_nothing(pair, server, clinic_database):
    first, second, _ = pair
    row = second.ledger.one(sa.select(tables.person))
    with pytest.raises(sa.exc.ProgrammingError, match="permission denied"), server.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO received (rx_seq, table_name, row_key, kiosk_id, sha256, received_at, signature) "
            "OVERRIDING SYSTEM VALUE VALUES (9000000000, 'visit', 'x', '01', '', now(), '')")
    with clinic_database().begin() as connection:
        enter(connection, tables.person, row, THIEF, rx_seq=9_000_000_000)
    sync(second.ledger, server)
    honest_still_arrives(first, second, server)


def test_values_that_no_kiosk_writes_stay_out_even_when_signed(pair, server):
    first, second, ex = pair
    before = second.ledger.one(sa.select(tables.person_details))
    same = {name: value for name, value in before.items() if name not in ("id", "sha256")}
    for wrong in ({"birth_date": "soon"}, {"birth_date": "1954-02-30"}, {"sex": "robot"}):
        bad = replace(ex.person, **wrong)
        first.add_person(bad)
    sync(first.ledger, server)
    found = sync(second.ledger, server)
    assert {one.fault for one in found.stays_out} == {RowFault.BAD_VALUE} and len(found.stays_out) == 3
    assert second.person(ex.person.id).birth_date == same["birth_date"]


def test_a_login_writes_in_its_own_kiosks_name_only_and_reads_its_own_clinic_only(server, clinic_database):
    owner = clinic_database()
    set_login(owner, "kiosk_b", "it's 100% new", "02", "other clinic")
    first = kiosk(open_memory(), "01", 11)
    one_visit(first, 7)
    sync(first.ledger, server)
    other = clinic_database("kiosk_b")
    with other.connect() as connection:
        for table in (*tables.metadata.sorted_tables, received):
            if table.name not in tables.MUTABLE:
                kiosks = {row.kiosk_id for row in connection.execute(sa.select(table.c.kiosk_id))}
                assert kiosks <= set(), table.name
    with pytest.raises(sa.exc.ProgrammingError, match="row-level security"):
        plant(other, tables.person, {"id": UUID(int=9), "kiosk_id": "01"})
    plant(other, tables.person, {"id": UUID(int=9), "kiosk_id": "02"})


def test_a_kiosk_that_is_not_on_the_list_or_left_it_syncs_nothing(pair, server):
    first, second, _ = pair
    without = signed_list(SITE, LIST, without=["02"])
    trust(first.ledger, without)
    sync(first.ledger, server)  # the server now has the newer list
    with pytest.raises(Refused, match="sync_not_enrolled"):
        sync(second.ledger, server)


def test_a_list_is_taken_from_the_known_site_only_and_never_an_older_one(pair):
    first, _, _ = pair
    newer = signed_list(SITE, LIST, most_erased=9)
    trust(first.ledger, newer)
    for wrong, code in ((LIST, "trust_list_older"), (signed_list(THIEF, None, KIOSKS), "other_site")):
        with pytest.raises(Refused, match=code):
            trust(first.ledger, wrong)
    changed = newer.as_text().replace('"most_erased":9', '"most_erased":99')
    with pytest.raises(Refused, match="trust_list_not_signed"):
        TrustList.from_text(changed)


def test_only_an_erasers_order_erases_and_a_mass_order_waits_for_the_site_lead(server, clinic_database):
    first, second = kiosk(open_memory(), "01", 11), kiosk(open_memory(), "02", 12)
    people = [one_visit(first, seed).person.id for seed in range(20, 28)]
    for one in (first, second):
        sync(one.ledger, server)
    login(clinic_database(), "eraser_a", ERASER)
    eraser = clinic_database("eraser_a")
    give_order(eraser, signed_order(THIEF, people[0], "asked", BEGINS))
    give_order(eraser, replace(signed_order(ERASER_KEY, people[0], "asked", BEGINS), person_id=people[1],
                               signature="00"))
    assert sync(second.ledger, server).erased == 0
    with pytest.raises(Refused):
        give_order(server, signed_order(ERASER_KEY, people[0], "asked", BEGINS))
    for person_id in people[:6]:
        give_order(eraser, signed_order(ERASER_KEY, person_id, "asked", BEGINS))
    found = sync(second.ledger, server)
    assert (found.erased, found.waiting) == (0, 6)
    assert sync(second.ledger, server, erase_many=True).erased == 6
    assert len(second.ledger.all(sa.select(tables.person))) == 2


def test_rows_from_before_there_were_signatures_are_taken_once_their_kiosk_signs_them(
        server, clinic_database):
    first, second = kiosk(open_memory(), "01", 11), kiosk(open_memory(), "02", 12)
    ex = one_visit(first, 7)
    sync(first.ledger, server)
    with clinic_database().begin() as connection:
        connection.execute(received.update().values(signature=""))
    assert sync(second.ledger, server).pulled == 0
    sign_earlier(first.ledger)
    sync(first.ledger, server)
    assert sync(second.ledger, server).pulled > 20
    assert second.visits_of(ex.person.id) == (ex.visit,)


def test_the_signature_is_that_of_rfc_8032():
    """Section 7.1, TEST 1 (secret and public key, from memory) and what follows from it."""
    key = Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"))
    assert public_key(key) == "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
    signed = signature(key, ["row", "visit"])
    assert holds(public_key(key), ["row", "visit"], signed)
    assert not holds(public_key(key), ["row", "trial"], signed)
    assert not holds(public_key(THIEF), ["row", "visit"], signed)


def test_a_row_of_another_kiosk_that_arrives_is_the_row_that_was_sent(pair):
    first, second, ex = pair
    assert isinstance(ex, Examples)
    for table in tables.metadata.sorted_tables:
        if table.name not in (*tables.MUTABLE, "audit"):
            rows = [{row[hash_column(table)] for row in one.ledger.all(sa.select(table))}
                    for one in (first, second)]
            assert rows[0] == rows[1], table.name
