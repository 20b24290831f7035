"""From a sample of people to a table folder: age bands, retest study, correlations of both kinds.

Bands hold the mean and SD of the scaled values of purpose `reference`; the retest study holds the pairs
of purpose `retest`, on z of the very table built from the bands, both visits by the row of the later one.
trial_sd is the SD between trials of one block, pooled over people. The sample file is described in
norms/sample.py, what a table says beyond its sample in norms/template.py.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from norms.package import write_package
from norms.reasons import Fault, TableFaults
from norms.sample import Line, Sample
from norms.scale import Floats
from norms.table import PRIMARY_MEASURES, Measure
from norms.tablefile import read_files
from norms.tableschema import CSV_FILES, PACKAGE
from norms.template import Template

LEAST_PAIRS = 4
Cells = Sequence[object]


@dataclass(frozen=True)
class Band:
    """People of one age band: their number, and mean and SD of the scaled values."""

    age_from: float
    age_to: float
    n: int
    mean: float
    sd: float


Bands = Mapping[str, tuple[Band, ...]]
PersonVisit = tuple[str, int]
Scores = Mapping[str, Mapping[PersonVisit, float]]


def build(sample: Sample, template: Template) -> dict[str, bytes]:
    """The files of a table folder, by name; raises TableFaults where the sample does not suffice."""
    measures = _measures(sample, template)
    bands = age_bands(sample, measures, template.bands)
    z = performance(sample, measures, bands)
    reference = {(line.person, 1) for line in sample.lines if line.purpose == "reference"}
    rows = {"measures.csv": _measure_rows(sample, measures), "table.csv": _table_rows(sample, bands),
            "retest.csv": _retest_rows(sample, z),
            "correlations.csv": [*_correlation_rows("visit", sample, _only(z, reference)),
                                 *_correlation_rows("change", sample, _gains(z))]}
    files = {name: _csv(name, lines) for name, lines in rows.items() if lines}
    files[PACKAGE] = write_package(_about(sample, template), files)
    read_files(files)
    return files


def age_bands(sample: Sample, measures: Iterable[str], edges: Sequence[float]) -> Bands:
    """Number, mean and SD of each measure in each age band; raises TableFaults for bands too thin."""
    faults: list[Fault] = []
    bands = {}
    for measure in measures:
        lines = [line for line in sample.lines if line.measure == measure and line.purpose == "reference"]
        ages = np.array([line.age_years for line in lines])
        scaled = np.array([line.scaled for line in lines])
        bands[measure] = tuple(_band(measure, start, end, scaled[(ages >= start) & (ages < end)], faults)
                               for start, end in pairwise(edges))
    if faults:
        raise TableFaults(faults)
    return bands


def performance(sample: Sample, measures: Mapping[str, Measure], bands: Bands) -> Scores:
    """z of every line whose age is covered, below 0 = poorer; a pair is read by its later visit's row."""
    later = {line.person: line.age_years for line in sample.lines if line.visit == 2}
    z: dict[str, dict[PersonVisit, float]] = {name: {} for name in measures}
    for line in sample.lines:
        age = later.get(line.person, line.age_years)
        band = next((one for one in bands[line.measure] if one.age_from <= age < one.age_to), None)
        if band is not None:
            z[line.measure][line.person, line.visit] = (
                measures[line.measure].sign * (line.scaled - band.mean) / band.sd)
    return z


def _measures(sample: Sample, template: Template) -> dict[str, Measure]:
    """Measures of the sample, the primary ones first."""
    names = sorted({line.measure for line in sample.lines})
    unknown = [name for name in names if name.split(".")[-1] not in template.scores]
    if unknown:
        raise TableFaults(Fault("template", None, "scores", "must say unit, better, scale and decimals of "
                                "the score", name) for name in unknown)
    order = [name for name in PRIMARY_MEASURES if name in names]
    order += [name for name in names if name not in order]
    return {name: Measure(name, *template.scores[name.split(".")[-1]]) for name in order}


