"""What is said of an error of ours that ends the kiosk: its kind and its places in the source, nothing else.

A message, an argument or a value in a frame may hold a person's data, so none is written anywhere, whichever
thread it happened in; nor is the memory of the process, which holds the key of the store.

Decision security-9.
"""

import sys
import threading
import traceback
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Final

NOT_DUMPABLE: Final = 4  # PR_SET_DUMPABLE of Linux's prctl(2)
Tell = Callable[[str], None]


def to_standard_error(line: str) -> None:
    """Write one line to standard error, where the log is read."""
    print(line, file=sys.stderr, flush=True)


def report(kind: type[BaseException], places: TracebackType | None, tell: Tell = to_standard_error) -> None:
    """Where it happened, the innermost place last, then what kind of error it was."""
    for place in traceback.extract_tb(places):
        tell(f"{Path(place.filename).name}:{place.lineno} {place.name}")
    tell(kind.__name__)


def say_and_leave_nothing() -> None:
    """For a process that opens a store: nothing of what it holds is said or left behind where it dies."""
    speak_of_places_only()
    keep_memory_off_the_disk()


def speak_of_places_only(tell: Tell = to_standard_error) -> None:
    """From now on an error that nobody takes is told like this, in every thread."""
    sys.excepthook = lambda kind, _, places: report(kind, places, tell)
    sys.unraisablehook = lambda told: report(told.exc_type, told.exc_traceback, tell)
    threading.excepthook = lambda told: report(told.exc_type, told.exc_traceback, tell)


def keep_memory_off_the_disk() -> None:
    """No core file of this process: neither where it dies nor by whatever the system hands its memory to."""
    with suppress(ImportError, OSError, ValueError):
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if sys.platform.startswith("linux"):
        import ctypes

        ctypes.CDLL(None).prctl(NOT_DUMPABLE, 0, 0, 0, 0)
