"""Exploring recordings: the sheet of one trial as PDF, PNG or CSV, or of a folder's trials as one PDF.

A CSV gives the traces, and the spectrum in a second file beside it (NAME-spectrum.csv). The file is written
whole or not at all.
"""

import os
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from kiosk.app.recordings import Job, plan_of, record_of
from kiosk.base.errors import KioskError, Refused, WrongUsage
from kiosk.exchange.traces_csv import spectrum_csv, traces_csv
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import Battery
from kiosk.pursuit.trial import TrialPlan, TrialRecord
from kiosk.report.exploration import Explored, exploration_pdf, exploration_png
from kiosk.scoring.score import score_trial
from kiosk.scoring.traces import traces_of
from kiosk.wording.exploration_words import exploration_words

KINDS: Final = (".pdf", ".png", ".csv")


def check_plot(out: Path, folder: bool) -> None:
    """WrongUsage `plot_kind_unknown`, or `plot_folder_as_pdf` where a folder is asked for otherwise."""
    if out.suffix.lower() not in KINDS:
        raise WrongUsage("plot_kind_unknown", {"file": out.name, "known": KINDS})
    if folder and out.suffix.lower() != ".pdf":
        raise WrongUsage("plot_folder_as_pdf", {"file": out.name})


def plot_file(path: Path, plan: TrialPlan, latency_ms: float | None, out: Path, language: Language) -> None:
    """The sheet of one recording."""
    record = record_of(path, plan, latency_ms)
    kind = out.suffix.lower()
    if kind == ".csv":
        _write(out, _tables(path.name, record, out))
        return
    explored = _explored(path.name, record, language)
    content = exploration_pdf([explored], language) if kind == ".pdf" else exploration_png(explored, language)
    _write(out, {out.name: content})


def plot_folder(jobs: Sequence[Job], battery: Battery, out: Path, language: Language) -> None:
    """One page for each trial that can be shown; those that cannot are named where they are scored."""
    shown = [one for job in jobs if (one := _explored_job(job, battery, language)) is not None]
    if not shown:
        raise Refused("nothing_to_plot", {"file": jobs[0].path.parent.name})
    _write(out, {out.name: exploration_pdf(shown, language)})


def _explored_job(job: Job, battery: Battery, language: Language) -> Explored | None:
    try:
        record = record_of(job.path, plan_of(job, battery), job.latency_ms)
        return _explored(job.path.name, record, language)
    except KioskError:
        return None


def _explored(file: str, record: TrialRecord, language: Language) -> Explored:
    traces = traces_of(record)
    if not traces.covered:
        raise Refused("nothing_to_plot", {"file": file})
    return traces, exploration_words(file, traces, score_trial(record), language)


def _tables(file: str, record: TrialRecord, out: Path) -> dict[str, bytes]:
    traces = traces_of(record)
    if not traces.covered:
        raise Refused("nothing_to_plot", {"file": file})
    files = {out.name: traces_csv(traces).encode()}
    if traces.shake is not None:
        files[f"{out.stem}-spectrum.csv"] = spectrum_csv(traces.shake).encode()
    return files


def _write(out: Path, files: dict[str, bytes]) -> None:
    """Beside their place first, then into it."""
    try:
        with TemporaryDirectory(dir=out.parent, prefix=".writing-") as scratch:
            for name, content in files.items():
                Path(scratch, name).write_bytes(content)
            for name in files:
                os.replace(Path(scratch, name), out.parent / name)
    except OSError as fault:
        raise Refused("cannot_write", {"file": out.name, "why": fault.strerror or "no access"}) from fault
