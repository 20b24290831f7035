"""The audit as a chain: each line bears a keyed value over itself and over the value of the line before.

A line says who did what to which record, and that record's hash; never its content. mac = HMAC-SHA256 (RFC
2104) under a key of its own, over the canonical JSON of the line without mac and sha256. A changed, removed
or moved line breaks the chain. Lines cut from the end leave a chain that holds: they are found only against
an anchor kept elsewhere, the head of the audit on a page, in a backup's manifest or on the server. Whoever
holds the key could write a new chain; anchors on paper speak against that too.
"""

import hmac
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Final, Literal

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.column_types import canonical_row, coerced

PRINTED: Final = 32  # characters of a mac on a page: 128 bits
GROUP: Final = 8
LEAST: Final = 16  # characters of an anchor: fewer would fit another chain too easily
FEW: Final = 200  # wrong lines up to which each is tried in the place of every other
Kind = Literal["changed", "removed", "moved", "cut_off", "other_chain"]


@dataclass(frozen=True)
class Anchor:
    """A line's number and value; the value may be cut to its first characters."""

    seq: int
    mac: str

    def __str__(self) -> str:
        """As on a page: the number, then the value in groups that can be typed again.

        >>> str(Anchor(12, "0123456789abcdef" * 4))
        '12-01234567-89abcdef-01234567-89abcdef'
        """
        shown = self.mac[:PRINTED]
        groups = [shown[start:start + GROUP] for start in range(0, len(shown), GROUP)]
        return "-".join([str(self.seq), *groups]) if self.seq else ""


@dataclass(frozen=True)
class Break:
    """One thing wrong with the chain: a line changed, removed, moved or cut off, by its number."""

    kind: Kind
    seq: int


@dataclass(frozen=True)
class Verified:
    """What checking found: lines, the head, and every break in order."""

    lines: int
    head: Anchor
    breaks: tuple[Break, ...]


def anchor_from(text: str) -> Anchor:
    """An anchor as printed, in groups or not; Refused `not_an_anchor`."""
    seq, groups = (part.strip() for part in text.lower().partition("-")[::2])
    mac = re.sub(r"[-\s]", "", groups)
    if not seq.isdecimal() or len(mac) < LEAST or not set(mac) <= set("0123456789abcdef"):
        raise Refused("not_an_anchor", {"found": text})
    return Anchor(int(seq), mac)


def line_mac(key: bytes, line: Mapping[str, Any]) -> str:
    """The keyed value of one line."""
    plain = coerced(tables.audit, line)
    signed = {name: plain[name] for name in plain if name not in ("mac", "sha256")}
    return hmac.new(key, canonical_row(signed).encode(), sha256).hexdigest()


def last_line(kiosk_id: str) -> sa.Select[Any]:
    """The number and value of a kiosk's last line."""
    audit = tables.audit
    of_kiosk = sa.select(audit.c.seq, audit.c.mac).where(audit.c.kiosk_id == kiosk_id)
    return of_kiosk.order_by(audit.c.seq.desc()).limit(1)


def verify(key: bytes, lines: Sequence[Mapping[str, Any]], anchors: Iterable[Anchor] = ()) -> Verified:
    """Check a kiosk's lines, in order of their numbers, against the chain and against what is known of it."""
    head = Anchor(lines[-1]["seq"], lines[-1]["mac"]) if lines else Anchor(0, "")
    wrong = [line for line in lines if not _holds(key, line, line["seq"])]
    breaks = [Break(_why(key, line, wrong), line["seq"]) for line in wrong]
    breaks += _removed(lines)
    breaks += _unlinked(lines, {one.seq for one in breaks})
    breaks += _against(anchors, {line["seq"]: line["mac"] for line in lines}, head)
    return Verified(len(lines), head, tuple(sorted(set(breaks), key=lambda one: (one.seq, one.kind))))


def _holds(key: bytes, line: Mapping[str, Any], seq: int) -> bool:
    return hmac.compare_digest(line_mac(key, {**line, "seq": seq}), str(line["mac"]))


def _why(key: bytes, line: Mapping[str, Any], wrong: Sequence[Mapping[str, Any]]) -> Kind:
    """A line that holds under another wrong line's number has been moved."""
    elsewhere = [other["seq"] for other in wrong if other is not line]
    return "moved" if len(wrong) <= FEW and any(_holds(key, line, seq) for seq in elsewhere) else "changed"


def _removed(lines: Sequence[Mapping[str, Any]]) -> list[Break]:
    present, last = {line["seq"] for line in lines}, lines[-1]["seq"] if lines else 0
    return [Break("removed", seq) for seq in range(1, last) if seq not in present]


def _unlinked(lines: Sequence[Mapping[str, Any]], known: set[int]) -> list[Break]:
    """Lines that hold by themselves but do not follow from the one before, where that one is not in doubt."""
    macs: dict[int, str] = {0: ""} | {line["seq"]: line["mac"] for line in lines}
    return [Break("changed", line["seq"]) for line in lines
            if line["seq"] not in known and line["seq"] - 1 in macs and line["seq"] - 1 not in known
            and line["previous_mac"] != macs[line["seq"] - 1]]


def _against(anchors: Iterable[Anchor], macs: Mapping[int, str], head: Anchor) -> list[Break]:
    known = [anchor for anchor in anchors if anchor.seq]
    newest = max(known, key=lambda one: one.seq, default=Anchor(0, ""))
    found = [Break("cut_off", newest.seq)] if newest.seq > head.seq else []
    return found + [Break("other_chain", one.seq) for one in known
                    if one.seq in macs and not macs[one.seq].startswith(one.mac)]
