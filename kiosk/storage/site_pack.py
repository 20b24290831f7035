"""A site pack: the reference tables of one kiosk as one file for the clinic's other kiosks.

A zip with `pack.json` (names, versions, hashes) and the tables' folders. Its fingerprint, short enough to be
read out, shows that the file loaded is the file made. It holds no person's data.
"""

import io
import json
import zipfile
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final

import sqlalchemy as sa

from kiosk.base.canonical_json import JsonObject, canonical_json
from kiosk.base.errors import Refused
from kiosk.storage import tables
from kiosk.storage.rows import Ledger

FORMAT: Final = 1
LISTING: Final = "pack.json"
EPOCH: Final = (1980, 1, 1, 0, 0, 0)
GROUP, GROUPS = 4, 5


@dataclass(frozen=True)
class SitePack:
    """For each table: sha256, name, version and status, and its folder as the bytes of a zip."""

    tables: tuple[tuple[JsonObject, bytes], ...]

    @property
    def fingerprint(self) -> str:
        """Five groups of four characters over everything in it."""
        listed = [facts | {"zip": sha256(folder).hexdigest()} for facts, folder in self.tables]
        digest = sha256(canonical_json(listed).encode()).hexdigest().upper()
        return "-".join(digest[start:start + GROUP] for start in range(0, GROUP * GROUPS, GROUP))


def pack_of(ledger: Ledger) -> SitePack:
    """The tables this kiosk keeps, in order of their hashes."""
    table = tables.reference_table
    rows = ledger.all(sa.select(table).order_by(table.c.sha256))
    names = ("sha256", "name", "version", "status")
    return SitePack(tuple(({name: row[name] for name in names}, row["folder"]) for row in rows))


def write_pack(pack: SitePack, file: Path) -> None:
    """The pack as a file; the same content gives the same bytes."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        listing = canonical_json({"format": FORMAT, "tables": [facts for facts, _ in pack.tables]})
        archive.writestr(zipfile.ZipInfo(LISTING, EPOCH), listing)
        for facts, folder in pack.tables:
            archive.writestr(zipfile.ZipInfo(f"{facts['sha256']}.zip", EPOCH), folder)
    try:
        file.write_bytes(content.getvalue())
    except OSError as fault:
        raise Refused("cannot_write", {"file": file.name, "why": fault.strerror or "no access"}) from fault


def read_pack(file: Path) -> SitePack:
    """A pack from a file; Refused `site_pack_unreadable` or `site_pack_changed`."""
    from norms import read_zip

    try:
        with zipfile.ZipFile(file) as archive:
            listing = json.loads(archive.read(LISTING))["tables"]
            pack = SitePack(tuple((facts, archive.read(f"{facts['sha256']}.zip")) for facts in listing))
    except (OSError, ValueError, KeyError, TypeError, zipfile.BadZipFile) as fault:
        raise Refused("site_pack_unreadable", {"file": file.name}) from fault
    if any(read_zip(folder).sha256 != facts["sha256"] for facts, folder in pack.tables):
        raise Refused("site_pack_changed", {"file": file.name})
    return pack


def load_pack(ledger: Ledger, pack: SitePack) -> int:
    """Add the tables that the store does not have; returns how many."""
    table, added = tables.reference_table, 0
    with ledger.writing() as writing:
        for facts, folder in pack.tables:
            if not writing.exists(table, facts["sha256"]):
                writing.note("load_reference_table", table, writing.add(table, {**facts, "folder": folder}))
                added += 1
    return added
