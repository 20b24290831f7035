"""The file of a bridging study: one line a person and measure, with the value on each panel (CSV).

person · measure · age_years · sex · first_on (table or other: on which panel the person began) · table_value
(on the panel and with the input the table is for) · other_value, both in the measure's unit. Faults are told
all together; a value that the table does not answer is one.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from norms.csvread import CsvRow, read_csv
from norms.lookup import ByHand, find_row
from norms.pairs import beyond_columns
from norms.reasons import Fault, Refusal, TableFaults, sentence
from norms.scale import Floats
from norms.table import Table, performance_z
from norms.tableschema import Column, CsvFile

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


def read_pairs(table: Table, device_class: str, name: str, data: bytes) -> Mapping[str, Pairs]:
    """The pairs of each measure, in the order of the table; raises TableFaults with all that is wrong."""
    faults: list[Fault] = []
    lines = read_csv(PAIRS, data, faults)
    found = {} if faults else {measure.name: _pairs(table, device_class, measure.name, lines, faults)
                               for measure in table.measures}
    known = set(table.measure_by_name)
    faults += [Fault("pairs", line.number, "measure", "must be a measure of the table", line.text("measure"))
               for line in lines if line.whole and line.text("measure") not in known]
    if not lines and not faults:
        faults.append(Fault("pairs", None, None, "must hold people"))
    if faults:
        raise TableFaults([Fault(name, one.row, one.column, one.rule, one.value) for one in faults])
    return {measure: pairs for measure, pairs in found.items() if pairs is not None}


def _pairs(table: Table, device_class: str, measure: str, lines: list[CsvRow],
           faults: list[Fault]) -> Pairs | None:
    here = [line for line in lines if line.text("measure") == measure]
    z = [_z(table, device_class, line, faults) for line in here]
    both = np.array([pair for pair in z if pair is not None]).reshape(-1, 2)
    if not here or len(both) < len(here):
        return None
    faults += _unfit(measure, both)
    return Pairs(both[:, 0], both[:, 1], tuple(line.text("first_on") == "table" for line in here))


def _z(table: Table, device_class: str, line: CsvRow, faults: list[Fault]) -> tuple[float, float] | None:
    """z of both values by the person's own row."""
    asker = ByHand(line.number_of("age_years"), line.text("sex"), device_class)
    measure, z = line.text("measure"), []
    for column in ("table_value", "other_value"):
        value = line.number_of(column)
        row = find_row(table, measure, value, asker)
        refusal = row if isinstance(row, Refusal) else beyond_columns(table, row, value)
        if refusal is not None or isinstance(row, Refusal):
            faults.append(Fault("pairs", line.number, column, _rule(refusal), line.cells[column]))
            return None
        z.append(float(performance_z(table, table.measure_by_name[measure], row, value)))
    return z[0], z[1]


def _rule(refusal: Refusal | None) -> str:
    return "must be one the table answers" + (f" ({sentence(refusal).rstrip('.')})" if refusal else "")


def _unfit(measure: str, both: Floats) -> list[Fault]:
    if len(both) < LEAST_PAIRS:
        return [Fault("pairs", None, measure, f"must hold {LEAST_PAIRS} persons or more", len(both))]
    return [Fault("pairs", None, f"{measure} {what}", "must differ between people", float(values[0]))
            for what, values in (("table_value", both[:, 0]), ("other_value", both[:, 1]),
                                 ("difference", both[:, 1] - both[:, 0]))
            if not np.ptp(values) > 1e-9 * np.abs(both).max()]
