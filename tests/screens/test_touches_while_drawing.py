"""Another process writes 3,840 touches in 16 s while the trial is drawn: each is recorded once, as sent.

The two long runs go at the same time. The record's t, x and y are compared with the list of the process that
wrote them.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.calm_machine import real_time
from tests.screens.window_loop import REPORTS, places

pytestmark = real_time
ROOT = Path(__file__).resolve().parents[2]
DROPPED = 2000
OPTIONS = {"even": {"hiccups": False, "dropped": None}, "hiccups": {"hiccups": True, "dropped": DROPPED}}


@pytest.fixture(scope="module")
def runs():
    program = [sys.executable, "-m", "tests.screens.window_loop"]
    started = {name: subprocess.Popen([*program, json.dumps(options)], stdout=subprocess.PIPE, text=True,
                                      cwd=ROOT)
               for name, options in OPTIONS.items()}
    return {name: json.loads(process.communicate(timeout=60)[0]) for name, process in started.items()}


def expected(run, without=()):
    """What the sender wrote, less the reports that were lost, as columns."""
    assert len(run["sent_ns"]) == REPORTS
    kept = [(t_ns, float(x), float(y), True)
            for number, (t_ns, (x, y)) in enumerate(zip(run["sent_ns"], places(), strict=True))
            if number not in without]
    return [list(column) for column in zip(*kept, strict=True)]


@pytest.mark.parametrize("name", OPTIONS)
def test_the_touches_were_sent_in_sixteen_seconds_while_eight_hundred_frames_were_drawn(runs, name):
    run = runs[name]
    sent_s = (run["sent_ns"][-1] - run["sent_ns"][0]) / 1e9
    assert sent_s == pytest.approx(16.0, abs=0.25)
    assert run["frames"] >= 800
    assert run["places_drawn"] >= 700  # the disc was drawn anew; it stands still for the first second


def test_every_touch_is_recorded_exactly_once_where_and_when_it_was(runs):
    run = runs["even"]
    assert run["kept"] == expected(run)
    assert run["lost"] == [0, []]
    assert run["set_off_ns"] == run["sent_ns"][0] + 800_000_000


def test_hiccups_of_the_frames_lose_nothing_but_what_the_kernel_lost_and_that_is_marked(runs):
    run = runs["hiccups"]
    assert run["longest_s"] >= 0.040
    assert run["kept"] == expected(run, without=(DROPPED,))
    events, ((from_s, to_s),) = run["lost"]
    assert events == 1
    lost_ns = [round(at_s * 1e9) + run["set_off_ns"] for at_s in (from_s, to_s)]
    assert lost_ns == pytest.approx([run["sent_ns"][DROPPED - 1], run["sent_ns"][DROPPED]], abs=2)


def test_the_finger_moves_with_every_report():
    sent = places()
    assert all(sent[number] != sent[number - 1] for number in range(1, REPORTS))
