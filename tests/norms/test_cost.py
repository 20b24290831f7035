"""What the package costs: loading it, one comparison, one chance. Bounds of the design, best of several."""

import subprocess
import sys
from collections.abc import Callable
from time import perf_counter

from norms import ByHand, Occasion, change, profile, read_folder, standing
from tests.norms.folders import EXAMPLE
from tests.norms.judge.test_profile import standings
from tests.sources import ROOT


def import_s(module: str) -> float:
    code = f"import time; t = time.process_time(); import {module}; print(time.process_time() - t)"
    return float(
        subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout
    )


def best_s(work: Callable[[], object], times: int = 20) -> float:
    found = []
    for _ in range(times):
        begun = perf_counter()
        work()
        found.append(perf_counter() - begun)
    return min(found)


def test_loading_norms_costs_at_most_1_3_times_numpy_and_loads_no_scipy_or_pandas() -> None:
    assert min(import_s("norms") for _ in range(4)) <= 1.3 * min(import_s("numpy") for _ in range(4))
    asked = (
        "import sys, norms; from norms import Standing, change, profile, series, reliability; "
        "print({'scipy', 'pandas'} & set(sys.modules))"
    )
    run = subprocess.run([sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout == "set()\n"


def test_a_comparison_takes_a_millisecond_at_most_and_a_chance_50() -> None:
    table = read_folder(EXAMPLE)
    placed = standings(table)
    context, earlier = ByHand(70.0), Occasion(8.0, ByHand(69.5))
    standing_s = best_s(lambda: standing(table, "brisk.preferred.scatter", 9.0, context))
    change_s = best_s(lambda: change(table, "brisk.preferred.scatter", earlier, Occasion(9.0, context), 180))
    profile_s = best_s(lambda: profile(table, placed), 5)
    print(
        f"standing {1e3 * standing_s:.2f} ms, change {1e3 * change_s:.2f} ms, chance {1e3 * profile_s:.1f} ms"
    )
    assert max(standing_s, change_s) <= 1e-3 and profile_s <= 50e-3


def test_the_functions_keep_their_names_though_modules_bear_the_same() -> None:
    asked = (
        "import norms.judge.change, norms.judge.profile, norms.judge.series; "
        "from norms import change, profile, series; "
        "import norms; assert callable(norms.change) and callable(profile) and callable(series); "
        "assert norms.standing is norms.standing and norms.Standing.__name__ == 'Standing'; "
        "missing = [name for name in norms.__all__ if not hasattr(norms, name)]; print(missing)"
    )
    run = subprocess.run([sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout == "[]\n"
