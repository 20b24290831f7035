"""A backup on its way, made by a process of its own and looked at without waiting."""

import json
import os
import signal
import subprocess
import sys
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from kiosk.base.errors import Refused
from kiosk.base.settings import PACKAGE
from kiosk.storage.keys import StoreKeys


@dataclass(frozen=True)
class Copied:
    """What the process made: the backup's folder and the hash of its store."""

    folder: str
    sha256: str


class BackupRun:
    """One backup in progress."""

    def __init__(self, store: Path, keys: StoreKeys, folder: Path, kiosk_id: str, now: datetime) -> None:
        told = {"store": str(store.resolve()), "folder": str(folder.resolve()), "key": keys.data.hex(),
                "kiosk_id": kiosk_id, "now": now.isoformat()}
        command = [sys.executable, "-m", "kiosk.storage.backup_process"]
        self._process: subprocess.Popen[str] | None = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
            cwd=PACKAGE.parent, start_new_session=True)
        with suppress(BrokenPipeError):
            if self._process.stdin is not None:
                self._process.stdin.write(json.dumps(told) + "\n")
                self._process.stdin.close()

    def ended(self) -> Copied | Refused | None:
        """What became of it; None while it is on its way."""
        process = self._process
        if process is None or process.poll() is None or process.stdout is None:
            return None
        self._process = None
        with process.stdout as said:
            return _told(said.read())

    def stop(self) -> None:
        """The key is dropped: end it and what it started."""
        process, self._process = self._process, None
        if process is not None and process.poll() is None:
            with suppress(OSError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def _told(line: str) -> Copied | Refused:
    try:
        answer: dict[str, Any] = json.loads(line)
        if "code" in answer:
            return Refused(answer["code"], answer["values"])
        return Copied(answer["folder"], answer["sha256"])
    except (ValueError, KeyError):
        return Refused("backup_stopped", {"found": "no answer"})
