"""The files of a demo: report.pdf, leaflet.pdf, findings.json and one CSV a trial, all written or none."""

import os
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from io import StringIO
from pathlib import Path

from kiosk.app.conclusion import Conclusion
from kiosk.base.canonical_json import canonical_json
from kiosk.base.errors import Refused
from kiosk.exchange.trial_csv import write_samples
from kiosk.visits.archive import Archive
from kiosk.visits.findings import Findings
from kiosk.visits.findings_json import findings_dict, trial_stem

FORMAT = 1


def check_writable(out: Path) -> None:
    """Refused `cannot_write` before anything is simulated where the folder cannot be made or written."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=out):
            pass
    except OSError as fault:
        raise Refused("cannot_write", {"file": out.name, "why": fault.strerror or "no access"}) from fault


def write_demo(out: Path, conclusions: Sequence[Conclusion], archive: Archive, leaflet: bytes) -> None:
    """Write everything beside the folder's place first, then put it there; leaflet: of the last visit."""
    files: dict[str, bytes] = {
        "report.pdf": conclusions[-1].pdf, "leaflet.pdf": leaflet, "findings.json": _findings(conclusions)}
    for one in conclusions:
        files |= _trials(one.findings, archive)
    try:
        write_all(out, files)
    except OSError as fault:
        raise Refused("cannot_write", {"file": out.name, "why": fault.strerror or "no access"}) from fault


def write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    """Each file is whole or not there; the trials of an earlier run do not stay behind."""
    with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as scratch:
        for name, content in files.items():
            place = Path(scratch, name)
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
        shutil.rmtree(folder / "trials", ignore_errors=True)
        for name in {Path(name).parts[0] for name in files}:
            os.replace(Path(scratch, name), folder / name)


def _findings(conclusions: Sequence[Conclusion]) -> bytes:
    visits = [findings_dict(one.findings) for one in conclusions]
    return (canonical_json({"format": FORMAT, "visits": visits}) + "\n").encode()


def _trials(findings: Findings, archive: Archive) -> dict[str, bytes]:
    samples = {trial.id: trial.record.samples for trial in archive.trials_of(findings.visit.id)}
    files = {}
    for trial in findings.trials:
        text = StringIO()
        write_samples(samples[trial.id], text)
        files[f"trials/{trial_stem(findings.visit_number, trial)}.csv"] = text.getvalue().encode()
    return files
