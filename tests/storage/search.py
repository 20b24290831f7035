"""A search for planted words, samples and pages through every byte a kiosk leaves."""

import base64
import os
import struct
from collections.abc import Iterator
from pathlib import Path

FAMILY, GIVEN, CODE, BIRTH = "Quillfeather", "Wilhelmina", "ZQ-9981-K", "1954-05-17"
NOTE = "wore a crimson glove"
WORDS = "a lamp beside the harbour wall"

def words(*planted: str) -> dict[str, bytes]:
    """Each word as UTF-8, UTF-16, hexadecimal digits and base64 (its middle, whatever stands before it)."""
    found = {}
    for word in planted:
        plain = word.encode()
        found[word] = plain
        found[f"{word}, UTF-16"] = word.encode("utf-16-le")
        found[f"{word}, hex"] = plain.hex().encode()
        for shift in range(3):
            found[f"{word}, base64 {shift}"] = base64.b64encode(b"\0" * shift + plain)[4:len(plain) // 3 * 4]
    return found


def touches(told: dict[str, list]) -> dict[str, bytes]:
    """A run of touches as columns and as pairs, float64 and int64, and as text of JSON, CSV and a list."""
    found = {}
    for name in ("t_ns", "x_raw", "y_raw", "x_mm", "y_mm"):
        values = told[name]
        kind = "q" if name == "t_ns" else "d"
        for order in "<>":
            found[f"{name} {order}{kind}"] = struct.pack(f"{order}{len(values)}{kind}", *values)
        for between in (",", ", ", "\n"):
            found[f"{name} text {between!r}"] = between.join(map(repr, values)).encode()
    for x, y in (("x_raw", "y_raw"), ("x_mm", "y_mm")):
        pairs = [value for pair in zip(told[x], told[y], strict=True) for value in pair]
        found[f"{x} {y} pairs"] = struct.pack(f"<{len(pairs)}d", *pairs)
        for form in ("{!r},{!r}", "{:g},{:g}", "{:.3f},{:.3f}", "{:.1f} {:.1f}"):
            found[f"{x} {y} as {form}"] = form.format(told[x][0], told[y][0]).encode()
    return found


def page(pdf: bytes) -> dict[str, bytes]:
    """Pieces from all over a PDF: its text is packed, so its words would not be found in a copy of it."""
    return {"%PDF": b"%PDF-1"} | pieces("page", pdf, 40)


def pieces(name: str, content: bytes, count: int) -> dict[str, bytes]:
    """Pieces of 32 bytes from all over a content, past its head."""
    places = range(200, len(content) - 32, max(1, len(content) // count))
    return {f"{name}, byte {place}": content[place:place + 32] for place in places}


def searched(folder: Path, wanted: dict[str, bytes]) -> set[tuple[str, str]]:
    """Which file holds what, below a folder; a file that went meanwhile holds nothing."""
    found = set()
    for path in folder.rglob("*"):
        if path.is_file() and not path.is_symlink():
            found |= within(str(path.relative_to(folder)), path, wanted)
    return found


def held_open(pid: int, folder: Path, wanted: dict[str, bytes]) -> set[tuple[str, str]]:
    """The same in files a process has open to write, those that have no name any more among them."""
    found: set[tuple[str, str]] = set()
    if not os.access(f"/proc/{pid}/fd", os.R_OK):
        return found
    for link, place in _open_files(pid):
        if not place.startswith(str(folder)):
            found |= within(f"open elsewhere: {place}", link, wanted)
        elif place.endswith(" (deleted)"):
            found |= within(f"open without a name: {place}", link, wanted)
    return found


def _open_files(pid: int) -> Iterator[tuple[Path, str]]:
    for link in Path(f"/proc/{pid}/fd").iterdir():
        place = os.readlink(link)
        if place.startswith("/") and not place.startswith(("/dev/", "/proc/", "/sys/")) and link.is_file():
            yield link, place


def within(name: str, path: Path, wanted: dict[str, bytes]) -> set[tuple[str, str]]:
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return set()
    return {(name, what) for what, piece in wanted.items() if piece in content}
