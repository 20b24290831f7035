"""A process of its own that makes a whole backup: `python -m kiosk.storage.backup_process`.

Copying, examining and rotating all happen here, after all other work of the machine, so that a kiosk that
gives a visit meanwhile loses no frame. Takes one line of JSON on standard input (store, folder, key,
kiosk_id, now); answers one line of JSON: folder and sha256, or the code and values of the refusal. The key
stands in no argument and no environment.
"""

import json
import os
import sys
from datetime import datetime
from pathlib import Path

from kiosk.base.crash_report import say_and_leave_nothing
from kiosk.base.errors import Refused
from kiosk.storage.backup import make_backup
from kiosk.storage.keys import StoreKeys

AFTER_OTHERS = 19


def main() -> int:
    """Make it as told."""
    _let_others_first()
    told = json.loads(sys.stdin.readline())
    keys = StoreKeys(bytes.fromhex(told["key"]))
    try:
        made = make_backup(Path(told["store"]), keys, Path(told["folder"]), told["kiosk_id"],
                           datetime.fromisoformat(told["now"]))
    except Refused as refusal:
        values = {name: str(value) for name, value in refusal.values.items()}
        print(json.dumps({"code": refusal.code, "values": values}), flush=True)
        return 1
    print(json.dumps({"folder": made.folder.name, "sha256": made.manifest["sha256"]}), flush=True)
    return 0


def _let_others_first() -> None:
    """Only the time that nothing else wants; the processes started from here inherit it."""
    if hasattr(os, "SCHED_IDLE"):
        os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))
    elif hasattr(os, "nice"):
        os.nice(AFTER_OTHERS)


if __name__ == "__main__":
    say_and_leave_nothing()
    sys.exit(main())
