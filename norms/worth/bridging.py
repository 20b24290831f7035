"""A bridging study: from its file of pairs to what may be carried over, and the signed statement.

The file (CSV) has one line a person and measure: person, measure, age_years, sex, first_on (table or other:
on which panel the person began), table_value (on the panel and with the input the table is for) and
other_value, both in the measure's unit. Faults are told all together; a line whose person the table does
not answer (age, too few people, ceiling) is left out and counted.

Signing changes datapackage.json only, and with it the table's own hash. A new statement for the same panel
and input takes the place of the old one. Nothing is signed where nothing may be carried over.

References
----------
Phillips KF (1990), Journal of Pharmacokinetics and Biopharmaceutics 18:137-144 (power of the two tests).
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from norms.judge.comparability import JUDGING_N, beyond_columns
from norms.judge.joint_rule import difference, study_of
from norms.judge.lookup import ByHand, find_row
from norms.table.bridging_rule import LEAST_PEOPLE, LEVEL, MARGIN_RATIO, MARGIN_Z, Bridge, Study, bridge
from norms.table.bridging_statement import Carried, Statement, as_json
from norms.table.csv_reading import CsvRow, read_csv
from norms.table.datapackage import hash_of, with_reference
from norms.table.distributions import f_below, f_point, normal_below, t_point
from norms.table.folder import folder_bytes, read_files, write_folder
from norms.table.reasons import Fault, Refusal, TableFaults
from norms.table.scale import Floats
from norms.table.schema import CSV_FILES, PACKAGE, Column, CsvFile
from norms.table.table import Table, performance_z
from norms.worth.reliability import Reliability, reliability

WANTED_POWER, MOST_PEOPLE = 0.80, 1_000


def study_of_pairs(table_z: npt.ArrayLike, other_z: npt.ArrayLike, first_on_table: Sequence[bool],
                   retest: tuple[float, int] | None) -> tuple[Study, Reliability]:
    """The numbers of a study from z on the table's panel and on the other; differences are other minus
    table's. `retest`: SD of differences and number of pairs of the table's retest study."""
    one, two = np.asarray(table_z, float), np.asarray(other_z, float)
    agree = reliability(one, two)
    retest_sd, retest_n = retest or (None, None)
    return Study(len(one), sum(first_on_table), agree.bias.value, agree.sd_of_differences, agree.sd_first,
                 agree.sd_second, agree.r.value, agree.icc_2_1.value, retest_sd,
                 retest_n), agree


def power(se: float, df: float, bias: float = 0.0, margin: float = MARGIN_Z) -> float:
    """Probability that both tests reject, for a true bias and standard error (Phillips 1990).

    Averaged over the law of the estimated error, chi-square with df.

    >>> round(power(0.0909, 29), 3)
    0.885
    """
    from scipy.special import chdtri
    part = (np.arange(4_000) + 0.5) / 4_000
    room = margin - float(t_point(1 - LEVEL, df)) * se * np.sqrt(chdtri(df, part) / df)
    seen = normal_below((room - bias) / se) - normal_below((-room - bias) / se)
    return float(np.mean(np.where(room > 0, seen, 0.0)))


def power_of_sd_ratio(n: int, r: float, ratio: float = 1.0, margin: float = MARGIN_RATIO) -> float:
    """Probability that both tests of the ratio of two SDs reject, for a true ratio and correlation r.

    Each test refuses by the correlation of y + theta x with y - theta x, whose Fisher z is taken as normal.

    >>> round(power_of_sd_ratio(100, 0.9), 2)
    0.86
    """
    t = float(t_point(1 - LEVEL, n - 2))
    bound = np.arctanh(t / (n - 2 + t**2) ** 0.5)

    def refused(theta: float, sign: int) -> float:
        apart, together = ratio**2 - theta**2, ratio**2 + theta**2
        rho = apart / (together**2 - (2 * r * ratio * theta) ** 2) ** 0.5
        centre = np.arctanh(rho) + rho / (2 * (n - 1))
        return float(normal_below((sign * centre - bound) * (n - 3) ** 0.5))

    return max(0.0, refused(1 / margin, 1) + refused(margin, -1) - 1)


def power_of_no_wider(n: int, other_n: int, ratio: float, margin: float = MARGIN_RATIO) -> float:
    """Probability that an SD of n is shown to be less than margin times another, for a true ratio.

    >>> round(power_of_no_wider(60, 100, 0.8), 2), round(power_of_no_wider(60, 100, 1.15), 2)
    (0.93, 0.05)
    """
    bound = f_point(LEVEL, n - 1, other_n - 1) * (margin / ratio) ** 2
    return float(f_below(bound, n - 1, other_n - 1))


def pairs_needed_for_sd_ratio(r: float) -> int | None:
    """The fewest people with whom equal SDs are shown to be equivalent 8 times of 10; None: too many."""
    most = range(LEAST_PEOPLE, MOST_PEOPLE)
    found = bisect_left(most, WANTED_POWER, key=lambda n: power_of_sd_ratio(n, r))
    return most[found] if found < len(most) else None


def people_needed(sd: float) -> int | None:
    """The fewest people with whom equivalence without bias is shown 8 times of 10; None: too many."""
    most = range(LEAST_PEOPLE, MOST_PEOPLE)
    found = bisect_left(most, WANTED_POWER, key=lambda n: power(sd / n**0.5, n - 1))
    return most[found] if found < len(most) else None


PAIRS = CsvFile("pairs", (
    Column("person", "string"), Column("measure", "string"),
    Column("age_years", "number", minimum=0, maximum=120),
    Column("sex", "string", enum=("female", "male", "other", "not_asked")),
    Column("first_on", "string", enum=("table", "other")),
    Column("table_value", "number", minimum=-1e9, maximum=1e9),
    Column("other_value", "number", minimum=-1e9, maximum=1e9)), ("person", "measure"))
LEAST_PAIRS = 4


@dataclass(frozen=True)
class Pairs:
    """One measure: z on the table's panel and on the other, and who began on the table's."""

    table_z: Floats
    other_z: Floats
    first_on_table: tuple[bool, ...]


@dataclass(frozen=True)
class PairsFile:
    """The pairs of each measure, and how many lines were left out for which reason (codes of refusals)."""

    pairs: Mapping[str, Pairs]
    left_out: Mapping[str, int]


def read_pairs(table: Table, device_class: str, file: str, data: bytes) -> PairsFile:
    """Read a study; raises TableFaults with all that is wrong."""
    faults: list[Fault] = []
    lines = read_csv(PAIRS, data, faults)
    faults += [Fault("pairs", line.number, "measure", "must be a measure of the table", line.text("measure"))
               for line in lines if line.whole and line.text("measure") not in table.measure_by_name]
    left_out: Counter[str] = Counter()
    z = {} if faults else {line.number: _z(table, device_class, line, faults, left_out) for line in lines}
    of = {measure.name: [line for line in lines if line.cells["measure"] == measure.name]
          for measure in table.measures}
    found = {name: pairs for name, here in of.items() if (pairs := _pairs(here, z, faults)) is not None}
    if not found and not faults:
        faults.append(Fault("pairs", None, None, "must hold people whom the table answers", _told(left_out)))
    if faults:
        raise TableFaults([Fault(file, one.row, one.column, one.rule, one.value) for one in faults])
    return PairsFile(found, left_out)


def _z(table: Table, device_class: str, line: CsvRow, faults: list[Fault],
       left_out: Counter[str]) -> tuple[float, float] | None:
    """z of both values by the person's own row; None for a line that is left out or at fault."""
    context = ByHand(line.number_of("age_years"), line.text("sex"), device_class)
    measure, z = line.text("measure"), []
    for column in ("table_value", "other_value"):
        value = line.number_of(column)
        row = find_row(table, measure, value, context)
        refusal = row if isinstance(row, Refusal) else beyond_columns(table, row, value)
        if isinstance(row, Refusal) or refusal is not None:
            code = refusal.code if refusal else ""
            if code == "value_outside_scale":
                faults.append(Fault("pairs", line.number, column, "must lie on the measure's scale", value))
            else:
                left_out[code] += 1
            return None
        z.append(float(performance_z(table, table.measure_by_name[measure], row, value)))
    return z[0], z[1]


