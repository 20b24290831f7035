"""The file of a bridging study: one line a person and measure, with the value on each panel (CSV).

person · measure · age_years · sex · first_on (table or other: on which panel the person began) · table_value
(on the panel and with the input the table is for) · other_value, both in the measure's unit. Faults are told
all together; a line whose person the table does not answer (age, too few people, ceiling) is left out and
counted.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from norms.judge.lookup import ByHand, find_row
from norms.judge.pairs import beyond_columns
from norms.table.csv_reading import CsvRow, read_csv
from norms.table.reasons import Fault, Refusal, TableFaults
from norms.table.scale import Floats
from norms.table.schema import Column, CsvFile
from norms.table.table import Table, performance_z

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
    asker = ByHand(line.number_of("age_years"), line.text("sex"), device_class)
    measure, z = line.text("measure"), []
    for column in ("table_value", "other_value"):
        value = line.number_of(column)
        row = find_row(table, measure, value, asker)
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
