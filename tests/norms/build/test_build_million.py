"""A table from a million lines: bounded memory, progress told, and the numbers one pandas groupby gives."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from norms import read_folder
from tests.norms.sample_people import SIX, mean_at, sd_at
from tests.sources import ROOT

# Runs a command and tells its peak: this process's own children include whatever other tests started.
PEAK = (
    "import resource, subprocess, sys; code = subprocess.run(sys.argv[1:]).returncode; "
    "print('peak', resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss); sys.exit(code)"
)
HEAD = (
    "person,visit,purpose,research_use,age_years,sex,device_class,input,day,earlier_visits,battery,"
    "battery_version,scoring_version,measure,value,scaled,trial_variance,n_trials\n"
)


def write(path: Path, people: int) -> None:
    rng = np.random.default_rng(2)
    ages = rng.uniform(18, 90.9, people)
    scaled = mean_at(ages)[:, None] + sd_at(ages)[:, None] * rng.standard_normal((people, 6))
    with path.open("w") as out:
        out.write(HEAD)
        for place in range(people):
            for measure, one in zip(SIX, scaled[place].tolist(), strict=True):
                value = np.exp(one) if measure.endswith("scatter") else one
                out.write(
                    f"L{place},1,reference,yes,{ages[place]:.3f},not_asked,t10,finger,0,0,clinic,1,1,{measure},"
                    f"{float(value)!r},{one!r},0.01,3\n"
                )


@pytest.mark.long
def test_a_million_lines_are_built_below_two_gigabytes_and_tell_how_far_they_are(tmp_path: Path) -> None:
    write(tmp_path / "sample.csv", 166_667)
    command = [sys.executable, "-m", "norms", "build", str(tmp_path / "sample.csv")]
    told = subprocess.run(
        [sys.executable, "-c", PEAK, *command, "--out", str(tmp_path / "table")],
        capture_output=True, text=True, check=True, cwd=ROOT,
    )  # fmt: skip
    assert 100_000 < int(told.stdout.rsplit("peak ", 1)[1]) < 2_000_000  # kilobytes
    assert told.stderr.count("lines read: ") >= 3
    frame = pd.read_csv(tmp_path / "sample.csv", usecols=["age_years", "measure", "scaled"])
    plain = frame.groupby(["measure", frame.age_years.astype(int)])["scaled"].agg(["mean", "std"])
    for row in read_folder(tmp_path / "table").rows:
        mean, sd = plain.loc[row.measure, int(row.age_from)]
        # A year holds some 2,286 people: five of its own standard errors.
        assert abs(row.mean - mean) < 5 * sd / 2286**0.5 + 0.02 * sd
        assert row.sd == pytest.approx(sd, rel=0.08)
        assert (row.n_mean or 0) > 10_000 and (row.df_sd or 0) > 10_000
