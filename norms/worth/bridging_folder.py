"""From a file of pairs to what may be carried over, and the statement signed into the table's folder.

Signing changes datapackage.json only, and with it the table's own hash. A new statement for the same panel
and input takes the place of the old one. Nothing is signed where nothing may be carried over.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from norms.judge.joint_rule import difference, study_of
from norms.judge.pairs import JUDGING_N
from norms.table.bridging_statement import Carried, Statement, as_json
from norms.table.datapackage import hash_of
from norms.table.folder import folder_bytes, read_files, write_folder
from norms.table.reasons import Fault, TableFaults
from norms.table.schema import CSV_FILES, PACKAGE
from norms.table.table import Table
from norms.worth.bridging import Bridge, bridge, study_of_pairs
from norms.worth.bridging_sample import Pairs, read_pairs
from norms.worth.calibrate_folder import with_reference
from norms.worth.reliability import Reliability


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
                                      _retest_sd(table, panels.from_device_class, measure))
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
    described = with_reference(files, "carried_over", [as_json(one) for one in [*kept, said]])
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


def _retest_sd(table: Table, device_class: str, measure: str) -> float | None:
    """SD of differences of the table's largest retest study, None where none is large enough to judge by."""
    here = [row for row in table.retest if (row.measure, row.device_class) == (measure, device_class)
            and row.n >= JUDGING_N]
    if not here:
        return None
    row = max(here, key=lambda one: one.n)
    sd_of_new_person = float(difference(0.0, study_of(row))[1])
    return float(sd_of_new_person / (1 + 1 / row.n) ** 0.5)
