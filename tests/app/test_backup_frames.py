"""A backup that runs while a trial is on the glass: no frame comes more than 20 ms later for it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.calm_machine import real_time
from tests.needed_packages import needs
from tests.outside.kiosk_process import Display

ROOT = Path(__file__).resolve().parents[2]
MEGABYTES, ROUNDS = 250, 6
MOST_DELAY_MS = 20.0  # issue: storage, "backup while a visit runs delays no frame by > 20 ms"


@real_time
@pytest.mark.long
@needs("xvfb", "xdotool")
def test_a_backup_of_a_large_store_delays_no_frame_of_a_trial_by_more_than_20_ms():
    """Trials without and with, in turn; the calmest of each are compared: other work spoils some, not all."""
    from tests.benchmarks.backup_frames import later_ms  # it opens the toolkit

    display = Display()
    try:
        environment = {**os.environ, **display.environment}
        environment.pop("SDL_VIDEODRIVER", None)
        ran = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.backup_frames", str(MEGABYTES), str(ROUNDS),
             str(MOST_DELAY_MS)], cwd=ROOT, env=environment,
            capture_output=True, text=True, timeout=600, check=True)
    finally:
        display.close()
    told = json.loads(ran.stdout.splitlines()[-1])
    print(told)
    assert told["store_mb"] >= 200 and all(one["made"] for one in told["backups"])
    assert later_ms(told) <= MOST_DELAY_MS and later_ms(told, "p99_ms") <= MOST_DELAY_MS / 2
