"""Backups: a compact copy made in a separate process, checked, sealed, and renamed into place; and restoring.

A backup is a folder named by its time in UTC: the store, its key file and `manifest.json` with hash, row
counts and the head of the audit, sealed (HMAC) under a key of its own. The last of each of 7 days and of 4
weeks is kept. A person erased from the store stays in older backups until these are rotated out.
"""

import hmac
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from hashlib import file_digest, sha256
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from kiosk.base.canonical_json import JsonObject, canonical_json
from kiosk.base.errors import Refused
from kiosk.base.settings import PACKAGE
from kiosk.storage.audit_chain import Anchor
from kiosk.storage.column_types import utc_text
from kiosk.storage.integrity import IntegrityReport, check_integrity
from kiosk.storage.key_file import keys_beside
from kiosk.storage.keys import StoreKeys
from kiosk.storage.tables import SCHEMA_REVISION

FORMAT: Final = 1
NAME: Final = "%Y-%m-%dT%H%M%SZ"
STORE, MANIFEST, UNFINISHED = "kiosk.store", "manifest.json", ".making"
DAYS, WEEKS = 7, 4
LOGS: Final = ("-wal", "-shm", "-journal")
LONGEST_S: Final = 3600.0


@dataclass(frozen=True)
class Backup:
    """One backup: its folder, when it was made (UTC), and its manifest as read."""

    folder: Path
    made_at: datetime
    manifest: JsonObject

    @property
    def store(self) -> Path:
        """Its store file."""
        return self.folder / STORE

    @property
    def anchor(self) -> Anchor:
        """The head of the audit it holds."""
        return Anchor(self.manifest["audit"]["seq"], self.manifest["audit"]["mac"])


def make_backup(store: Path, keys: StoreKeys, folder: Path, kiosk_id: str, now: datetime, *,
                layout: int = SCHEMA_REVISION) -> Backup:
    """Make and check a new backup in `folder`, and rotate older ones out.

    `layout`: the store's own, which is older than today's before it is migrated.

    Refused: backup_stopped, backup_unsound, cannot_write.
    """
    made_at = now.astimezone(UTC).replace(microsecond=0)
    place, making = folder / made_at.strftime(NAME), folder / UNFINISHED
    try:
        shutil.rmtree(making, ignore_errors=True)
        making.mkdir(parents=True)
        _copy_in_a_process(store, making / STORE, keys)
        manifest = _manifest(making / STORE, keys, kiosk_id, made_at, layout)
        shutil.copy2(keys_beside(store), keys_beside(making / STORE))
        (making / MANIFEST).write_text(canonical_json(manifest), "utf-8")
        _flush(making)
        making.replace(place)
        _flush_folder(folder)
    except OSError as fault:
        raise Refused("cannot_write", {"file": folder.name, "why": fault.strerror or "no access"}) from fault
    finally:
        shutil.rmtree(making, ignore_errors=True)
    rotate(folder)
    return Backup(place, made_at, manifest)


def backups_in(folder: Path) -> tuple[Backup, ...]:
    """The backups in a folder, oldest first by the audit's numbers in them; other things are left out."""
    found = []
    for place in _inside(folder):
        try:
            made_at = datetime.strptime(place.name, NAME).replace(tzinfo=UTC)
            found.append(Backup(place, made_at, json.loads((place / MANIFEST).read_text("utf-8"))))
        except (ValueError, OSError):
            continue
    return tuple(sorted(found, key=_place_in_chain))


def _place_in_chain(backup: Backup) -> tuple[int, datetime]:
    try:
        return backup.anchor.seq, backup.made_at
    except (KeyError, TypeError):  # a damaged manifest is told when it is checked
        return 0, backup.made_at


