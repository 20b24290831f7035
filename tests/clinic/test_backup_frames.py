"""A backup that runs while a trial is on the glass: no frame comes more than 20 ms later for it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.outside.kiosk_process import Display, missing

ROOT = Path(__file__).resolve().parents[2]
MEGABYTES, ROUNDS = 250, 3
MOST_DELAY_MS = 20.0  # issue: storage, "backup while a visit runs delays no frame by > 20 ms"


@pytest.mark.long
@pytest.mark.skipif(bool(missing()), reason=f"this machine has no {', '.join(missing())}")
def test_a_backup_of_a_large_store_delays_no_frame_of_a_trial_by_more_than_20_ms():
    """Trials without and with, in turn; the calmest of each are compared: other work spoils some, not all."""
    display = Display()
    try:
        environment = {**os.environ, **display.environment}
        environment.pop("SDL_VIDEODRIVER", None)
        ran = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.backup_frames", str(MEGABYTES), str(ROUNDS)], cwd=ROOT,
            env=environment, capture_output=True, text=True, timeout=600, check=True)
    finally:
        display.close()
    told = json.loads(ran.stdout.splitlines()[-1])
    print(told)
    assert told["store_mb"] >= 200 and all(one["made"] for one in told["backups"])
    for measure, most_ms in (("longest_ms", MOST_DELAY_MS), ("p99_ms", MOST_DELAY_MS / 2)):
        quiet_ms, busy_ms = (min(one[measure] for one in told[name]) for name in ("quiet", "with_backup"))
        assert busy_ms - quiet_ms <= most_ms, measure