def _pairs(lines: list[CsvRow], z: Mapping[int, tuple[float, float] | None],
           faults: list[Fault]) -> Pairs | None:
    read = [(line, z[line.number]) for line in lines if z.get(line.number) is not None]
    if not read:
        return None
    both = np.array([pair for _, pair in read])
    faults += _unfit(lines[0].text("measure"), both)
    return Pairs(both[:, 0], both[:, 1], tuple(line.text("first_on") == "table" for line, _ in read))


def _unfit(measure: str, both: Floats) -> list[Fault]:
    if len(both) < LEAST_PAIRS:
        rule = f"must hold {LEAST_PAIRS} persons or more whom the table answers"
        return [Fault("pairs", None, measure, rule, len(both))]
    return [Fault("pairs", None, f"{measure} {what}", "must differ between people", float(values[0]))
            for what, values in (("table_value", both[:, 0]), ("other_value", both[:, 1]),
                                 ("difference", both[:, 1] - both[:, 0]))
            if not np.ptp(values) > 1e-9 * np.abs(both).max()]


def _told(left_out: Mapping[str, int]) -> str | None:
    return ", ".join(f"{lines} {code}" for code, lines in left_out.items()) or None


@dataclass(frozen=True)
class Panels:
    """The panel the table is for, and the one it may be carried over to."""

    from_device_class: str
    device_class: str
    input: str


