"""How fast a table is built from a million lines: `python tests/benchmarks/build_speed.py`. Not a test.

One pandas groupby gives mean and SD of the same lines by measure and year (whole numbers: the quickest way);
`norms build`'s smoothed estimates, and those with n_mean and df_sd, are set against it, alternated five
times. Then the command itself builds a folder from a file of a million lines: time, memory, what it tells
meanwhile.
"""

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd

sys.path.insert(1, sys.path[0] + "/../..")

from norms.build.age_curve import candidates, curve_of_groups
from norms.build.age_rows import RowOptions, rows_of, year_sums
from norms.build.sample import People
from norms.table.table import Measure
from tests.norms.sample_people import COLUMNS, SIX, mean_at, sd_at

LINES, ROUNDS = 1_000_000, 5
MAKING = RowOptions("continuous", (), 30)


def million(lines: int = LINES) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Measure (0 to 5), age and value on the scale."""
    rng = np.random.default_rng(1)
    ages = rng.uniform(18, 91, lines)
    return rng.integers(0, 6, lines), ages, mean_at(ages) + sd_at(ages) * rng.standard_normal(lines)


def people_of(measure: np.ndarray, ages: np.ndarray, y: np.ndarray, which: int) -> People:
    line = np.flatnonzero(measure == which)
    return People(
        line, ages[line], y[line], np.exp(y[line]), np.full(len(line), 3), np.full(len(line), np.nan)
    )


def by_pandas(measure: np.ndarray, ages: np.ndarray, y: np.ndarray) -> object:
    frame = pd.DataFrame({"measure": measure, "year": ages.astype(np.int64), "y": y})
    return frame.groupby(["measure", "year"])["y"].agg(["mean", "std"])


def estimates(measure: np.ndarray, ages: np.ndarray, y: np.ndarray) -> object:
    found = []
    for which in range(6):
        line = np.flatnonzero(measure == which)
        groups, mean_age = year_sums(ages[line], y[line])
        found.append(curve_of_groups(mean_age, groups, candidates(ages[line])).at(np.arange(18.5, 91)))
    return found


def with_precision(measure: np.ndarray, ages: np.ndarray, y: np.ndarray) -> object:
    return [
        rows_of(
            Measure(SIX[which], "mm", "lower", "log", 1),
            people_of(measure, ages, y, which),
            MAKING,
            np.random.default_rng(which),
        )
        for which in range(6)
    ]


def seconds(work: Callable[..., object], *given: np.ndarray) -> float:
    began = time.perf_counter()
    work(*given)
    return time.perf_counter() - began


def write_sample(path: Path, lines: int = LINES) -> None:
    """A sample file of so many lines, six measures a person."""
    rng, begin = np.random.default_rng(2), 0
    with path.open("w") as out:
        out.write(",".join(COLUMNS[:-1]) + "\n")
        while begin < lines:
            ages = np.repeat(rng.uniform(18, 91, 5_000), 6)
            y = mean_at(ages) + sd_at(ages) * rng.standard_normal(len(ages))
            for place in range(min(len(ages), lines - begin)):
                person = (begin + place) // 6
                out.write(
                    f"L{person},1,reference,yes,{ages[place]:.3f},not_asked,t10,finger,0,0,clinic,1,1,"
                    f"{SIX[place % 6]},{float(np.exp(y[place]))!r},{float(y[place])!r},0.01,3\n"
                )
            begin += len(ages)


def command(folder: Path) -> str:
    write_sample(folder / "sample.csv")
    began = time.perf_counter()
    told = subprocess.run(
        [sys.executable, "-m", "norms", "build", str(folder / "sample.csv"), "--out", str(folder / "table")],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).resolve().parent.parent.parent,
    )
    memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return (
        f"norms build: {time.perf_counter() - began:.0f} s, {memory:.0f} MB at most, "
        f"{len(told.stderr.splitlines())} lines of progress"
    )


def main() -> None:
    given, found = million(), []
    for _ in range(ROUNDS):
        found.append([seconds(work, *given) for work in (by_pandas, estimates, with_precision)])
    for round_ in found:
        print("pandas {:.3f} s, estimates {:.3f} s, with n_mean and df_sd {:.3f} s".format(*round_))
    for place, what in ((1, "estimates"), (2, "with n_mean and df_sd")):
        print(
            f"{what}: {median(one[place] / one[0] for one in found):.2f} x one groupby (median of {ROUNDS})"
        )
    with TemporaryDirectory() as folder:
        print(command(Path(folder)))


if __name__ == "__main__":
    main()
