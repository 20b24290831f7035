"""Scoring recordings from anywhere: one CSV, or a folder of CSVs that bear the names of the demo's trials.

t_s in seconds since the disc set off, millimetres, contact 0 or 1. What such a recording does not carry
(frames, calibration, identity) is not known and never a reason to refuse. The files of a large folder are
scored in processes of their own, one for each core. Decision scoring-11.
"""

import json
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

from kiosk.base.errors import Fault, FaultyFile, KioskError, Refused
from kiosk.base.interruption import end_quietly
from kiosk.exchange.score_csv import Cell
from kiosk.exchange.trial_csv import read_samples
from kiosk.pursuit.battery import Battery, load_battery
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.catalogue import unit_of
from kiosk.scoring.score import score_trial
from kiosk.scoring.trial_scores import Reason, TrialScores

NAME = re.compile(r"v(\d+)-(\d+)-([a-z]+)-(preferred|other)-(\d+)(-r)?\.csv")
WORTH_PROCESSES = 60  # fewer files are scored before a second process has started


@dataclass(frozen=True)
class ScoredRecording:
    """A recording with its plan and scores; latency_ms is what was taken off."""

    file: str
    plan: TrialPlan
    scores: TrialScores
    latency_ms: float | None = None

    def as_dict(self) -> dict[str, object]:
        """Plain facts, and each score as {value, unit, se, reason}."""
        figures = {
            name: {"value": one.value, "unit": unit_of(name), "se": one.se, "reason": one.reason}
            for name, one in self.scores.values.items()
        }
        validity = self.scores.validity
        return {
            "block": self.plan.block,
            "hand": self.plan.hand,
            "trial": self.plan.number,
            "side": self.plan.hand_side,
            "form": self.plan.form,
            "latency_ms": self.latency_ms,
            "valid": validity.valid,
            "reasons": [_reason(r) for r in validity.reasons],
            "cautions": [_reason(r) for r in validity.cautions],
            **figures,
        }

    def rows(self) -> Iterator[Mapping[str, Cell]]:
        """One row a score, as exchange/score_csv.py writes them."""
        plan, validity = self.plan, self.scores.validity
        trial: Mapping[str, Cell] = {
            "file": self.file,
            "block": plan.block,
            "hand": plan.hand,
            "side": plan.hand_side,
            "trial": plan.number,
            "attempt": plan.attempt,
            "form": plan.form,
            "latency_ms": self.latency_ms,
            "valid": "yes" if validity.valid else "no",
            "reasons": " ".join(one.code for one in validity.reasons),
            "cautions": " ".join(one.code for one in validity.cautions),
        }
        for name, one in self.scores.values.items():
            figure = {"value": one.value, "unit": unit_of(name), "se": one.se, "reason": one.reason}
            yield {**trial, "score": name, **figure}


@dataclass(frozen=True)
class Job:
    """One file of a folder and what is known of it; plain, so that it can go to another process."""

    path: Path
    form: str
    side: str | None
    latency_ms: float | None


@dataclass(frozen=True)
class Unscored:
    """Why a file of a folder was not scored; plain, so that it can come back from another process."""

    code: str
    values: Mapping[str, object]
    faults: Sequence[Fault] = ()

    def refusal(self) -> KioskError:
        """The refusal as it was raised."""
        return FaultyFile(self.faults) if self.faults else Refused(self.code, self.values)


def record_of(path: Path, plan: TrialPlan, latency_ms: float | None) -> TrialRecord:
    """The record of one CSV; FaultyFile with every fault of the file."""
    facts = TrialFacts(latency_ms=latency_ms, latency_source=None if latency_ms is None else "given")
    return TrialRecord(plan=plan, samples=read_samples(path), facts=facts)


def score_file(path: Path, plan: TrialPlan, latency_ms: float | None) -> ScoredRecording:
    """The scores of one CSV; FaultyFile with every fault of the file."""
    return ScoredRecording(path.name, plan, score_trial(record_of(path, plan, latency_ms)), latency_ms)


def jobs_of(folder: Path, *, form: str | None, side: str | None, latency_ms: float | None) -> list[Job]:
    """Each CSV of a folder, in order.

    Form and side come from findings.json in the folder or beside it, or else from the arguments. Refused
    `no_recordings` where no file bears a trial's name.
    """
    files = sorted(path for path in _inside(folder) if path.suffix == ".csv")
    if not any(NAME.fullmatch(path.name) for path in files):
        raise Refused("no_recordings", {"folder": folder.name})
    told = _told(folder)
    given = {k: v for k, v in (("form", form), ("side", side)) if v}
    known = [(path, told.get(path.name, {}) | given) for path in files]
    return [Job(path, one.get("form", "A"), one.get("side"), latency_ms) for path, one in known]


def score_jobs(jobs: Sequence[Job], cores: int | None = None) -> Iterator[ScoredRecording | KioskError]:
    """Each file in order; a bad file yields its refusal and does not stop the rest."""
    for one in _scored_jobs(jobs, cores or os.cpu_count() or 1):
        yield one.refusal() if isinstance(one, Unscored) else one


def plan_of(job: Job, battery: Battery) -> TrialPlan:
    """The trial that a file's name tells; Refused `not_named_as_a_trial` where it tells none."""
    match = NAME.fullmatch(job.path.name)
    if match is None:
        raise Refused("not_named_as_a_trial", {"file": job.path.name})
    attempt = 2 if match[6] else 1
    return battery.plan(match[3], match[4], int(match[5]), form=job.form, side=job.side, attempt=attempt)


def _inside(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError as fault:
        wrong = Fault(folder.name, None, None, "cannot_be_read", fault.strerror)
        raise FaultyFile([wrong]) from fault


def _scored_jobs(jobs: Sequence[Job], cores: int) -> Iterator[ScoredRecording | Unscored]:
    if cores < 2 or len(jobs) < WORTH_PROCESSES:
        yield from map(_score_job, jobs)
        return
    with ProcessPoolExecutor(cores, get_context("spawn"), end_quietly) as pool:
        yield from pool.map(_score_job, jobs, chunksize=4)


def _score_job(job: Job) -> ScoredRecording | Unscored:
    try:
        return score_file(job.path, plan_of(job, load_battery()), job.latency_ms)
    except FaultyFile as faulty:
        return Unscored(faulty.code, dict(faulty.values), faulty.faults)
    except KioskError as refusal:
        return Unscored(refusal.code, dict(refusal.values) | {"file": job.path.name})


def _told(folder: Path) -> dict[str, dict[str, str]]:
    """Form and side by file name, from findings.json in the folder or beside it."""
    for place in (folder / "findings.json", folder.parent / "findings.json"):
        if place.is_file():
            return _form_and_side(place)
    return {}


def _form_and_side(place: Path) -> dict[str, dict[str, str]]:
    try:
        visits = json.loads(place.read_text(encoding="utf-8"))["visits"]
        return {
            Path(trial["file"]).name: {"form": visit["visit"]["form"], "side": trial["side"]}
            for visit in visits
            for trial in visit["trials"]
        }
    except (ValueError, KeyError, TypeError) as fault:
        raise Refused("findings_unreadable", {"file": place.name}) from fault


def _reason(reason: Reason) -> dict[str, object]:
    return {"code": reason.code, "values": dict(reason.values)}