@dataclass(frozen=True)
class Bridging:
    """A study judged: each measure with its bridge and its agreement on z; `pairs` keeps the z themselves."""

    panels: Panels
    bridges: Mapping[str, Bridge]
    agreement: Mapping[str, Reliability]
    pairs: Mapping[str, Pairs]
    left_out: Mapping[str, int]
    study_sha256: str

    def by_measure(self) -> Iterator[tuple[str, Reliability, Pairs]]:
        for measure, agreement in self.agreement.items():
            yield measure, agreement, self.pairs[measure]

    @property
    def carries(self) -> bool:
        return any(one.table for one in self.bridges.values())


def bridging(table: Table, panels: Panels, name: str, data: bytes) -> Bridging:
    """Judge the file of a study by a table; raises TableFaults for a file or panels that do not fit."""
    faults = _panel_faults(table, panels)
    if faults:
        raise TableFaults(faults)
    file = read_pairs(table, panels.from_device_class, name, data)
    judged = {measure: study_of_pairs(one.table_z, one.other_z, one.first_on_table,
                                      _retest(table, panels.from_device_class, measure))
              for measure, one in file.pairs.items()}
    return Bridging(panels, {measure: bridge(study) for measure, (study, _) in judged.items()},
                    {measure: agreement for measure, (_, agreement) in judged.items()}, file.pairs,
                    file.left_out, hash_of(data))


def sign(folder: Path, found: Bridging, role: str, date: str) -> Statement:
    """Write the statement into the folder; `date` is a day YYYY-MM-DD."""
    files = folder_bytes(folder)
    table = read_files(files)
    of = {name: hash_of(data) for name, data in files.items() if name in CSV_FILES}
    carried = tuple(Carried(measure, one.table, one.visits, one.study)
                    for measure, one in found.bridges.items())
    panels = found.panels
    said = Statement(panels.device_class, panels.input, panels.from_device_class, carried, role, date,
                     found.study_sha256, of)
    kept = [one for one in table.carried_over
            if (one.device_class, one.input) != (said.device_class, said.input)]
    described = with_reference(files[PACKAGE], "carried_over", [as_json(one) for one in [*kept, said]])
    read_files({**files, PACKAGE: described})
    write_folder(folder, {PACKAGE: described})
    return said


def _panel_faults(table: Table, panels: Panels) -> list[Fault]:
    classes = sorted({row.device_class for row in table.rows})
    if panels.from_device_class not in classes:
        return [Fault("bridge", None, "from-class", f"must be one of the table's, {', '.join(classes)}",
                      panels.from_device_class)]
    if panels.device_class in classes and panels.input == table.input:
        return [Fault("bridge", None, "device-class", "must be another than the table's for the same input",
                      panels.device_class)]
    return []


def _retest(table: Table, device_class: str, measure: str) -> tuple[float, int] | None:
    """SD of differences and pairs of the table's largest retest study, None where none is large enough."""
    here = [row for row in table.retest if (row.measure, row.device_class) == (measure, device_class)
            and row.n >= JUDGING_N]
    if not here:
        return None
    row = max(here, key=lambda one: one.n)
    sd_of_new_person = float(difference(0.0, study_of(row))[1])
    return float(sd_of_new_person / (1 + 1 / row.n) ** 0.5), row.n
