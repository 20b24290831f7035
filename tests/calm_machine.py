"""Tests in which real time counts: each waits until the machine is calm, or is left out as *too busy*.

`real_time` marks them. `python3 tests` runs them one after the other, when the parallel part is over. Calm
means that at most half of the machine's processor time was used during a quarter of a second, which leaves a
core of two to the test; what `/proc/stat` does not tell is taken for calm.
"""

import os
import time
from pathlib import Path

import pytest

LOOK_S, LONGEST_WAIT_S = 0.25, 30.0
BUSY_SHARE = 0.5
real_time = pytest.mark.real_time
too_busy: list[str] = []  # the tests left out, in the order they came


def wait_until_calm() -> None:
    """Go on once the machine is calm; else the running test is left out. A run waits in vain only once."""
    until_s = time.monotonic() + (0.0 if too_busy else LONGEST_WAIT_S)
    while (share := busy_share()) > BUSY_SHARE:
        if time.monotonic() > until_s:
            too_busy.append(os.environ.get("PYTEST_CURRENT_TEST", "a test").rpartition(" ")[0])
            pytest.skip(f"too busy: {share:.0%} of the processor time was used by others")


def busy_share() -> float:
    """The share of the machine's processor time that is used, over LOOK_S; 0 where nothing tells."""
    if not Path("/proc/stat").exists():
        return 0.0
    idle, total = _processor_time()
    time.sleep(LOOK_S)
    idle_after, total_after = _processor_time()
    return 1.0 - (idle_after - idle) / max(total_after - total, 1)


def _processor_time() -> tuple[int, int]:
    """Idle (with waiting for a disk) and all ticks of all processors since the machine started."""
    ticks = [int(part) for part in Path("/proc/stat").read_text("ascii").split("\n")[0].split()[1:9]]
    return ticks[3] + ticks[4], sum(ticks)
