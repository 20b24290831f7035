"""Scoring recordings from anywhere: one CSV, or a folder of CSVs that bear the names of the demo's trials.

t_s in seconds since the disc set off, millimetres, contact 0 or 1. What such a recording does not carry
(frames, calibration, identity) is not known and never a reason to refuse.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from kiosk.errors import KioskError, Refused
from kiosk.exchange.trial_csv import read_samples
from kiosk.pursuit.battery import Battery
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.catalogue import unit_of
from kiosk.scoring.score import score_trial
from kiosk.scoring.trial_scores import Reason, TrialScores

NAME = re.compile(r"v(\d+)-(\d+)-([a-z]+)-(preferred|other)-(\d+)(-r)?\.csv")


@dataclass(frozen=True)
class ScoredRecording:
    """A recording with its plan and scores."""

    file: str
    plan: TrialPlan
    scores: TrialScores

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
            "valid": validity.valid,
            "reasons": [_reason(r) for r in validity.reasons],
            "cautions": [_reason(r) for r in validity.cautions],
            **figures,
        }


def score_file(path: Path, plan: TrialPlan, latency_ms: float | None) -> ScoredRecording:
    """The scores of one CSV; FaultyFile with every fault of the file."""
    facts = TrialFacts(latency_ms=latency_ms, latency_source=None if latency_ms is None else "given")
    record = TrialRecord(plan=plan, samples=read_samples(path), facts=facts)
    return ScoredRecording(path.name, plan, score_trial(record))


def score_folder(
    folder: Path, battery: Battery, *, form: str | None, side: str | None, latency_ms: float | None
) -> Iterator[ScoredRecording | KioskError]:
    """Each CSV that bears a trial's name, in order; a bad file yields its refusal and does not stop the rest.

    Form and side come from findings.json in the folder or beside it, or else from the arguments.
    """
    named = [(path, match) for path in sorted(folder.iterdir()) if (match := NAME.fullmatch(path.name))]
    if not named:
        raise Refused("no_recordings", {"folder": folder.name})
    told = _told(folder)
    for path, match in named:
        known = told.get(path.name, {}) | {k: v for k, v in (("form", form), ("side", side)) if v}
        yield _score_named(path, match, battery, known, latency_ms)


def _score_named(
    path: Path, match: re.Match[str], battery: Battery, known: dict[str, str], latency_ms: float | None
) -> ScoredRecording | KioskError:
    try:
        plan = battery.plan(
            match[3],
            match[4],
            int(match[5]),
            form=known.get("form", "A"),
            side=known.get("side"),
            attempt=2 if match[6] else 1,
        )
        return score_file(path, plan, latency_ms)
    except KioskError as refusal:
        return refusal


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
