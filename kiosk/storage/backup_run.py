"""Running backups of the open store in a separate process, asked about without waiting."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from kiosk.base.canonical_json import JsonObject
from kiosk.base.errors import Refused
from kiosk.base.settings import PACKAGE
from kiosk.storage.backup import backups_in
from kiosk.storage.keys import StoreKeys
from kiosk.visits.backups import Backups
from norms import Refusal


@dataclass(frozen=True)
class BackupMade:
    """What the process made: the name of the backup's folder and the sha256 of its store."""

    folder: str
    sha256: str


class BackupProcess:
    """One backup in progress."""

    def __init__(self, store: Path, keys: StoreKeys, folder: Path, kiosk_id: str, now: datetime) -> None:
        asked = {"store": str(store.resolve()), "folder": str(folder.resolve()), "key": keys.data.hex(),
                 "kiosk_id": kiosk_id, "now": now.isoformat()}
        command = [sys.executable, "-m", "kiosk.storage.backup_process"]
        self._process: subprocess.Popen[str] | None = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            encoding="utf-8", cwd=PACKAGE.parent, start_new_session=True)
        with suppress(BrokenPipeError):
            if self._process.stdin is not None:
                self._process.stdin.write(json.dumps(asked) + "\n")
                self._process.stdin.close()

    def ended(self) -> BackupMade | Refused | None:
        """Its result, once; None while it runs."""
        process = self._process
        if process is None or process.poll() is None or process.stdout is None:
            return None
        self._process = None
        with process.stdout as output:
            return _result(output.read())

    def stop(self) -> None:
        """Kill it and the processes that it started."""
        process, self._process = self._process, None
        if process is not None and process.poll() is None:
            _kill_with_its_own(process)
            process.wait()


def _kill_with_its_own(process: "subprocess.Popen[str]") -> None:
    """Kill a process and those it started; without groups of processes (Windows) those end by themselves."""
    with suppress(OSError):
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()


def _result(line: str) -> BackupMade | Refused:
    try:
        answer: JsonObject = json.loads(line)
        if "code" in answer:
            return Refused(answer["code"], answer["values"])
        return BackupMade(answer["folder"], answer["sha256"])
    except (ValueError, KeyError):
        return Refused("backup_stopped", {"found": "no answer"})


class BackupRunner:
    """The backups of one open store: the one in progress, those in the folder, and the last error.

    `now` names a new backup, and its time zone is the one in which times are shown.
    """

    def __init__(self, store: Path, keys: StoreKeys, folder: Path, now: Callable[[], datetime]) -> None:
        self._store, self._keys, self._folder, self._now = store, keys, folder, now
        self._process: BackupProcess | None = None
        self._trouble: Refusal | None = None
        self._tried: datetime | None = None

    def status(self) -> Backups:
        """The newest backup, how many there are, whether one is running, and the last error."""
        known, now = backups_in(self._folder), self._now()
        newest = known[-1].made_at.astimezone(now.tzinfo) if known else None
        return Backups(newest, len(known), str(self._folder), self._process is not None, self._trouble,
                       self._tried)

    def begin(self) -> None:
        """Begin one, unless one is running."""
        if self._process is None:
            self._tried, self._trouble = self._now(), None
            try:
                self._process = BackupProcess(self._store, self._keys, self._folder, self._keys.kiosk_id,
                                      self._tried)
            except OSError as fault:
                self._trouble = Refusal("backup_stopped", {"found": fault.strerror or "no process"})

    def ended(self) -> BackupMade | Refused | None:
        """The result of the one in progress, once; None where there is nothing new."""
        ended = None if self._process is None else self._process.ended()
        if ended is not None:
            self._process = None
        if isinstance(ended, Refused):
            self._trouble = Refusal(ended.code, dict(ended.values))
        return ended

    def stop(self) -> None:
        """Kill the one in progress."""
        if self._process is not None:
            self._process.stop()
            self._process = None
