"""The command line of norms: `python3 -m norms COMMAND`, or `norms COMMAND`.

Exit codes: 0 done, 1 refused with a reason, 2 wrong usage. Every fault is one plain sentence on standard
error. The clock is read here and nowhere else in norms.
"""

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from norms.cli.arguments import Run, UsageError, parser_of
from norms.cli.judge import run_change, run_compare, run_profile, run_series
from norms.cli.output import complain
from norms.cli.table import run_check, run_show
from norms.cli.worth import run_bridge, run_calibrate, run_reliability
from norms.table.reasons import TableFaults

if TYPE_CHECKING:
    from norms.build.provenance import ProvenanceSheet

WRONG_USAGE = 2


def main(argv: Sequence[str] | None = None, prog: str = "norms",
         on_sheet: Callable[["ProvenanceSheet", Path], None] | None = None) -> int:
    """Run one command; returns the exit code. `on_sheet` draws the sheet of a built table into its folder."""
    try:
        asked = parser_of(prog, _RUNS).parse_args(argv)
        asked.on_sheet = on_sheet
        return int(asked.run(asked))
    except UsageError as error:
        return complain(str(error), WRONG_USAGE)
    except TableFaults as error:
        return complain(str(error))
    except OSError as error:
        place = Path(error.filename).name if isinstance(error.filename, str) else "the file"
        return complain(f"{place} could not be read or written: {error.strerror or error}.")
    except SystemExit as done:
        return int(done.code or 0)


def _build(asked: argparse.Namespace) -> int:
    from norms.cli.build import run_build
    return run_build(asked, datetime.now(UTC), _progress(), asked.on_sheet)


def _calibrate(asked: argparse.Namespace) -> int:
    return run_calibrate(asked, _today())


def _bridge(asked: argparse.Namespace) -> int:
    return run_bridge(asked, _today())


def _verify(asked: argparse.Namespace) -> int:
    from norms.cli.verify import run_verify
    return run_verify(asked, _today())


def _plan(asked: argparse.Namespace) -> int:
    from norms.cli.plan import run_plan
    return run_plan(asked)


def _today() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%d")


def _progress() -> Callable[[str, int, int], None]:
    """Prints how far long work is, at most once a second."""
    last = [datetime.now(UTC)]

    def progress(what: str, done: int, of: int) -> None:
        if (datetime.now(UTC) - last[0]).total_seconds() >= 1:
            last[0] = datetime.now(UTC)
            print(f"{what}: {done}" + (f" of {of}" if of else ""), file=sys.stderr)

    return progress


_RUNS: Mapping[str, Run] = {"check": run_check, "show": run_show, "build": _build, "calibrate": _calibrate,
                            "bridge": _bridge, "verify": _verify, "plan": _plan,
                            "compare": run_compare, "change": run_change,
                            "series": run_series, "profile": run_profile, "reliability": run_reliability}

if __name__ == "__main__":
    sys.exit(main())
