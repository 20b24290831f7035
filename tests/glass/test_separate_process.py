"""Another process writes touches at 240 a second while this one draws: each is kept once, with its stamp.

The two long runs go at the same time. x, y and t are compared with the list of the writing process.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.glass.frame_loop import path

ROOT = Path(__file__).resolve().parents[2]
REPORTS = 3840
DROPPED = 2000
OPTIONS = {"even": {"reports": REPORTS, "hiccup_every_s": 0, "dropped": None},
           "hiccups": {"reports": REPORTS, "hiccup_every_s": 0.5, "dropped": DROPPED}}


@pytest.fixture(scope="module")
def runs():
    started = {name: subprocess.Popen([sys.executable, "-m", "tests.glass.frame_loop", json.dumps(options)],
                                      stdout=subprocess.PIPE, text=True, cwd=ROOT)
               for name, options in OPTIONS.items()}
    return {name: json.loads(process.communicate(timeout=60)[0]) for name, process in started.items()}


def expected(run, without=()):
    """What the sender wrote, less the reports that were lost."""
    assert len(run["sent_ns"]) == REPORTS
    return [[t_ns, *map(float, path(number)), True, 4711] for number, t_ns in enumerate(run["sent_ns"])
            if number not in without and (number == 0 or path(number) != path(number - 1))]


@pytest.mark.parametrize("name", OPTIONS)
def test_the_touches_were_sent_in_sixteen_seconds_while_eight_hundred_frames_were_drawn(runs, name):
    run = runs[name]
    sent_s = (run["sent_ns"][-1] - run["sent_ns"][0]) / 1e9
    assert sent_s == pytest.approx(16.0, abs=0.25)
    assert run["frames"] >= 800


def test_every_touch_is_kept_exactly_once_where_and_when_it_was(runs):
    run = runs["even"]
    assert run["touches"] == expected(run)
    assert run["lost"] == [0, []]


def test_hiccups_of_the_frames_lose_nothing_but_what_the_kernel_lost_and_that_is_marked(runs):
    run = runs["hiccups"]
    assert run["longest_s"] >= 0.040
    assert run["touches"] == expected(run, without=(DROPPED,))
    assert run["lost"] == [1, [[run["sent_ns"][DROPPED - 1], run["sent_ns"][DROPPED]]]]


def test_the_path_moves_with_every_report():
    assert all(path(number) != path(number - 1) for number in range(1, REPORTS))
