"""`python3 tests` in two phases: what may run beside other tests in parallel, then the tests in real time.

With a test's path, `-n`, `--pdb` or `--collect-only` it is one plain run of pytest.
"""

import sys
from pathlib import Path

import pytest

from tests.conftest import INTERRUPTED
from tests.sources import ROOT

PARALLEL = ("-n", "auto", "--dist", "loadfile", "--phase", "parallel", "--durations=20")
ALONE = ("--phase", "real-time", "--durations=5")
PLAIN = ("-n", "--pdb", "--collect-only", "--co", "--phase")
NO_TEST = pytest.ExitCode.NO_TESTS_COLLECTED


def main(arguments: list[str]) -> int:
    """Both phases; the second also where tests of the first failed, unless -x was asked for."""
    if any(one in PLAIN or _names_tests(one) for one in arguments):
        return pytest.main(arguments)
    codes = []
    for options in (PARALLEL, ALONE):
        codes.append(pytest.main([*options, *arguments]))
        if codes[-1] == INTERRUPTED or (codes[-1] not in (0, NO_TEST) and "-x" in arguments):
            break
    wrong = [code for code in codes if code not in (0, NO_TEST)]
    return wrong[0] if wrong else min(codes)


def _names_tests(argument: str) -> bool:
    path = Path(argument.partition("::")[0]).resolve()
    return path.is_relative_to(ROOT) and (path.is_dir() or path.suffix == ".py") and path.exists()


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
