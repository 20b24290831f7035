"""The key figures of a table stored in its folder: calibrated, written, and held to the files they belong to.

Only datapackage.json changes, and with it the table's own hash: a calibrated table is another one than the
same table before, so it is calibrated before its first visit. Figures whose files have changed are a fault.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from norms.table.calibrate_figures import CHANGES_SD, Calibration, as_json, from_json
from norms.table.datapackage import hash_of
from norms.table.folder import folder_bytes, read_files, write_folder
from norms.table.schema import CSV_FILES, PACKAGE
from norms.table.table import Table
from norms.worth.calibrate import SEED, WORLDS, Tell, worth_of


def calibrate_folder(folder: Path, date: str, seed: int = SEED, worlds: int = WORLDS,
                     tell: Tell = lambda done, of: None) -> Calibration:
    """Calibrate a folder and store the figures in it; `date` is a day YYYY-MM-DD."""
    files = _uncalibrated(folder_bytes(folder))
    table = read_files(files)
    of = {name: hash_of(data) for name, data in files.items() if name in CSV_FILES}
    found = Calibration(seed, worlds, date, CHANGES_SD, of, worth_of(table, seed, worlds, tell))
    described = with_reference(files, "calibration", as_json(found))
    read_files({**files, PACKAGE: described})
    write_folder(folder, {PACKAGE: described})
    return found


def calibration_of(table: Table) -> Calibration | None:
    """The figures stored with a table, None where it was never calibrated."""
    said = table.about.get("calibration")
    return None if said is None else from_json(said)


def with_reference(files: Mapping[str, bytes], key: str, value: object) -> bytes:
    """datapackage.json with one property of reference_table set anew."""
    package: dict[str, Any] = json.loads(files[PACKAGE].decode("utf-8-sig"))
    package["reference_table"][key] = value
    return (json.dumps(package, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _uncalibrated(files: Mapping[str, bytes]) -> Mapping[str, bytes]:
    """The files without figures, so that a table whose files have changed can be calibrated again."""
    try:
        return {**files, PACKAGE: with_reference(files, "calibration", None)}
    except (KeyError, TypeError, ValueError):
        return files
