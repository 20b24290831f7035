"""Keys: published vectors of each step, slots, the recovery code, waits; nothing in clear in any file."""

import json
from datetime import timedelta

import numpy as np
import pytest
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.keywrap import aes_key_wrap

from kiosk.base.errors import Refused
from kiosk.storage.key_file import KeyFile, wait_s
from kiosk.storage.keys import Cost, check_passphrase, derived, plain_code, recovery_code
from kiosk.storage.unlocked_store import IDLE_S, MOST_WRONG_PINS, UnlockedStore
from tests.storage.examples import BEGINS, KEYS, new_ids

LIGHT = Cost(1, 64)
WORDS, OTHER = "a lamp beside the harbour wall", "three grey boats in the rain"


class Clock:
    now = BEGINS

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def slots(tmp_path, clock):
    rng = np.random.default_rng(5)
    return KeyFile(tmp_path / "kiosk.store.keys", rng.bytes, clock, LIGHT)


def test_argon2id_gives_the_vector_of_its_standard():
    # RFC 9106 (2021), section 5.3, Argon2id test vector.
    key = Argon2id(salt=b"\x02" * 16, length=32, iterations=3, lanes=4, memory_cost=32, secret=b"\x03" * 8,
                   ad=b"\x04" * 12).derive(b"\x01" * 32)
    assert key.hex() == "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"


def test_key_wrap_gives_the_vector_of_its_standard():
    # RFC 3394 (2002), section 4.6: 256 bits of key data with a 256-bit key.
    key = bytes(range(32))
    data = bytes.fromhex("00112233445566778899AABBCCDDEEFF000102030405060708090A0B0C0D0E0F")
    assert aes_key_wrap(key, data).hex().upper() == (
        "28C9F404C4B810F4CBCCB35CFB87F8263F5786E2D80ED326CBC7F0E71A99F43BFB988B9B7A02DD21")


def test_each_use_has_its_own_key_and_none_is_the_data_key():
    used = {KEYS.data, KEYS.database, KEYS.audit, KEYS.backup, derived(KEYS.data, "salt", 32)}
    assert len(used) == 5
    assert KEYS.data.hex() not in repr(KEYS) and str(KEYS.data) not in repr(KEYS)


def test_a_slot_opens_with_its_own_name_and_passphrase_only(slots, clock):
    first, second = (new_ids(seed)() for seed in (1, 2))
    keys, _ = slots.create(first, "North", WORDS)
    slots.put(keys, second, "South", OTHER)
    assert slots.unlock("north", WORDS) == (keys, first)
    assert slots.unlock("South", OTHER) == (keys, second)
    for name, words in (("South", WORDS), ("North", OTHER), ("West", WORDS)):
        with pytest.raises(Refused, match="wrong_passphrase"):
            slots.unlock(name, words)
        clock.now += timedelta(seconds=61)


def test_a_passphrase_typed_with_other_unicode_forms_opens_too(slots):
    keys, _ = slots.create(new_ids()(), "site", "fünf graue Boote im Regen")
    assert slots.unlock("site", "fu\u0308nf graue Boote im Regen")[0] == keys


def test_changing_a_passphrase_rewrites_one_slot_and_a_leaver_has_none(slots, clock):
    first, second = (new_ids(seed)() for seed in (1, 2))
    keys, _ = slots.create(first, "North", WORDS)
    slots.put(keys, second, "South", OTHER)
    slots.put(keys, second, "South", WORDS + " again")
    assert slots.unlock("South", WORDS + " again")[0] == keys
    slots.remove(second)
    with pytest.raises(Refused, match="wrong_passphrase"):
        slots.unlock("South", WORDS + " again")
    with pytest.raises(Refused, match="last_slot"):
        slots.remove(first)


def test_the_printed_code_opens_and_a_new_one_replaces_it(slots, clock):
    keys, code = slots.create(new_ids()(), "site", WORDS)
    assert len(plain_code(code)) * 5 == 160
    assert slots.recover(code.lower().replace("-", " ")) == keys
    new = slots.new_recovery(keys)
    assert slots.recover(new) == keys
    with pytest.raises(Refused, match="wrong_recovery_code"):
        slots.recover(code)


