"""The file of repeated measurements: person, first, second, one line a person (CSV, any one unit).

Faults are told all together; the same person twice, a value that is no number, and values that cannot carry a
coefficient of reliability are faults.
"""

from typing import NamedTuple

import numpy as np

from norms.table.csv_reading import read_csv
from norms.table.reasons import Fault, TableFaults
from norms.table.scale import Floats
from norms.table.schema import Column, CsvFile

REPEATS = CsvFile("pairs", (Column("person", "string"), Column("first", "number", minimum=-1e9, maximum=1e9),
                            Column("second", "number", minimum=-1e9, maximum=1e9)), ("person",))
LEAST_PAIRS = 4


class Repeats(NamedTuple):
    """First and second value of each person, in the order of the file."""

    first: Floats
    second: Floats


def read_repeats(name: str, data: bytes) -> Repeats:
    """Read a file of pairs; raises TableFaults with all that is wrong."""
    faults: list[Fault] = []
    rows = read_csv(REPEATS, data, faults)
    if not faults:
        pairs = np.array([(row.number_of("first"), row.number_of("second")) for row in rows])
        faults += _unfit(pairs.reshape(-1, 2))
    if faults:
        raise TableFaults([Fault(name, one.row, one.column, one.rule, one.value) for one in faults])
    return Repeats(pairs[:, 0], pairs[:, 1])


def _unfit(pairs: Floats) -> list[Fault]:
    if len(pairs) < LEAST_PAIRS:
        return [Fault("pairs", None, None, f"must hold {LEAST_PAIRS} persons or more", len(pairs))]
    return [Fault("pairs", None, what, "must differ between people", float(values[0]))
            for what, values in (("first", pairs[:, 0]), ("second", pairs[:, 1]),
                                 ("second - first", pairs[:, 1] - pairs[:, 0]))
            if not np.ptp(values) > 1e-9 * np.abs(pairs).max()]
