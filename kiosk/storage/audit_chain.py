"""The audit as a chain: each line has a keyed hash (mac) over itself and the mac of the line before.

A line says who did what to which record, and that record's hash; never its content. mac = HMAC-SHA256 (RFC
2104) under a key of its own, over the canonical JSON of the line without mac and sha256. A changed, removed
or moved line breaks the chain. Lines cut from the end do not: they are found only by comparison with an
anchor kept elsewhere (the head of the audit on a page, in a backup's manifest or on the server). Someone with
the key could write a new chain; the anchors on paper would contradict that one too. Decision storage-7.
"""

import hmac
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Final, Literal

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.column_types import Query, Row, canonical_row, coerced

PRINTED_DIGITS: Final = 32  # of a mac on a page: 128 bits
GROUP_DIGITS: Final = 8
LEAST_DIGITS: Final = 16  # of an anchor: fewer would fit another chain too easily
MOST_REMOVED: Final = 1000  # missing numbers in a row that are told one by one
MOST_TRIED_AS_MOVED: Final = 200  # wrong lines up to which each is tried in the place of every other
EPOCH_LINES: Final = 10**9  # numbers of one epoch; a restored store goes on in another, later one
NEW_EPOCH: Final = "new_epoch"
Kind = Literal["changed", "removed", "moved", "cut_off", "other_chain"]


@dataclass(frozen=True)
class Anchor:
    """The number and mac of one line; the mac may be only its first digits."""

    seq: int
    mac: str

    def __str__(self) -> str:
        """As printed: the number, then the first 32 digits of the mac in groups of eight.

        >>> str(Anchor(12, "0123456789abcdef" * 4))
        '12-01234567-89abcdef-01234567-89abcdef'
        """
        shown = self.mac[:PRINTED_DIGITS]
        groups = [shown[start:start + GROUP_DIGITS] for start in range(0, len(shown), GROUP_DIGITS)]
        return "-".join([str(self.seq), *groups]) if self.seq else ""


@dataclass(frozen=True)
class Break:
    """One fault of the chain, and the number of the line at which it was found."""

    kind: Kind
    seq: int


@dataclass(frozen=True)
class ChainCheck:
    """The result of a check: the number of lines, the last one, and every break in order of lines."""

    lines: int
    head: Anchor
    breaks: tuple[Break, ...]


def anchor_from(text: str) -> Anchor:
    """An anchor as printed, with or without its groups; Refused `not_an_anchor`."""
    seq, groups = (part.strip() for part in text.lower().partition("-")[::2])
    mac = re.sub(r"[-\s]", "", groups)
    if not seq.isdecimal() or len(mac) < LEAST_DIGITS or not set(mac) <= set("0123456789abcdef"):
        raise Refused("not_an_anchor", {"found": text})
    return Anchor(int(seq), mac)


def line_mac(key: bytes, line: Row) -> str:
    """The mac of one line, 64 hexadecimal digits."""
    plain = coerced(tables.audit, line)
    signed = {name: plain[name] for name in plain if name not in ("mac", "sha256")}
    return hmac.new(key, canonical_row(signed).encode(), sha256).hexdigest()


def last_line(kiosk_id: str) -> Query:
    """A query for the number and mac of a kiosk's last line."""
    audit = tables.audit
    of_kiosk = sa.select(audit.c.seq, audit.c.mac).where(audit.c.kiosk_id == kiosk_id)
    return of_kiosk.order_by(audit.c.seq.desc()).limit(1)


def verify(key: bytes, lines: Sequence[Row], anchors: Iterable[Anchor] = ()) -> ChainCheck:
    """Check one kiosk's lines, in order of their numbers, as a chain and against anchors from elsewhere."""
    head = Anchor(lines[-1]["seq"], lines[-1]["mac"]) if lines else Anchor(0, "")
    wrong = [line for line in lines if not _holds(key, line, line["seq"])]
    breaks = [Break(_kind_of_break(key, line, wrong), line["seq"]) for line in wrong]
    breaks += _removed(lines)
    breaks += _unlinked(lines, {one.seq for one in breaks})
    breaks += _against_anchors(anchors, {line["seq"]: line["mac"] for line in lines}, head)
    return ChainCheck(len(lines), head, tuple(sorted(set(breaks), key=lambda one: (one.seq, one.kind))))


def _holds(key: bytes, line: Row, seq: int) -> bool:
    return hmac.compare_digest(line_mac(key, {**line, "seq": seq}), str(line["mac"]))


def _kind_of_break(key: bytes, line: Row, wrong: Sequence[Row]) -> Kind:
    """Moved where the line's mac fits the number of another wrong line, else changed."""
    if len(wrong) > MOST_TRIED_AS_MOVED:
        return "changed"
    elsewhere = [other["seq"] for other in wrong if other is not line]
    return "moved" if any(_holds(key, line, seq) for seq in elsewhere) else "changed"


def _removed(lines: Sequence[Row]) -> list[Break]:
    """Numbers missing inside an epoch; an epoch begins with the line that says from which it goes on."""
    found, expected = [], 1
    for line in lines:
        due = range(expected, min(_line_before(line) + 1, expected + MOST_REMOVED))
        found += [Break("removed", one) for one in due]
        expected = line["seq"] + 1
    return found


def _unlinked(lines: Sequence[Row], known: set[int]) -> list[Break]:
    """Lines whose own mac fits but whose previous_mac is not that of the line before, itself not in doubt."""
    macs: dict[int, str] = {0: ""} | {line["seq"]: line["mac"] for line in lines}
    return [Break("changed", line["seq"]) for line in lines
            if line["seq"] not in known and (before := _line_before(line)) in macs and before not in known
            and line["previous_mac"] != macs[before]]


def _line_before(line: Row) -> int:
    if line["action"] == NEW_EPOCH and line["seq"] % EPOCH_LINES == 0 and line["object_id"].isdecimal():
        return int(line["object_id"])
    return int(line["seq"]) - 1


def _against_anchors(anchors: Iterable[Anchor], macs: Mapping[int, str], head: Anchor) -> list[Break]:
    known = [anchor for anchor in anchors if anchor.seq]
    newest = max(known, key=lambda one: one.seq, default=Anchor(0, ""))
    found = [Break("cut_off", newest.seq)] if newest.seq > head.seq else []
    return found + [Break("other_chain", one.seq) for one in known
                    if one.seq in macs and not macs[one.seq].startswith(one.mac)]
