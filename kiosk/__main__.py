"""The way in: `python3 kiosk` sets up what is missing, then runs the command line.

Run as a folder, the folder itself is first on the path; the project's root takes that place before
anything else is imported. `python -m kiosk` inside a virtual environment takes it as it is. The kiosk itself
shows a first picture before all that is large is imported. `--help` needs Python alone, so it is answered
before anything is set up.
"""

import sys

if not __package__:
    sys.path[0] += "/.."
help_alone = sys.argv[1:] in (["--help"], ["-h"]) and sys.version_info >= (3, 11)
if not help_alone and (not __package__ or sys.prefix == sys.base_prefix):
    from kiosk.base.bootstrap import enter

    enter("kiosk", sys.argv[1:], layers=("kiosk",))

try:
    if sys.argv[1:3] == ["start", "--unsupervised"]:
        from kiosk.screens.first_picture import show_at_once

        show_at_once()

    from kiosk.cli.main import main

    code = main()
except KeyboardInterrupt:
    print("\rStopped.", file=sys.stderr)
    code = 130
sys.exit(code)
