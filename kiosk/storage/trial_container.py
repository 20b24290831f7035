"""The container of one trial's samples, format 1: readable with json, zlib and array alone.

    header line   JSON, UTF-8, ends at the first newline
    columns       the rest, one zlib stream: the columns one after another, in the header's order

The header holds `format` 1, `byte_order` "little", the axis ranges, the window's rectangle, `set_off_ns` (the
moment t = 0 on the clock of t_ns), facts of the recording, and `columns`: for each its `name`, `unit`, `type`
(int64, float64 or uint8), `n`, and `delta`, `planes`. To read a column of n values of b bytes:
planes   the n first (lowest) bytes come first, then the n second bytes, and so on: value i is bytes
         i, n + i, 2n + i, ... put together again
delta    each value is the difference from the one before (int64, wrapping), the first stands as it is

t_ns: nanoseconds of one monotonic clock. x_raw, y_raw: device units; int64 where every value is whole.
contact: 1 touching, 0 lifted. flip_t_s: seconds since the disc set off at which frames reached the display.
"""

import json
import zlib
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kiosk.base.canonical_json import JsonObject, canonical_json
from kiosk.base.errors import Refused
from kiosk.pursuit.samples import AxisRanges, RawTouch, WindowRect

FORMAT: Final = 1
LEVEL: Final = 6
Column = NDArray[Any]  # of one of the types below
_TYPES: Final = {"int64": "<i8", "float64": "<f8", "uint8": "u1"}


@dataclass(frozen=True)
class Packed:
    """What a container holds. flip_t_s: seconds from when the disc set off; facts: values that JSON holds."""

    raw: RawTouch
    set_off_ns: int
    flip_t_s: NDArray[np.float64]
    facts: JsonObject


def pack(packed: Packed) -> bytes:
    """The container's bytes; the same content gives the same bytes on the same machine."""
    raw = packed.raw
    columns = [
        _column("t_ns", "ns", raw.t_ns, delta=True),
        _whole_or_not("x_raw", raw.x_raw),
        _whole_or_not("y_raw", raw.y_raw),
        _column("contact", "1 = touching", raw.contact.astype(np.uint8)),
        _column("flip_t_s", "s", packed.flip_t_s),
    ]
    header = {
        "format": FORMAT, "byte_order": "little", "set_off_ns": packed.set_off_ns,
        "ranges": asdict(raw.ranges), "window": asdict(raw.window), "facts": packed.facts,
        "columns": [facts for facts, _ in columns],
    }
    stream = zlib.compress(b"".join(data for _, data in columns), LEVEL)
    return canonical_json(header).encode() + b"\n" + stream


def unpack(container: bytes) -> Packed:
    """The content that was packed, bit for bit; Refused `samples_unreadable`, `samples_format_unknown`."""
    try:
        line, _, rest = container.partition(b"\n")
        header = json.loads(line)
        if header["format"] != FORMAT:
            raise Refused("samples_format_unknown", {"found": header["format"], "known": FORMAT})
        columns = _columns(header["columns"], zlib.decompress(rest))
        raw = RawTouch(columns["t_ns"], columns["x_raw"], columns["y_raw"], columns["contact"],
                       AxisRanges(**header["ranges"]), WindowRect(**header["window"]))
        return Packed(raw, header["set_off_ns"], columns["flip_t_s"], header["facts"])
    except (ValueError, KeyError, TypeError, zlib.error) as fault:
        raise Refused("samples_unreadable", {"found": type(fault).__name__}) from fault


def _whole_or_not(name: str, values: NDArray[np.float64]) -> tuple[JsonObject, bytes]:
    with np.errstate(invalid="ignore"):
        whole = values.astype(np.int64)
    if whole.astype(np.float64).tobytes() == values.tobytes():
        return _column(name, "device units", whole, delta=True)
    return _column(name, "device units", values)


def _column(name: str, unit: str, values: Column, *, delta: bool = False) -> tuple[JsonObject, bytes]:
    kind = values.dtype.name
    plain = np.diff(values, prepend=values.dtype.type(0)) if delta else values
    little = np.ascontiguousarray(plain, dtype=_TYPES[kind])
    planes = little.view(np.uint8).reshape(len(little), little.itemsize).T
    facts = {"name": name, "unit": unit, "type": kind, "n": len(values), "delta": delta, "planes": True}
    return facts, planes.tobytes()


def _columns(described: list[JsonObject], data: bytes) -> dict[str, Column]:
    columns, start = {}, 0
    for facts in described:
        kind, n = np.dtype(_TYPES[facts["type"]]), facts["n"]
        end = start + n * kind.itemsize
        planes = np.frombuffer(data[start:end], dtype=np.uint8).reshape(kind.itemsize, n)
        values = np.ascontiguousarray(planes.T).view(kind).reshape(n)
        columns[facts["name"]] = np.cumsum(values, dtype=np.int64) if facts["delta"] else values
        start = end
    if start != len(data):
        raise ValueError(f"columns must end with the data, got {len(data) - start} bytes more")
    return columns
