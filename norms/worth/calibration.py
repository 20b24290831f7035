"""Calibration of a table: the false alarms, coverage and power to expect of it, stored in its folder.

The truth is drawn many times (each draw is called a world), as far from the table's estimates as their
samples leave open (norms/worth/simulations.py); the table's own rules judge the people of each world. Means
over worlds are right wherever n_mean, df_sd and the retest study are; the ranges say how far this one table
may be off. Within a world the share is worked out, not drawn. LMS: the error of L is not counted.

Storing the figures changes datapackage.json only, and with it the table's own hash, so a table is
calibrated before its first visit. Figures whose files have changed are a fault. Decision norms-12.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from zlib import crc32

import numpy as np

from norms.judge.comparability import JUDGING_N
from norms.judge.joint_rule import joint_limits, study_of
from norms.judge.labels import LOW_STANDARD_SCORE
from norms.judge.lookup import ByHand, find_row
from norms.judge.single_case import z_interval, z_star_of
from norms.table.calibration_record import (
    CHANGES_SD,
    FIRST_LOW,
    HEALTHY,
    LOW_Z,
    STABLE_LOW,
    Calibration,
    ChangeCalibration,
    MeasureCalibration,
    PeopleCalibration,
    Share,
    StandingCalibration,
    as_json,
    from_json,
)
from norms.table.datapackage import hash_of, with_reference
from norms.table.distributions import normal_below
from norms.table.folder import folder_bytes, read_files, write_folder
from norms.table.percentiles import jeffreys
from norms.table.reasons import Refusal
from norms.table.scale import Floats
from norms.table.schema import CSV_FILES, PACKAGE
from norms.table.table import Measure, RetestRow, Row, Table, value_at
from norms.worth.simulations import SecondScores, healthy, pair_truth, reference_truth, seen_at, stable_at

WORLDS, SEED = 2_000, 2026
COVERED_AT = (0.0, -1.6449, -2.0, 1.6449)
LOW_BELOW = (LOW_STANDARD_SCORE + 0.5 - 100) / 15
Tell = Callable[[int, int], None]
Group = tuple[str, str, str]


def calibration_figures(table: Table, seed: int = SEED, worlds: int = WORLDS,
             tell: Tell = lambda done, of: None) -> tuple[MeasureCalibration, ...]:
    """The figures of every measure, sex and device class; `tell` hears how many of how many are done.

    The draws of one group depend on the seed and its name only, not on what else the table holds.
    """
    groups = list(Counter((row.measure, row.sex, row.device_class) for row in table.rows))
    found = []
    for done, group in enumerate(groups, start=1):
        rng = np.random.default_rng([seed, crc32(" ".join(group).encode())])
        found.append(_worth(table, group, rng, worlds))
        tell(done, len(groups))
    return tuple(found)


def _worth(table: Table, group: Group, rng: np.random.Generator, worlds: int) -> MeasureCalibration:
    name, sex, device_class = group
    measure = table.measure_by_name[name]
    rows = [row for row in table.rows_of_measure[name] if (row.sex, row.device_class) == (sex, device_class)]
    answering = [row for row in rows if _answers(table, measure, row)]
    judged = measure.better != "neither"
    standings = _standings(table, answering, rng, worlds) if answering and judged else ()
    changes = _changes(table, group, rng, worlds) if answering and judged else ()
    return MeasureCalibration(name, sex, device_class, len(rows), len(answering), standings, changes)


def _answers(table: Table, measure: Measure, row: Row) -> bool:
    """Whether the row answers at all: enough people, no ceiling."""
    sex = row.sex if row.sex != "any" else "not_asked"
    context = ByHand((row.age_from + row.age_to) / 2, sex, row.device_class)
    return not isinstance(find_row(table, measure.name, float(value_at(table, measure, row, 0.0)), context),
                          Refusal)


def _standings(table: Table, rows: Sequence[Row], rng: np.random.Generator,
               worlds: int) -> tuple[StandingCalibration, ...]:
    """The row with the fewest people behind it, and the one with the most."""
    fewest = min(rows, key=lambda row: row.n_of_mean)
    most = max(rows, key=lambda row: row.n_of_mean)
    by_columns = table.by_percentiles(fewest.measure)
    standing = _by_columns if by_columns else _by_scale
    return tuple(standing(row, rng, worlds) for row in dict.fromkeys([fewest, most]))


def _by_scale(row: Row, rng: np.random.Generator, worlds: int) -> StandingCalibration:
    n, df = row.n_of_mean, row.df_of_sd
    truth = reference_truth(rng, worlds, n, df)
    low = 100 * normal_below((low_below(n, df) - truth.mean) / truth.sd)
    covered = [_covered(z, n, df, truth.sd) for z in COVERED_AT]
    return StandingCalibration(row.age_from, row.age_to, n, df, share(low), min(covered), max(covered))


def low_below(n_mean: float, df_sd: float) -> float:
    """The z below which the rule calls a score low, found by halving."""
    low, high = -20.0, 0.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if z_star_of(middle, n_mean, df_sd) < LOW_BELOW else (low, middle)
    return high


def _covered(z: float, n_mean: float, df_sd: float, sd: Floats) -> float:
    """How often the interval of a score at z of the table holds its true z, z / sd + N / sqrt(n)."""
    low, high = z_interval(z, n_mean, df_sd)
    root = n_mean**0.5
    return float(100 * np.mean(normal_below(root * (high - z / sd)) - normal_below(root * (low - z / sd))))


def _by_columns(row: Row, rng: np.random.Generator, worlds: int) -> StandingCalibration:
    """Percentile columns: the true share below the p-th of n people is Beta(p (n + 1), (1 - p)(n + 1))."""
    n = row.n_of_mean
    covered = []
    for p in (float(normal_below(z)) for z in COVERED_AT):
        low, high = jeffreys(p, n)
        below = rng.beta(p * (n + 1), (1 - p) * (n + 1), worlds)
        covered.append(float(100 * np.mean((below > low) & (below < high))))
    p = float(normal_below(LOW_BELOW))
    low_share = share(100 * rng.beta(p * (n + 1), (1 - p) * (n + 1), worlds))
    return StandingCalibration(row.age_from, row.age_to, n, row.df_of_sd, low_share, min(covered),
                               max(covered))


def _changes(table: Table, group: Group, rng: np.random.Generator,
             worlds: int) -> tuple[ChangeCalibration, ...]:
    name, sex, device_class = group
    here = [row for row in table.retest if (row.measure, row.device_class) == (name, device_class)]
    studies = [row for row in here if row.sex == sex] or [row for row in here if row.sex == "any"]
    return tuple(ChangeCalibration(study.sex, study.n, study.r, study.earlier_visits,
                             tuple(calibrate_change(study, rng, worlds)) if study.n >= JUDGING_N else ())
                 for study in studies)


def calibrate_change(study: RetestRow, rng: np.random.Generator, worlds: int) -> Iterable[PeopleCalibration]:
    """False alarms and power of the joint rule for each kind of people."""
    truth = pair_truth(rng, worlds, study)
    kinds = {HEALTHY: healthy(truth), FIRST_LOW: seen_at(truth, LOW_Z), STABLE_LOW: stable_at(truth, LOW_Z)}
    for people, seconds in kinds.items():
        limits = joint_limits(seconds.first, study_of(study))
        poorer, better = share(_below(limits.lower, seconds)), share(_above(limits.upper, seconds))
        power = tuple(share(_below(limits.lower + change, seconds)) for change in CHANGES_SD)
        yield PeopleCalibration(people, poorer, better, power)


def _below(limit: Floats, seconds: SecondScores) -> Floats:
    """How many in 100 second scores lie below the limit, one number a world."""
    return np.asarray(100 * normal_below((limit - seconds.mean) / seconds.sd) @ seconds.weight)


def _above(limit: Floats, seconds: SecondScores) -> Floats:
    return np.asarray(100 * normal_below((seconds.mean - limit) / seconds.sd) @ seconds.weight)


def share(in_100: Floats) -> Share:
    """Mean and 95 % range over the worlds."""
    low, high = np.quantile(in_100, [0.025, 0.975])
    return Share(*(float(np.clip(part, 0, 100)) for part in (np.mean(in_100), low, high)))


def calibrate_folder(folder: Path, date: str, seed: int = SEED, worlds: int = WORLDS,
                     tell: Tell = lambda done, of: None) -> Calibration:
    """Calibrate a folder and store the figures in it; `date` is a day YYYY-MM-DD."""
    files = _uncalibrated(folder_bytes(folder))
    table = read_files(files)
    of = {name: hash_of(data) for name, data in files.items() if name in CSV_FILES}
    found = Calibration(seed, worlds, date, CHANGES_SD, of, calibration_figures(table, seed, worlds, tell))
    described = with_reference(files[PACKAGE], "calibration", as_json(found))
    read_files({**files, PACKAGE: described})
    write_folder(folder, {PACKAGE: described})
    return found


def calibration_of(table: Table) -> Calibration | None:
    """The figures stored with a table, None where it was never calibrated."""
    said = table.about.get("calibration")
    return None if said is None else from_json(said)


def _uncalibrated(files: Mapping[str, bytes]) -> Mapping[str, bytes]:
    """The files without figures, so that a table whose files have changed can be calibrated again."""
    try:
        return {**files, PACKAGE: with_reference(files[PACKAGE], "calibration", None)}
    except (KeyError, TypeError, ValueError):
        return files