def test_wrong_tries_wait_longer_each_time_up_to_a_minute_and_a_right_one_ends_it(slots, clock):
    slots.create(new_ids()(), "site", WORDS)
    waits = []
    for _ in range(9):
        with pytest.raises(Refused, match="wrong_passphrase"):
            slots.unlock("site", OTHER)
        with pytest.raises(Refused, match="wait_to_try") as refusal:
            slots.unlock("site", WORDS)
        waits.append(refusal.value.values["wait_s"])
        clock.now += timedelta(seconds=waits[-1])
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60] == [wait_s(n) for n in range(1, 10)]
    slots.unlock("site", WORDS)
    with pytest.raises(Refused, match="wrong_passphrase"):
        slots.unlock("site", OTHER)
    clock.now += timedelta(seconds=1)
    slots.unlock("site", WORDS)


def test_a_clock_put_back_does_not_lock_anyone_out_for_good(slots, clock):
    slots.create(new_ids()(), "site", WORDS)
    with pytest.raises(Refused, match="wrong_passphrase"):
        slots.unlock("site", OTHER)
    clock.now -= timedelta(days=400)
    slots.unlock("site", WORDS)


def test_the_key_file_tells_no_key_no_passphrase_no_name_and_only_its_owner_may_read_it(slots):
    keys, code = slots.create(new_ids()(), "Northcliffe", WORDS)
    content = slots.path.read_bytes()
    secrets = (keys.data, keys.database, WORDS.encode(), b"Northcliffe", plain_code(code).encode())
    assert not any(one in content or one.hex().encode() in content for one in secrets)
    assert slots.path.stat().st_mode & 0o077 == 0


def test_the_same_passphrase_in_two_slots_gives_different_blobs(slots):
    keys, _ = slots.create(new_ids(1)(), "a", WORDS)
    slots.put(keys, new_ids(2)(), "b", WORDS)
    blobs = [slot["blob"] for slot in json.loads(slots.path.read_text())["slots"]]
    assert len(set(blobs)) == 3


@pytest.mark.parametrize(("passphrase", "code"), [
    ("fourteen signs", "passphrase_short"), ("a" * 15, "passphrase_easily_guessed"),
    ("x y z " * 60, "passphrase_long")])
def test_weak_passphrases_are_refused_before_anything_is_written(slots, passphrase, code):
    with pytest.raises(Refused, match=code):
        slots.create(new_ids()(), "site", passphrase)
    assert not slots.exists()
    check_passphrase(WORDS)


def test_a_second_set_up_and_a_taken_name_are_refused(slots):
    keys, _ = slots.create(new_ids()(), "site", WORDS)
    with pytest.raises(Refused, match="keys_exist"):
        slots.create(new_ids(2)(), "site", WORDS)
    with pytest.raises(Refused, match="name_taken"):
        slots.put(keys, new_ids(2)(), "SITE", OTHER)


@pytest.mark.parametrize("content", [b"", b"[]", b'{"format": 2, "slots": []}', b"\xff\xfe"])
def test_a_key_file_that_is_none_is_refused(slots, content):
    slots.path.write_bytes(content)
    with pytest.raises(Refused, match="keys_unreadable"):
        slots.unlock("site", WORDS)


def test_a_code_has_160_random_bits():
    rng = np.random.default_rng(1)
    codes = [plain_code(recovery_code(rng.bytes)) for _ in range(300)]
    assert len(set(codes)) == 300 and all(len(set(column)) > 25 for column in zip(*codes, strict=True))


class Closing:
    closed = False

    def close(self):
        self.closed = True


def test_fifteen_untouched_minutes_drop_the_keys_but_never_in_a_visit():
    store = Closing()
    unlocked = UnlockedStore(store, KEYS, 0.0)
    unlocked.touched(100.0)
    assert unlocked.pass_time(100.0 + IDLE_S - 0.1, in_visit=False)
    assert unlocked.pass_time(100.0 + 9 * IDLE_S, in_visit=True)
    assert unlocked.pass_time(100.0 + 10 * IDLE_S - 1, in_visit=False) and unlocked.keys == KEYS
    assert not unlocked.pass_time(100.0 + 10 * IDLE_S, in_visit=False)
    assert store.closed
    for name in ("store", "keys"):
        with pytest.raises(Refused, match="store_locked"):
            getattr(unlocked, name)


def test_five_wrong_pins_in_a_row_drop_the_keys():
    unlocked = UnlockedStore(Closing(), KEYS, 0.0)
    answers = [unlocked.pin_tried(right) for right in [False] * 4 + [True] + [False] * MOST_WRONG_PINS]
    assert answers == [True] * 9 + [False]
