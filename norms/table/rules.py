"""Rules between the rows and files of a table folder, which no single cell can break."""

from collections.abc import Iterable, Mapping
from itertools import groupby, pairwise

from norms.table.csv_reading import CsvRow
from norms.table.percentiles import COLUMNS
from norms.table.reasons import Fault

Files = Mapping[str, list[CsvRow]]
LEAST_SD, LARGEST_LOG, LARGEST_S = 1e-9, 25.0, 5.0
ROUNDED = 1e-6  # of a number as it is written


def rule_faults(files: Files, reference: Mapping[str, object]) -> list[Fault]:
    """All faults between rows; rows already faulty by themselves are left out."""
    sound = {name: [row for row in rows if row.whole] for name, rows in files.items()}
    measures = {row.text("measure"): row for row in sound["measures.csv"]}
    method = str(reference.get("age_method"))
    named = [("table.csv", "measure"), ("retest.csv", "measure"), ("correlations.csv", "measure_1"),
             ("correlations.csv", "measure_2")]
    faults = [fault for name, column in named
              for fault in _unknown_measures(name, column, sound[name], files["measures.csv"])]
    faults += [fault for row in sound["table.csv"] for fault in _row_faults(row, measures, method)]
    faults += _age_faults(sound["table.csv"])
    faults += [fault for row in sound["retest.csv"] for fault in _day_faults(row)]
    faults += _pair_faults(sound["correlations.csv"], list(measures))
    faults += _use_faults(sound, measures, reference.get("measures_use"))
    windows = reference.get("window_s")
    return faults + _window_faults(sound["measures.csv"], windows if isinstance(windows, dict) else {})


def _unknown_measures(name: str, column: str, rows: Iterable[CsvRow],
                      measures: Iterable[CsvRow]) -> list[Fault]:
    known = {row.cells["measure"] for row in measures}
    return [Fault(name, row.number, column, "must be a measure of measures.csv", row.text(column))
            for row in rows if row.cells[column] not in known]


def _row_faults(row: CsvRow, measures: Mapping[str, CsvRow], method: str) -> list[Fault]:
    def fault(column: str, rule: str) -> Fault:
        return Fault("table.csv", row.number, column, rule, row.cells[column])

    found = []
    if row.number_of("age_from") >= row.number_of("age_to"):
        found.append(fault("age_to", "must be above age_from"))
    for column in ("n_mean", "df_sd"):
        if (method == "bands") == (row.cells[column] is not None):
            found.append(fault(column, f"must be {'empty' if method == 'bands' else 'given'} "
                                       f"for age_method {method}"))
    found += [fault(column, f"must not be above {most:g}, as the row rests on n {row.number_of('n'):g}")
              for column, most in (("n_mean", row.number_of("n")), ("df_sd", row.number_of("n") - 1))
              if (value := row.optional_number(column)) is not None and value > most * (1 + ROUNDED)]
    measure = measures.get(row.text("measure"))
    found += [fault(*one) for one in _size_rules(row, measure)]
    lms = measure is not None and measure.text("scale") == "lms"
    if lms == (row.cells["l"] is None):
        found.append(fault("l", "must be given for lms and for no other scale"))
    if lms and row.number_of("mean") <= 0:
        found.append(fault("mean", "must be above 0 for lms"))
    levels = [row.optional_number(f"p{percent:02d}") for percent in COLUMNS]
    if any(low is not None and high is not None and low > high for low, high in pairwise(levels)):
        found.append(Fault("table.csv", row.number, "p02 to p98", "must not fall from left to right"))
    return found


def _size_rules(row: CsvRow, measure: CsvRow | None) -> list[tuple[str, str]]:
    """Columns whose numbers no measure of this scale can have, each with its rule."""
    scale = "" if measure is None else measure.text("scale")
    mean, sd, power = abs(row.number_of("mean")), row.number_of("sd"), row.optional_number("l") or 0.0
    broken = [("sd", f"must be {LEAST_SD:g} or more", sd < LEAST_SD)]
    if scale in ("log", "logit"):
        broken += [(column, f"must lie within {LARGEST_LOG:g} on a {scale} scale", size > LARGEST_LOG)
                   for column, size in (("mean", mean), ("sd", sd))]
    if scale == "lms":
        broken += [("sd", "must leave values above 0 out to 3 SD: 3 |l| sd below 1",
                    3 * abs(power) * sd >= 1),
                   ("sd", f"must be {LARGEST_S:g} or less for lms", sd > LARGEST_S),
                   ("mean", f"must be {LEAST_SD:g} or more for lms", mean < LEAST_SD)]
    return [(column, rule) for column, rule, breaks in broken if breaks]


def _age_faults(rows: list[CsvRow]) -> list[Fault]:
    """Rows of one measure, sex and device class: sorted, no gap, no overlap."""
    def group(row: CsvRow) -> tuple[str, str, str]:
        return row.text("measure"), row.text("sex"), row.text("device_class")

    faults = []
    for _, members in groupby(sorted(rows, key=group), key=group):
        for before, after in pairwise(members):
            end, start = before.number_of("age_to"), after.number_of("age_from")
            if start != end:
                rule = "leaves a gap after" if start > end else "overlaps or stands before"
                faults.append(Fault("table.csv", after.number, "age_from",
                                    f"{rule} row {before.number}, which ends at {end:g}", f"{start:g}"))
    return faults


def _day_faults(row: CsvRow) -> list[Fault]:
    days = [row.number_of(column) for column in ("days_min", "days_median", "days_max")]
    if days == sorted(days):
        return []
    return [Fault("retest.csv", row.number, "days_median", "must lie between days_min and days_max",
                  f"{days[1]:g}")]


def _pair_faults(rows: list[CsvRow], measures: list[str]) -> list[Fault]:
    place = {name: index for index, name in enumerate(measures)}
    return [Fault("correlations.csv", row.number, "measure_2", "must come after measure_1 in measures.csv",
                  row.text("measure_2"))
            for row in rows if {row.text("measure_1"), row.text("measure_2")} <= place.keys()
            and place[row.text("measure_1")] >= place[row.text("measure_2")]]


def _use_faults(sound: Files, measures: Mapping[str, CsvRow], use: object) -> list[Fault]:
    """A measure judged by percentiles stands on its own scale and has the columns in every row."""
    used = {name for name, by in use.items() if by == "percentiles"} if isinstance(use, dict) else set()
    faults = [Fault("datapackage.json", None, "reference_table.measures_use",
                    "must name measures of measures.csv", name) for name in sorted(used - measures.keys())]
    faults += [Fault("measures.csv", row.number, "scale", "must be identity where percentiles are used",
                     row.text("scale")) for name, row in measures.items()
               if name in used and row.text("scale") != "identity"]
    return faults + [Fault("table.csv", row.number, "p02 to p98", "must be given where percentiles are used",
                           row.text("measure")) for row in sound["table.csv"]
                     if row.text("measure") in used and row.cells.get("p02") is None]


def _window_faults(measures: list[CsvRow], windows: Mapping[str, object]) -> list[Fault]:
    """A share needs the length of its block's window to know how many looks it counts."""
    return [Fault("measures.csv", row.number, "scale",
                  "logit needs the block's window_s in datapackage.json", row.text("measure"))
            for row in measures if row.text("scale") == "logit"
            and not row.text("measure").endswith(".follow")
            and row.text("measure").split(".")[0] not in windows]
