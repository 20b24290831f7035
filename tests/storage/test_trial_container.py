"""The container of samples: read back by nothing but the standard library, and refused where it is broken."""

import array
import json
import sys
import zlib

import numpy as np
import pytest

from kiosk.base.errors import Refused
from kiosk.storage.trial_container import Packed, pack, unpack
from tests.storage.examples import Examples


def packed() -> Packed:
    record = Examples().trial().record
    return Packed(record.raw, record.set_off_ns, record.facts.flip_t_s, {"input_fuzz": 0.1})


def read_with_the_standard_library(container: bytes) -> tuple[dict, dict[str, list]]:
    """The reader of the module's documentation, word for word: json, zlib, array."""
    line, _, rest = container.partition(b"\n")
    header, data, columns, start = json.loads(line), zlib.decompress(rest), {}, 0
    for column in header["columns"]:
        code, size = {"int64": ("q", 8), "float64": ("d", 8), "uint8": ("B", 1)}[column["type"]]
        n = column["n"]
        planes = data[start:start + n * size]
        start += n * size
        values = array.array(code, b"".join(bytes(planes[b * n + i] for b in range(size)) for i in range(n)))
        if sys.byteorder == "big":
            values.byteswap()
        if column["delta"]:
            for i in range(1, n):
                values[i] += values[i - 1]
        columns[column["name"]] = values.tolist()
    return header, columns


def test_the_standard_library_reads_the_same_values():
    given = packed()
    header, columns = read_with_the_standard_library(pack(given))
    assert columns["t_ns"] == given.raw.t_ns.tolist()
    assert columns["x_raw"] == given.raw.x_raw.tolist()
    assert columns["y_raw"] == given.raw.y_raw.tolist()
    assert columns["contact"] == given.raw.contact.astype(int).tolist()
    assert columns["flip_t_s"] == given.flip_t_s.tolist()
    assert (header["set_off_ns"], header["ranges"]["right"], header["window"]["width_px"]) == (
        given.set_off_ns, 16383.0, 1280)


def test_what_is_unpacked_is_bit_for_bit_what_was_packed():
    given, found = packed(), unpack(pack(packed()))
    for name in ("t_ns", "x_raw", "y_raw", "contact"):
        assert getattr(found.raw, name).tobytes() == getattr(given.raw, name).tobytes()
    assert np.signbit(found.raw.y_raw[0])
    assert (found.raw.ranges, found.raw.window) == (given.raw.ranges, given.raw.window)
    assert found.facts == given.facts


def test_whole_values_with_a_minus_zero_keep_its_sign():
    raw = packed().raw
    x_raw = raw.x_raw.copy()
    x_raw[7] = -0.0
    signed = type(raw)(raw.t_ns, x_raw, raw.y_raw, raw.contact, raw.ranges, raw.window)
    assert unpack(pack(Packed(signed, 0, np.empty(0), {}))).raw.x_raw.tobytes() == x_raw.tobytes()


def test_an_empty_recording_and_huge_stamps_survive():
    raw = packed().raw
    for t_ns in ([], [-2**63, 2**63 - 1]):
        n = len(t_ns)
        one = type(raw)(np.array(t_ns, dtype=np.int64), np.zeros(n), np.zeros(n), np.ones(n, bool),
                        raw.ranges, raw.window)
        assert unpack(pack(Packed(one, 0, np.empty(0), {}))).raw.t_ns.tolist() == t_ns


def test_the_same_content_gives_the_same_bytes():
    assert pack(packed()) == pack(packed())


@pytest.mark.parametrize("spoil", [
    lambda c: c[:-30], lambda c: b"", lambda c: c.replace(b'"n":2000', b'"n":1999'), lambda c: b"\x00" + c])
def test_a_broken_container_is_refused(spoil):
    with pytest.raises(Refused, match="samples_unreadable"):
        unpack(spoil(pack(packed())))


def test_an_unknown_format_is_refused_by_its_number():
    with pytest.raises(Refused) as refusal:
        unpack(pack(packed()).replace(b'"format":1', b'"format":2'))
    assert refusal.value.code == "samples_format_unknown"
    assert refusal.value.values["found"] == 2