def _inside(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError:  # not there yet, or a disk that is not plugged in
        return []


def kept(moments: Iterable[datetime]) -> set[datetime]:
    """Of these moments, in the order of the audit, the last of each of the 7 newest days and 4 newest weeks.

    Newest is what comes last, whatever date a clock gave it.
    """
    by_day: dict[date, datetime] = {}
    by_week: dict[tuple[int, int], datetime] = {}
    for moment in moments:
        by_day.pop(moment.date(), None)
        by_week.pop(moment.isocalendar()[:2], None)
        by_day[moment.date()] = moment
        by_week[moment.isocalendar()[:2]] = moment
    return {*list(by_day.values())[-DAYS:], *list(by_week.values())[-WEEKS:]}


def rotate(folder: Path) -> None:
    """Remove the backups that need not be kept."""
    known = backups_in(folder)
    keep = kept(one.made_at for one in known)
    for one in known:
        if one.made_at not in keep:
            shutil.rmtree(one.folder)


def check_backup(folder: Path, keys: StoreKeys, kiosk_id: str) -> IntegrityReport:
    """Check that a backup is as it was when it was made.

    Refused: backup_incomplete, backup_unsound (seal, hash, rows, pages, structure, links, audit).
    """
    for name in (STORE, keys_beside(Path(STORE)).name, MANIFEST):
        if not (folder / name).is_file():
            raise Refused("backup_incomplete", {"file": folder.name, "missing": name})
    try:
        manifest = json.loads((folder / MANIFEST).read_text("utf-8"))
    except ValueError as fault:
        raise Refused("backup_unsound", {"file": folder.name, "found": "manifest"}) from fault
    if not hmac.compare_digest(_seal(manifest, keys), str(manifest.get("seal", ""))):
        raise Refused("backup_unsound", {"file": folder.name, "found": "seal"})
    if _sha256(folder / STORE) != manifest["sha256"]:
        raise Refused("backup_unsound", {"file": folder.name, "found": "hash"})
    return _checked(folder / STORE, keys, kiosk_id, folder.name, manifest)


def restore(folder: Path, target: Path, keys: StoreKeys, kiosk_id: str, *,
            only_prove: bool = False) -> IntegrityReport:
    """Restore a backup where there is no store: a copy is checked, then renamed into place with its key file.

    The copy has a folder of its own, so that no log left beside the target (of the store that was there) is
    ever read into it; such logs are kept aside as NAME-wal.aside-1 and so on. only_prove: the copy is checked
    and removed; the target's folder need not exist. Refused: store_in_the_way and as check_backup.
    """
    if not only_prove and target.exists():
        raise Refused("store_in_the_way", {"file": target.name})
    check_backup(folder, keys, kiosk_id)
    try:
        if not only_prove:
            target.parent.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=None if only_prove else target.parent, prefix=".restoring-") as place:
            copy = Path(place) / STORE
            _copied(folder / STORE, copy)
            report = _checked(copy, keys, kiosk_id, folder.name, None)
            if not only_prove:
                set_logs_aside(target)
                if not keys_beside(target).exists():
                    _copied(keys_beside(folder / STORE), keys_beside(target))
                copy.replace(target)
                _flush_folder(target.parent)
    except OSError as fault:
        raise Refused("cannot_write", {"file": target.name, "why": fault.strerror or "no access"}) from fault
    return report


def set_logs_aside(store: Path) -> None:
    """Give the logs beside a store that is not there other names: they are another store's."""
    for log in (store.with_name(store.name + ending) for ending in LOGS):
        if log.exists():
            aside = (log.with_name(f"{log.name}.aside-{number}") for number in count(1))
            log.rename(next(one for one in aside if not one.exists()))


def _copied(file: Path, to: Path) -> None:
    """Copy a file, for its owner alone, and wait until the disk has it."""
    new = os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with file.open("rb") as source, open(new, "wb") as out:
        shutil.copyfileobj(source, out)
        out.flush()
        os.fsync(out.fileno())


def _copy_in_a_process(store: Path, copy: Path, keys: StoreKeys) -> None:
    asked = json.dumps({"from": str(store.resolve()), "to": str(copy.resolve()), "key": keys.data.hex()})
    ran = subprocess.run(
        [sys.executable, "-m", "kiosk.storage.backup_process", "copy"], input=asked + "\n", encoding="utf-8",
        capture_output=True, timeout=LONGEST_S, check=False, cwd=PACKAGE.parent)
    if ran.returncode:
        raise Refused("backup_stopped", {"found": (ran.stderr.strip().splitlines() or ["no reason"])[-1]})


def _manifest(copy: Path, keys: StoreKeys, kiosk_id: str, made_at: datetime, layout: int) -> JsonObject:
    report = _checked(copy, keys, kiosk_id, copy.name, None, older=layout < SCHEMA_REVISION)
    head = report.audit.head
    manifest = {"format": FORMAT, "made_at": utc_text(made_at), "kiosk_id": kiosk_id,
                "schema": layout, "sha256": _sha256(copy), "rows": report.counts,
                "audit": {"seq": head.seq, "mac": head.mac}}
    return manifest | {"seal": _seal(manifest, keys)}


def _checked(store: Path, keys: StoreKeys, kiosk_id: str, name: str,
             manifest: JsonObject | None, *, older: bool = False) -> IntegrityReport:
    anchors = [] if manifest is None else [Anchor(manifest["audit"]["seq"], manifest["audit"]["mac"])]
    report = check_integrity(store, keys, kiosk_id, anchors, older=older)
    fault = report.fault
    if fault is None and manifest is not None and report.counts != manifest["rows"]:
        fault = "rows"
    if fault is not None:
        raise Refused("backup_unsound", {"file": name, "found": fault})
    return report


def _seal(manifest: JsonObject, keys: StoreKeys) -> str:
    plain = {name: value for name, value in manifest.items() if name != "seal"}
    return hmac.new(keys.backup, canonical_json(plain).encode(), sha256).hexdigest()


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def _flush(folder: Path) -> None:
    for path in folder.iterdir():
        with path.open("rb+") as file:
            os.fsync(file.fileno())
    _flush_folder(folder)


def _flush_folder(folder: Path) -> None:
    """Wait until the disk has the folder's names; on Windows no folder can be opened."""
    if os.name != "posix":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
