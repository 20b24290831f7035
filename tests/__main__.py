"""`python3 tests [pytest's arguments]`: sets up what is missing, then runs every check.

Lint and types are tests like the others (test_lint.py); `--long` adds the heavy seeded runs.
"""

import os
import sys

if not __package__:
    sys.path[0] += "/.."

from kiosk.base.bootstrap import ROOT, enter

os.chdir(ROOT)
enter("pytest", sys.argv[1:], layers=("kiosk", "tests"))