def _band(measure: str, start: float, end: float, scaled: Floats, faults: list[Fault]) -> Band:
    place = f"{measure} from {start:g} to {end:g} years"
    if len(scaled) < 2:
        faults.append(Fault("sample", None, place, "needs 2 persons or more", len(scaled)))
        return Band(start, end, len(scaled), 0.0, 1.0)
    sd = float(scaled.std(ddof=1))
    if not sd > 0:
        faults.append(Fault("sample", None, place, "needs values that differ", float(scaled[0])))
    return Band(start, end, len(scaled), float(scaled.mean()), sd)


def _measure_rows(sample: Sample, measures: Mapping[str, Measure]) -> list[Cells]:
    return [(one.name, one.unit, one.better, one.scale, one.decimals,
             _trial_sd([line for line in sample.lines if line.measure == one.name]))
            for one in measures.values()]


def _trial_sd(lines: Iterable[Line]) -> float | None:
    """sqrt of the sum of squares over the sum of degrees of freedom of all blocks with two trials."""
    parts = [(line.trial_variance * (line.n_trials - 1), line.n_trials - 1) for line in lines
             if line.trial_variance is not None and line.n_trials > 1]
    return float(np.sqrt(sum(part[0] for part in parts) / sum(part[1] for part in parts))) if parts else None


def _table_rows(sample: Sample, bands: Bands) -> list[Cells]:
    return [(measure, "any", sample.common["device_class"], band.age_from, band.age_to, band.n, None, None,
             None, band.mean, band.sd) for measure, of_measure in bands.items() for band in of_measure]


def _retest_rows(sample: Sample, z: Scores) -> list[Cells]:
    """One row a measure and number of earlier visits, where at least LEAST_PAIRS came twice."""
    first = {(line.measure, line.person): line for line in sample.lines if line.visit == 1}
    rows: list[Cells] = []
    for measure, values in z.items():
        seconds = [line for line in sample.lines if line.measure == measure and line.visit == 2
                   and (line.person, 1) in values and (line.person, 2) in values]
        for earlier in sorted({first[measure, line.person].earlier_visits for line in seconds}):
            pairs = [line for line in seconds if first[measure, line.person].earlier_visits == earlier]
            days = [line.day - first[measure, line.person].day for line in pairs]
            if len(pairs) >= LEAST_PAIRS:
                rows.append((measure, "any", sample.common["device_class"], len(pairs),
                             *_summary(pairs, values), min(days), float(np.median(days)), max(days), earlier))
    return rows


def _summary(pairs: Iterable[Line], values: Mapping[PersonVisit, float]) -> tuple[float, ...]:
    one, two = (np.array([values[line.person, visit] for line in pairs]) for visit in (1, 2))
    return (float(np.corrcoef(one, two)[0, 1]), float(one.mean()), float(one.std(ddof=1)),
            float(two.mean()), float(two.std(ddof=1)))


def _only(z: Scores, wanted: set[PersonVisit]) -> Scores:
    return {measure: {key: one for key, one in values.items() if key in wanted}
            for measure, values in z.items()}


def _gains(z: Scores) -> Scores:
    """Later minus earlier z of every pair."""
    return {measure: {(person, 2): one - values[person, 1] for (person, visit), one in values.items()
                      if visit == 2 and (person, 1) in values} for measure, values in z.items()}


def _correlation_rows(kind: str, sample: Sample, z: Scores) -> list[Cells]:
    """Every pair of primary measures, over the people who have both."""
    rows: list[Cells] = []
    for first, second in combinations([name for name in z if name in PRIMARY_MEASURES], 2):
        both = sorted(z[first].keys() & z[second].keys())
        if len(both) >= LEAST_PAIRS:
            r = np.corrcoef([z[first][key] for key in both], [z[second][key] for key in both])[0, 1]
            rows.append((kind, first, second, sample.common["device_class"], len(both), float(r)))
    return rows


def _csv(name: str, rows: Iterable[Cells]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([column.name for column in CSV_FILES[name].columns])
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return text.getvalue().encode()


def _cell(cell: object) -> str:
    if cell is None:
        return ""
    return f"{cell:.10g}" if isinstance(cell, float) else str(cell)


def _about(sample: Sample, template: Template) -> dict[str, object]:
    common = {key: sample.common[key] for key in ("battery", "battery_version", "scoring_version", "input")}
    return {**template.package, "reference_table": {**template.reference, **common}}
