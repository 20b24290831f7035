"""The staff's PIN in a file: found right or wrong, not to be read from it."""

import hashlib
import stat

import pytest

from kiosk.base.errors import Refused
from kiosk.storage.pin_file import PinFile, stretched


def test_the_right_pin_opens_and_any_other_does_not(tmp_path):
    pins = PinFile(tmp_path / "kiosk.pin", lambda n: b"s" * n)
    assert not pins.known()
    pins.keep("481516")
    assert pins.known() and pins.right("481516")
    assert not any(pins.right(other) for other in ("481517", "48151", "", "4815166"))


def test_the_file_is_its_owner_s_alone_and_holds_no_pin(tmp_path):
    path = tmp_path / "kiosk.pin"
    PinFile(path, lambda n: bytes(range(n))).keep("481516")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert "481516" not in path.read_text()


def test_the_key_is_that_of_the_published_vectors():
    """RFC 7914, section 12: scrypt("", "", N=16, r=1, p=1) begins 77 d6 57 62 38 65 7b 20."""
    assert stretched("", b"", 16, 1, 1)[:8] == bytes.fromhex("77d6576238657b20")
    assert stretched("481516", b"salt") == hashlib.scrypt(
        b"481516", salt=b"salt", n=2**15, r=8, p=1, maxmem=2**26, dklen=32)


def test_no_pin_and_a_broken_file_are_refused(tmp_path):
    pins = PinFile(tmp_path / "kiosk.pin", lambda n: b"s" * n)
    with pytest.raises(Refused, match="no_pin_yet"):
        pins.right("481516")
    (tmp_path / "kiosk.pin").write_text("{}")
    with pytest.raises(Refused, match="pin_file_unreadable"):
        pins.right("481516")
