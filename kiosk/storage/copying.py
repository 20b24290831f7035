"""The copies of one store while it is open: the one on its way, the newest, and why the last was not made."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from kiosk.base.errors import Refused
from kiosk.storage.backup import backups_in
from kiosk.storage.backup_run import BackupRun, Copied
from kiosk.storage.keys import StoreKeys
from kiosk.visits.site_work import Backups
from norms import Refusal


class Copying:
    """`now` gives the moment that a copy is named by, and the zone in which its moment is told."""

    def __init__(self, store: Path, keys: StoreKeys, folder: Path, now: Callable[[], datetime]) -> None:
        self._store, self._keys, self._folder, self._now = store, keys, folder, now
        self._run: BackupRun | None = None
        self._trouble: Refusal | None = None
        self._tried: datetime | None = None

    def told(self) -> Backups:
        """How the copies stand."""
        known, now = backups_in(self._folder), self._now()
        newest = known[-1].made_at.astimezone(now.tzinfo) if known else None
        return Backups(newest, len(known), str(self._folder), self._run is not None, self._trouble,
                       self._tried)

    def begin(self) -> None:
        """Begin one, where none is on its way."""
        if self._run is None:
            self._tried, self._trouble = self._now(), None
            try:
                self._run = BackupRun(self._store, self._keys, self._folder, self._keys.kiosk_id,
                                      self._tried)
            except OSError as fault:
                self._trouble = Refusal("backup_stopped", {"found": fault.strerror or "no process"})

    def ended(self) -> Copied | Refused | None:
        """What became of the one on its way, once; None while there is nothing new."""
        ended = None if self._run is None else self._run.ended()
        if ended is not None:
            self._run = None
        if isinstance(ended, Refused):
            self._trouble = Refusal(ended.code, dict(ended.values))
        return ended

    def stop(self) -> None:
        """End the one on its way."""
        if self._run is not None:
            self._run.stop()
            self._run = None
