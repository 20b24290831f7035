"""The audit's chain: 10,000 lines, each kind of tampering found and named."""

import hmac
import json
from datetime import timedelta
from hashlib import sha256

import pytest
import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.audit_chain import Anchor, Break, anchor_from, line_mac, verify
from kiosk.storage.column_types import coerced, utc_text
from kiosk.storage.engine import open_file
from kiosk.storage.integrity import verify_audit
from tests.storage.examples import BEGINS, KEYS, Examples, new_ids, store_on

LINES = 10_000


@pytest.fixture(scope="module")
def lines() -> list[dict]:
    """A chain as the ledger makes it."""
    new_id, made, mac = new_ids(3), [], ""
    for seq in range(1, LINES + 1):
        line = {"kiosk_id": "04", "seq": seq, "staff_id": None, "action": "add_trial", "object_kind": "trial",
                "object_id": str(new_id()), "object_sha256": f"{seq:064x}", "previous_mac": mac, "mac": "",
                "made_at": BEGINS + timedelta(seconds=seq), "made_by": None, "sha256": ""}
        mac = line_mac(KEYS.audit, line)
        made.append(line | {"mac": mac})
    return made


def breaks(lines, *anchors) -> tuple[Break, ...]:
    return verify(KEYS.audit, lines, anchors).breaks


def test_a_whole_chain_holds_and_its_values_can_be_recomputed_with_the_standard_library(lines):
    found = verify(KEYS.audit, lines)
    assert (found.lines, found.head.seq, found.breaks) == (LINES, LINES, ())
    plain = {name: value for name, value in lines[77].items() if name not in ("mac", "sha256")}
    plain["made_at"] = utc_text(plain["made_at"])
    text = json.dumps(plain, sort_keys=True, separators=(",", ":"))
    assert hmac.new(KEYS.audit, text.encode(), sha256).hexdigest() == lines[77]["mac"]


@pytest.mark.parametrize("change", [
    {"action": "add_visit"}, {"object_id": "0"}, {"object_sha256": "0" * 64}, {"staff_id": new_ids()()},
    {"made_at": BEGINS}, {"previous_mac": "0" * 64}, {"mac": "0" * 64}, {"made_by": new_ids()()}])
@pytest.mark.parametrize("place", [0, 4321, LINES - 1])
def test_a_changed_line_is_named_whatever_was_changed(lines, change, place):
    tampered = [*lines]
    tampered[place] = lines[place] | change
    assert breaks(tampered) == (Break("changed", place + 1),)


def test_removed_lines_are_named(lines):
    assert breaks(lines[:99] + lines[100:]) == (Break("removed", 100),)
    assert breaks(lines[1:]) == (Break("removed", 1),)


def test_two_lines_that_changed_places_are_named_as_moved(lines):
    tampered = [*lines]
    tampered[50], tampered[7000] = lines[7000] | {"seq": 51}, lines[50] | {"seq": 7001}
    assert breaks(tampered) == (Break("moved", 51), Break("moved", 7001))


def test_a_removed_line_with_the_rest_moved_up_is_found(lines):
    shifted = lines[:9900] + [line | {"seq": line["seq"] - 1} for line in lines[9901:]]
    assert {one.seq for one in breaks(shifted)} >= {9901, LINES - 1}


def test_a_cut_tail_is_found_against_the_newest_anchor_and_only_so(lines):
    cut, printed = lines[:-3], str(Anchor(LINES, lines[-1]["mac"]))
    assert breaks(cut) == ()
    old, new = anchor_from(str(Anchor(12, lines[11]["mac"]))), anchor_from(printed)
    assert breaks(cut, old) == ()
    assert breaks(cut, old, new) == (Break("cut_off", LINES),)
    assert breaks([], new) == (Break("cut_off", LINES),)


def test_an_anchor_holds_128_bits_and_is_read_as_it_is_printed_or_typed(lines):
    mac = lines[9999]["mac"]
    printed = str(Anchor(LINES, mac))
    assert printed.replace("-", "") == f"{LINES}{mac[:32]}"
    for typed in (printed, printed.upper(), f" {LINES}-{mac[:32]} ", printed.replace("-", " - ")):
        assert anchor_from(typed) == Anchor(LINES, mac[:32])
    assert breaks(lines, anchor_from(printed)) == ()
    other = "0" if mac[31] != "0" else "1"
    assert breaks(lines, Anchor(LINES, mac[:31] + other)) == (Break("other_chain", LINES),)


def test_a_new_chain_by_someone_with_the_key_is_found_against_an_anchor(lines):
    forged, mac = [], ""
    for line in lines:
        line = line | {"object_id": "0" if line["seq"] == 5000 else line["object_id"], "previous_mac": mac}
        mac = line_mac(KEYS.audit, line)
        forged.append(line | {"mac": mac})
    assert breaks(forged) == ()
    assert breaks(forged, Anchor(9000, lines[8999]["mac"][:16])) == (Break("other_chain", 9000),)


def test_another_key_fits_no_line(lines):
    assert len(verify(KEYS.backup, lines[:300]).breaks) == 300


def test_a_line_holds_no_content_of_what_was_kept(tmp_path):
    engine = open_file(tmp_path / "kiosk.store", KEYS)
    store, ex = store_on(engine, KEYS.audit), Examples()
    ex.begin(store)
    with engine.connect() as connection:
        rows = connection.execute(sa.select(tables.audit)).mappings().all()
        told = json.dumps([dict(row) for row in rows], default=str)
    assert not any(word in told for word in (ex.person.code, ex.person.birth_date, ex.visit.hands_today))
    assert coerced(tables.audit, rows[0])["previous_mac"] == ""


def test_the_page_bears_the_head_and_the_store_is_verified_against_it(tmp_path):
    engine = open_file(tmp_path / "kiosk.store", KEYS)
    store, ex = store_on(engine, KEYS.audit), Examples()
    ex.begin(store)
    head = anchor_from(store.audit_head())
    assert head.seq == 4
    assert verify_audit(engine, KEYS.audit, "04", [head]).breaks == ()
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER immutable_audit_delete")
        connection.execute(tables.audit.delete().where(tables.audit.c.seq == 4))
    assert verify_audit(engine, KEYS.audit, "04").breaks == ()
    assert verify_audit(engine, KEYS.audit, "04", [head]).breaks == (Break("cut_off", 4),)


@pytest.mark.parametrize("text", [
    "", "12", "x-0123456789abcdef", "-0123456789abcdef", "12-0123456789abcde", "12-0123456789abcdeg"])
def test_what_is_no_anchor_is_refused(text):
    with pytest.raises(Refused, match="not_an_anchor"):
        anchor_from(text)
