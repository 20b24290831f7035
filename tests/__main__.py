"""`python3 tests [pytest's arguments]`: sets up what is missing, then runs every check.

Lint and types are tests like the others (test_lint.py). `--long` adds the heavy seeded runs; `--bare` tries
both commands of the README in a minimal system instead (tests/bare). Without a path all tests run, in two
phases (tests/phases.py).
"""

import os
import sys

if not __package__:
    sys.path[0] += "/.."

from kiosk.base.bootstrap import ROOT, enter

os.chdir(ROOT)
layers = ("kiosk", "tests")
if "--bare" in sys.argv:
    enter("tests.bare", [one for one in sys.argv[1:] if one != "--bare"], layers)
enter("tests.phases", sys.argv[1:], layers)
