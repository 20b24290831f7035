"""The commands a newcomer runs first, `--help` and a demo: `python -m tests.benchmarks.commands`.

Seconds by the clock on the wall: a machine that does something else makes them longer.
"""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from tests.benchmarks.figure import Figure, print_figures
from tests.sources import ROOT

PYTHON = Path(sys.base_prefix) / "bin" / "python3"
ROUNDS = 15


def seconds(*command: object) -> float:
    """From the start of a command to its end; without a display."""
    outside = {name: value for name, value in os.environ.items()
               if not name.startswith(("SDL", "DISPLAY", "PYTHONDONTWRITEBYTECODE"))}
    began = time.perf_counter()
    subprocess.run([str(part) for part in command], cwd=ROOT, env=outside, check=True, capture_output=True)
    return time.perf_counter() - began


def figures() -> Iterator[Figure]:
    """The help's ratio, the demo's seconds."""
    pairs = [(seconds(PYTHON, "-c", "import argparse, gettext"), seconds(PYTHON, "kiosk", "--help"))
             for _ in range(ROUNDS)]
    yield Figure("kiosk --help", median(ours / bare for bare, ours in pairs), "x", 2.0,
                 "python -c 'import argparse, gettext'")
    with TemporaryDirectory() as folder:
        demo = ("kiosk", "demo", "--visits", 3, "--out", Path(folder) / "out")
        seconds(PYTHON, *demo)
        took_s = median(seconds(PYTHON, *demo) for _ in range(3))
        yield Figure("a demo of three visits, no display", took_s, "s", 10.0)


if __name__ == "__main__":
    print_figures(figures())
