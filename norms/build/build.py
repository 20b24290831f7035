"""From a sample of people to a table folder: age rows, retest study, correlations, and a verdict.

The rows come from purpose `reference` (norms/build/age_rows.py), the retest study from `retest`
(norms/build/retest_study.py), trial_sd is the SD between trials of one block, pooled over people. The
sample file is described in norms/build/sample.py, what a table says beyond its sample in
norms/build/template.py, what is thought of the table in norms/build/verdict.py. Where the sample does not
suffice there are no files, and the verdict says what is missing.
"""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from norms.build.age_rows import AgeRows, RowOptions, rows_of
from norms.build.retest_study import Cells, RowsByMeasure, correlation_rows, retest_rows
from norms.build.sample import Progress, Sample
from norms.build.sample_lines import LineFaults
from norms.build.sample_rules import MeasureLines, values_on_scale
from norms.build.template import Template
from norms.build.verdict import NOT_YET, Verdict, too_few, verdict_of
from norms.table.datapackage import STATUSES, write_package
from norms.table.folder import read_files
from norms.table.reasons import Fault, TableFaults
from norms.table.schema import CSV_FILES, PACKAGE
from norms.table.table import PRIMARY_MEASURES, Measure, Table, looks_of

SEED = 2026
SIMULATED = "simulated"


@dataclass(frozen=True)
class Built:
    """What is thought of the table, its files by name and its rows by measure; not yet: neither."""

    verdict: Verdict
    files: Mapping[str, bytes]
    book: RowsByMeasure
    table: Table | None = None


def build_table(sample: Sample, template: Template, seed: int = SEED,
                progress: Progress | None = None) -> Built:
    """The table these people support, in memory, or the verdict that says what is missing.

    The same sample, template and seed give the same bytes. `progress` is told measures done and all
    measures. Raises TableFaults where sample or template contradict themselves.
    """
    measures, thin = _measures(sample, template)
    sample = checked_values(sample, measures, template)
    scarce = too_few(sample, list(measures), template)
    if scarce is not None:
        return Built(scarce, {}, {})
    book = age_rows(sample, measures, template, seed, progress)
    primary = [name for name in PRIMARY_MEASURES if name in book]
    rows = {
        "measures.csv": _measure_rows(sample, book),
        "table.csv": _table_rows(sample, book),
        "retest.csv": retest_rows(sample, book),
        "correlations.csv": correlation_rows(sample, book, primary),
    }
    files = {name: _csv(name, lines) for name, lines in rows.items() if lines}
    files[PACKAGE] = write_package(_about(sample, template, book), files)
    table = read_files(files)
    verdict = verdict_of(sample, book, table, template, thin)
    return Built(verdict, {}, {}) if verdict.word == NOT_YET else Built(verdict, files, book, table)


def age_rows(sample: Sample, measures: Mapping[str, Measure], template: Template, seed: int = SEED,
             progress: Progress | None = None) -> dict[str, list[AgeRows]]:
    """The rows of every measure; each draws from a generator of its own."""
    options = RowOptions(template.method, template.bands, template.floor_n, template.lms, template.sex_rows)
    book: dict[str, list[AgeRows]] = {}
    for number, (name, measure) in enumerate(measures.items(), start=1):
        rng = np.random.default_rng([seed, number])
        book[name] = rows_of(measure, sample.people(name), options, rng)
        if progress is not None:
            progress("measures fitted", number, len(measures))
    return book


def _measures(sample: Sample, template: Template) -> tuple[dict[str, Measure], dict[str, int]]:
    """Measures of the sample, the primary ones first; and those of too few people, with their number."""
    unknown = [name for name in sample.measures if name.split(".")[-1] not in template.scores]
    if unknown:
        raise TableFaults(
            Fault("template", None, "scores", "must say unit, better, scale and decimals of the score", name)
            for name in unknown
        )
    order = [name for name in PRIMARY_MEASURES if name in sample.measures]
    order += [name for name in sample.measures if name not in order]
    people = {name: len(sample.lines_of(name, again=False)) for name in order}
    most = max(people.values(), default=0)
    thin = {name: count for name, count in people.items() if count < min(template.floor_n, most)}
    return {
        name: Measure(name, *template.scores[name.split(".")[-1]]) for name in order if name not in thin
    }, thin


def checked_values(sample: Sample, measures: Mapping[str, Measure], template: Template) -> Sample:
    """The sample with `scaled` as its values give it; raises TableFaults for values no measure can have."""
    faults, scaled = LineFaults(sample.file), sample.scaled.copy()
    for name, measure in measures.items():
        if measure.scale == "logit" and measure.score != "follow" and measure.block not in template.window_s:
            continue  # reading the table names the missing window
        lines = sample.lines_of(name)
        own = MeasureLines(sample.row[lines], sample.value[lines], sample.scaled[lines],
                           sample.trial_variance[lines])
        looks = looks_of(measure, template.window_s)
        scaled[lines] = values_on_scale(measure, template.domain_of(measure), looks, own, faults)
    if faults.told():
        raise TableFaults(faults.told())
    return replace(sample, scaled=scaled)


def _measure_rows(sample: Sample, book: RowsByMeasure) -> list[Cells]:
    measures = [rows[0].measure for rows in book.values()]
    return [
        (
            one.name,
            one.unit,
            one.better,
            one.scale,
            one.decimals,
            None if one.scale == "lms" else _trial_sd(sample, one.name),
        )
        for one in measures
    ]


def _trial_sd(sample: Sample, measure: str) -> float | None:
    """sqrt of the sum of squares over the sum of degrees of freedom of all blocks with two trials or more."""
    lines = sample.lines_of(measure)
    variance, freedom = sample.trial_variance[lines], sample.n_trials[lines] - 1.0
    known = np.isfinite(variance) & (freedom > 0)
    if not known.any():
        return None
    return float(np.sqrt((variance[known] * freedom[known]).sum() / freedom[known].sum()))


def _table_rows(sample: Sample, book: RowsByMeasure) -> list[Cells]:
    def given(values: object, place: int) -> float | None:
        return None if values is None else float(values[place])  # type: ignore[index]

    return [
        (
            measure,
            rows.sex,
            sample.common["device_class"],
            float(rows.edges[place]),
            float(rows.edges[place + 1]),
            rows.n[place],
            given(rows.n_mean, place),
            given(rows.df_sd, place),
            rows.power,
            float(rows.mean[place]),
            float(rows.sd[place]),
        )
        for measure, of_measure in book.items()
        for rows in of_measure
        for place in range(len(rows.mean))
    ]


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


def _about(sample: Sample, template: Template, book: RowsByMeasure) -> dict[str, object]:
    common = {key: sample.common[key] for key in ("battery", "battery_version", "scoring_version", "input")}
    if sample.common["device_class"] == SIMULATED and template.reference["status"] in STATUSES:
        common["status"] = "synthetic"  # whatever the template says
    whole_n = min(rows[0].n[0] for rows in book.values()) if template.method != "bands" else None
    return {**template.package, "reference_table": {**template.reference, **common, "whole_n": whole_n}}
