"""`python3 tests/benchmarks [--write]`: every budget measured in one run, as a table.

With --write the table takes the place of the one in kiosk/handbook/benchmarks.md. About five minutes on a
machine that does nothing else; on another the times are longer and the ratios less sure.
"""

import sys

if not __package__:
    sys.path[0] += "/../.."
    from kiosk.base.bootstrap import enter

    enter("tests.benchmarks", sys.argv[1:], ("kiosk", "tests"))

import os
import platform
from collections.abc import Sequence
from datetime import date

from tests.benchmarks import commands, first_frame, frame_cost, page_cost, speed, store_speed
from tests.benchmarks.figure import Figure, print_figures
from tests.sources import ROOT

HANDBOOK = ROOT / "kiosk" / "handbook" / "benchmarks.md"
MEASURED = (commands, first_frame, frame_cost, speed, page_cost, store_speed)
HEAD = """# Benchmarks

How long things take and how they grow, measured in one run by `python3 tests/benchmarks --write`. A figure in
"x" is a ratio to something that was measured beside it in the same run, which another machine changes least.
"""


def table(figures: Sequence[Figure], machine: str, day: date) -> str:
    """The page of the handbook."""
    rows = [f"| {one.what} | {one.value:.3g} {one.unit}{f' {one.baseline}' if one.baseline else ''} "
            f"| {one.budget} | {'met' if one.met else 'missed'} |" for one in figures]
    return "\n".join([HEAD, f"{day.isoformat()}, {machine}.", "",
                      "| what | measured | budget | |", "|---|---|---|---|", *rows, ""])


def machine() -> str:
    """The cores, the system and the Python of this machine."""
    python = platform.python_version()
    return f"{os.cpu_count()} cores, {platform.system()} {platform.machine()}, Python {python}"


def main() -> None:
    """Measure all; print each figure when it is there."""
    figures: list[Figure] = []
    for one in MEASURED:
        for figure in one.figures():
            print_figures([figure])
            figures.append(figure)
    if "--write" in sys.argv:
        HANDBOOK.write_text(table(figures, machine(), date.today()), "utf-8")
        print(f"Written: {HANDBOOK.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
