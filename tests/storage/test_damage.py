"""What an encrypted file shows to someone without the key, and what each kind of damage is called."""

import os
import sqlite3

import pytest

from kiosk.base.errors import Refused
from kiosk.i18n.language import load_language
from kiosk.storage.engine import connect_file, open_file
from kiosk.storage.integrity import check_integrity
from kiosk.storage.keys import StoreKeys
from kiosk.wording.reasons import sentence
from tests.storage.contract import StoreContract
from tests.storage.examples import KEYS, Examples, store_on

PAGE = 4096
PLANTED = ("Quillfeather", "Wilhelmina", "ZQ-9981-K", "1954-05-17", "wore a crimson glove")


@pytest.fixture
def path(tmp_path):
    """A store with a planted person and a visit with one of everything."""
    path = tmp_path / "kiosk.store"
    store = store_on(open_file(path, KEYS), KEYS.audit)
    StoreContract.full.__wrapped__(StoreContract(), store, planted())
    store.close()
    return path


def planted() -> Examples:
    from dataclasses import replace
    ex = Examples()
    ex.person = replace(ex.person, family_name=PLANTED[0], given_name=PLANTED[1], code=PLANTED[2],
                        birth_date=PLANTED[3])
    return ex


def code_of(path, keys=KEYS) -> str:
    with pytest.raises(Refused) as refusal:
        check_integrity(path, keys, "04")
    assert sentence(refusal.value.code, refusal.value.values, load_language("en"))
    return refusal.value.code


def spoilt(path, place, by=1):
    content = bytearray(path.read_bytes())
    content[place] ^= by
    path.write_bytes(content)


def test_a_sound_store_is_found_sound(path):
    found = check_integrity(path, KEYS, "04")
    assert found.fault is None and found.counts["trial"] == 1 and found.audit.lines == 11


def test_no_byte_of_what_was_planted_is_in_any_file_while_it_is_written_or_after(tmp_path):
    path = tmp_path / "kiosk.store"
    store = store_on(open_file(path, KEYS), KEYS.audit)
    ex = planted()
    StoreContract.full.__wrapped__(StoreContract(), store, ex)
    from kiosk.pursuit.observation import Observation
    store.add_observation(ex.visit.id, Observation("talked", None, PLANTED[4]))
    trial = store.trials_of(ex.visit.id)[0]
    samples = (trial.record.raw.t_ns[100:104].tobytes(), trial.record.samples.x_mm[100:104].tobytes())
    wanted = [word.encode() for word in PLANTED] + [*samples, b"SQLite format", b"%PDF-", b"CREATE TABLE"]
    files = {one.name: one.read_bytes() for one in tmp_path.iterdir()}
    assert files["kiosk.store-wal"], "the log must be there while the store is open"
    store.close()
    files |= {one.name + " closed": one.read_bytes() for one in tmp_path.iterdir()}
    assert [(name, word) for name, content in files.items() for word in wanted if word in content] == []


def test_the_search_would_find_them_in_a_plain_file(path, tmp_path):
    keyed = connect_file(path, KEYS)
    keyed.execute(f"ATTACH '{tmp_path / 'plain.db'}' AS plain KEY ''")
    keyed.execute("SELECT sqlcipher_export('plain')")
    keyed.close()
    content = (tmp_path / "plain.db").read_bytes()
    assert all(word.encode() in content for word in PLANTED[:4]) and content.startswith(b"SQLite format")


def test_each_kind_of_damage_has_a_sentence_of_its_own(path, tmp_path):
    whole = path.read_bytes()
    assert code_of(path, StoreKeys(bytes(32))) == "key_of_other_store"
    spoilt(path, 5 * PAGE + 77)
    assert code_of(path) == "store_damaged"
    path.write_bytes(whole[:-1000])
    assert code_of(path) == "store_cut_short"
    path.write_bytes(b"these are no tables, " * 400)
    assert code_of(path) == "not_our_file"
    english = load_language("en")
    told = {sentence(code, {"file": "kiosk.store", "pages": (6,), "bytes": 1}, english) for code in (
        "key_of_other_store", "store_damaged", "store_cut_short", "not_our_file")}
    assert len(told) == 4


@pytest.mark.parametrize("place", [0, 3, 15, 16, 100, PAGE - 1, PAGE, 3 * PAGE + 2000, -1])
def test_a_flipped_byte_anywhere_is_called_damage(path, place):
    spoilt(path, place)
    assert code_of(path) == "store_damaged"


@pytest.mark.parametrize("bytes_left", [PAGE, 4 * PAGE, -PAGE, -5 * PAGE, 17, -1])
def test_a_file_whose_end_is_missing_is_called_cut_short_or_damaged_when_it_is_opened(path, bytes_left):
    path.write_bytes(path.read_bytes()[:bytes_left])
    with pytest.raises(Refused) as refusal:
        open_file(path, KEYS)
    assert refusal.value.code == "store_cut_short"


def test_opening_alone_finds_a_first_page_that_is_damaged_and_names_it(path):
    spoilt(path, 500)
    with pytest.raises(Refused) as refusal:
        open_file(path, KEYS)
    assert (refusal.value.code, refusal.value.values["pages"]) == ("store_damaged", (1,))


def test_reading_on_a_damaged_page_says_so_and_not_something_else(path):
    connection = connect_file(path, KEYS)
    root = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'trial'").fetchone()[0]
    connection.close()
    spoilt(path, (root - 1) * PAGE + 9)
    store = store_on(open_file(path, KEYS), KEYS.audit)
    assert store.visit(Examples().visit.id)
    with pytest.raises(Refused, match="store_damaged"):
        store.trials_of(Examples().visit.id)


def test_a_plain_store_of_earlier_days_and_chance_are_told_apart(path, tmp_path):
    plain = tmp_path / "plain.store"
    connection = sqlite3.connect(plain)
    connection.execute("CREATE TABLE notes (text)")
    connection.commit()
    connection.close()
    assert code_of(plain) == "not_our_file"
    chance = tmp_path / "chance.store"
    chance.write_bytes(os.urandom(8 * PAGE))
    assert code_of(chance) == "key_of_other_store"


def test_the_driver_without_the_key_reads_nothing(path):
    with pytest.raises(sqlite3.DatabaseError):
        sqlite3.connect(path).execute("SELECT count(*) FROM sqlite_master").fetchone()


def test_each_commit_waits_for_the_disk(path):
    connection = connect_file(path, KEYS)
    settings = [connection.execute(f"PRAGMA {name}").fetchone()[0] for name in (
        "journal_mode", "synchronous", "foreign_keys", "recursive_triggers", "temp_store", "secure_delete")]
    connection.close()
    assert settings == ["wal", 2, 1, 1, 2, 1]
