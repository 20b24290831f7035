"""Reference table folders, format 1: read with every fault listed, and written.

A folder holds datapackage.json, measures.csv, table.csv and, where a study was made, retest.csv and
correlations.csv. Reading raises TableFaults with all that is wrong; nothing faulty becomes a Table.
"""

import hashlib
import io
import os
import tempfile
import zipfile
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from norms.table.bridging_statement import statement_faults, statements_of
from norms.table.calibration_record import calibration_faults
from norms.table.csv_reading import CsvRow, read_csv
from norms.table.datapackage import file_faults, hash_of, read_package
from norms.table.percentiles import COLUMNS
from norms.table.reasons import Fault, TableFaults
from norms.table.rules import rule_faults
from norms.table.schema import CSV_FILES, PACKAGE, REQUIRED_FILES
from norms.table.table import Correlation, Measure, RetestRow, Row, Table
from norms.table.verification import verification_faults

FILES = (PACKAGE, *CSV_FILES)
LARGEST_FILE_BYTES = 200_000_000


def read_folder(folder: Path) -> Table:
    """Read a folder; raises TableFaults with all that is wrong."""
    return read_files(folder_bytes(folder))


def read_zip(data: bytes) -> Table:
    """Read a folder packed by `pack_folder`; raises TableFaults."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            sizes = {info.filename: info.file_size for info in packed.infolist()}
            files = {name: packed.read(name) for name in FILES
                     if sizes.get(name, LARGEST_FILE_BYTES) < LARGEST_FILE_BYTES}
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise TableFaults([Fault("zip", None, None, f"must be a readable zip ({error})")]) from None
    return read_files(files)


def pack_folder(folder: Path) -> bytes:
    """The folder's files as zip bytes, the same bytes for the same files."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as into:
        for name, data in folder_bytes(folder).items():
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            into.writestr(entry, data)
    return packed.getvalue()


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write the files of a folder; a file appears whole or not at all, datapackage.json last."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as aside:
        for name in sorted(files, key=lambda name: name == PACKAGE):
            (Path(aside) / name).write_bytes(files[name])
        for name in sorted(files, key=lambda name: name == PACKAGE):
            os.replace(Path(aside) / name, folder / name)


def folder_bytes(folder: Path) -> dict[str, bytes]:
    """The bytes of the files of format 1 that a folder holds."""
    if not folder.is_dir():
        raise TableFaults([Fault(folder.name or str(folder), None, None, "must be a folder")])
    try:
        return {name: (folder / name).read_bytes() for name in FILES if (folder / name).exists()}
    except OSError as error:
        raise TableFaults([Fault(folder.name, None, None, f"must be readable ({error.strerror})")]) from None


def read_files(files: Mapping[str, bytes]) -> Table:
    """A table from the bytes of its files; raises TableFaults with all that is wrong."""
    faults = [Fault(name, None, None, "file is missing") for name in (PACKAGE, *REQUIRED_FILES)
              if name not in files]
    package = read_package(files[PACKAGE], faults) if PACKAGE in files else None
    rows = {name: read_csv(described, files[name], faults) if name in files else []
            for name, described in CSV_FILES.items()}
    if package is not None:
        faults += [fault for fault in file_faults(package, files) if fault not in faults]
    reference = package["reference_table"] if package else {}
    said = reference if isinstance(reference, dict) else {}
    faults += [*rule_faults(rows, said), *_stated_faults(said, files)] if package else []
    if faults or package is None:
        raise TableFaults(faults)
    return _table(package, hashlib.sha256(files[PACKAGE]).hexdigest(), rows)


def _stated_faults(reference: Mapping[str, object], files: Mapping[str, bytes]) -> list[Fault]:
    """Faults of what the descriptor says of the very files beside it."""
    hashes = {name: hash_of(data) for name, data in files.items() if name in CSV_FILES}
    return [*calibration_faults(reference, hashes), *statement_faults(reference, hashes),
            *verification_faults(reference, hashes)]


def _table(package: Mapping[str, Any], sha256: str, rows: Mapping[str, list[CsvRow]]) -> Table:
    said = package["reference_table"]
    expires = said["expires"]
    plain = ("status", "battery", "battery_version", "scoring_version", "comparison_version", "window_s",
             "input", "tested_from", "tested_to", "age_method", "floor_n", "warn_n", "measures_use")
    return Table(
        sha256=sha256, name=package["name"], title=package["title"], version=package["version"],
        **{key: said[key] for key in plain},
        expires=None if expires is None else date.fromisoformat(expires),
        languages=tuple(said["languages"]), about={**said, "created": package["created"]},
        measures=tuple(map(_measure, rows["measures.csv"])), rows=tuple(map(_row, rows["table.csv"])),
        retest=tuple(map(_retest, rows["retest.csv"])),
        correlations=tuple(map(_correlation, rows["correlations.csv"])), carried_over=statements_of(said))


def _measure(row: CsvRow) -> Measure:
    return Measure(row.text("measure"), row.text("unit"), row.text("better"), row.text("scale"),
                   int(row.number_of("decimals")), row.optional_number("trial_sd"))


def _row(row: CsvRow) -> Row:
    levels = [row.optional_number(f"p{percent:02d}") for percent in COLUMNS]
    percentiles = tuple(level for level in levels if level is not None)
    return Row(row.text("measure"), row.text("sex"), row.text("device_class"), row.number_of("age_from"),
               row.number_of("age_to"), int(row.number_of("n")), row.optional_number("n_mean"),
               row.optional_number("df_sd"), row.optional_number("l"), row.number_of("mean"),
               row.number_of("sd"), percentiles or None)


def _retest(row: CsvRow) -> RetestRow:
    at = row.number_of
    return RetestRow(row.text("measure"), row.text("sex"), row.text("device_class"), int(at("n")), at("r"),
                     at("mean_1"), at("sd_1"), at("mean_2"), at("sd_2"), at("days_min"), at("days_median"),
                     at("days_max"), int(at("earlier_visits")))


def _correlation(row: CsvRow) -> Correlation:
    return Correlation(row.text("kind"), row.text("measure_1"), row.text("measure_2"),
                       row.text("device_class"), int(row.number_of("n")), row.number_of("r"))
