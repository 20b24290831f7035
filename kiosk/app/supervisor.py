"""The kiosk is run by another process that starts it again, locked, when it ends by itself.

A kiosk that was closed on purpose or refused to start says so with its exit code and stays closed. Three ends
by itself within a minute, and it is not started again: something is wrong that a restart does not cure.

Decision security-4.
"""

from collections.abc import Callable
from typing import Final

from kiosk.base.errors import Refused

CRASHED: Final = 70  # EX_SOFTWARE of sysexits.h: what the child says when an error of ours ended it
MOST_CRASHES: Final = 3
WITHIN_S: Final = 60.0


def ended_by_itself(code: int) -> bool:
    """Whether an exit code means a crash: an error of ours, or a signal.

    >>> ended_by_itself(0), ended_by_itself(1), ended_by_itself(70), ended_by_itself(-11)
    (False, False, True, True)
    """
    return code == CRASHED or code < 0


def keep_running(run: Callable[[], int], now_s: Callable[[], float]) -> int:
    """Run, and again where it crashed; its exit code. Refused `kiosk_keeps_ending`."""
    crashes_s: list[float] = []
    while True:
        code = run()
        if not ended_by_itself(code):
            return code
        crashes_s = [at for at in crashes_s if now_s() - at < WITHIN_S] + [now_s()]
        if len(crashes_s) >= MOST_CRASHES:
            raise Refused("kiosk_keeps_ending", {"times": len(crashes_s)})
