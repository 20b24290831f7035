"""A process of its own that writes a compact copy of a store: `python -m kiosk.storage.vacuum_process`.

Takes one line of JSON on standard input: from, to, key (hexadecimal data key). The key stands in no argument
and no environment. The copy is encrypted under the same key and is on the disk when the process ends.
"""

import json
import os
import sys
from pathlib import Path

from kiosk.base.crash_report import say_and_leave_nothing
from kiosk.base.errors import Refused
from kiosk.storage.engine import connect_file
from kiosk.storage.keys import StoreKeys

AFTER_OTHERS = 10


def copy_compact(source: Path, target: Path, keys: StoreKeys) -> None:
    """VACUUM INTO, then flush."""
    connection = connect_file(source, keys, create=False)
    try:
        connection.execute("VACUUM INTO ?", (str(target),))
    finally:
        connection.close()
    with target.open("rb+") as file:
        os.fsync(file.fileno())


def main() -> int:
    """Copy as told; the reason on standard error and 1 where it was not done."""
    if hasattr(os, "nice"):
        os.nice(AFTER_OTHERS)
    told = json.loads(sys.stdin.readline())
    try:
        copy_compact(Path(told["from"]), Path(told["to"]), StoreKeys(bytes.fromhex(told["key"])))
    except (Refused, OSError) as fault:
        print(fault, file=sys.stderr)
        return 1
    except Exception as fault:  # the driver's own classes, told without a traceback
        print(type(fault).__name__, fault, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    say_and_leave_nothing()
    sys.exit(main())
