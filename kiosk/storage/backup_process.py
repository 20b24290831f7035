"""What a backup runs in separate processes: `python -m kiosk.storage.backup_process [copy]`.

Without an argument: the whole backup (copying, checking, rotating), at the lowest priority, so that a visit
on the kiosk meanwhile loses no frame. Takes one line of JSON on standard input (store, folder, key, kiosk_id,
now); prints one line of JSON: folder and sha256, or the code and values of the refusal.

With `copy`: a compact copy of a store. Takes one line of JSON (from, to, key); the copy is encrypted under
the same key and is on the disk when the process ends.

`key` is the data key in hexadecimal: in no argument and in no environment variable. Decision storage-9.
"""

import json
import os
import sys
from datetime import datetime
from pathlib import Path
from typing import Final

from kiosk.base.crash_report import say_and_leave_nothing
from kiosk.base.errors import Refused
from kiosk.storage.backup import make_backup
from kiosk.storage.engine import connect_file
from kiosk.storage.keys import StoreKeys

NICE_WHOLE_BACKUP: Final = 19
NICE_COPY: Final = 10


def main(arguments: list[str]) -> int:
    """The exit code: 0 done, 1 refused."""
    return copy_process() if arguments == ["copy"] else backup_process()


def backup_process() -> int:
    """Make the whole backup that standard input asks for."""
    _lowest_priority()
    asked = json.loads(sys.stdin.readline())
    keys = StoreKeys(bytes.fromhex(asked["key"]))
    try:
        made = make_backup(Path(asked["store"]), keys, Path(asked["folder"]), asked["kiosk_id"],
                           datetime.fromisoformat(asked["now"]))
    except Refused as refusal:
        values = {name: str(value) for name, value in refusal.values.items()}
        print(json.dumps({"code": refusal.code, "values": values}), flush=True)
        return 1
    print(json.dumps({"folder": made.folder.name, "sha256": made.manifest["sha256"]}), flush=True)
    return 0


def copy_process() -> int:
    """Make the copy that standard input asks for; where it fails, the reason is on standard error."""
    if hasattr(os, "nice"):
        os.nice(NICE_COPY)
    asked = json.loads(sys.stdin.readline())
    try:
        copy_compact(Path(asked["from"]), Path(asked["to"]), StoreKeys(bytes.fromhex(asked["key"])))
    except (Refused, OSError) as fault:
        print(fault, file=sys.stderr)
        return 1
    except Exception as fault:  # the driver's own classes, without a traceback
        print(type(fault).__name__, fault, file=sys.stderr)
        return 1
    return 0


def copy_compact(source: Path, target: Path, keys: StoreKeys) -> None:
    """VACUUM INTO, then flush to the disk."""
    connection = connect_file(source, keys, create=False)
    try:
        connection.execute("VACUUM INTO ?", (str(target),))
    finally:
        connection.close()
    with target.open("rb+") as file:
        os.fsync(file.fileno())


def _lowest_priority() -> None:
    """Run only when nothing else wants the processor; processes started from here inherit it."""
    if hasattr(os, "SCHED_IDLE"):
        os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))
    elif hasattr(os, "nice"):
        os.nice(NICE_WHOLE_BACKUP)


if __name__ == "__main__":
    say_and_leave_nothing()
    sys.exit(main(sys.argv[1:]))
