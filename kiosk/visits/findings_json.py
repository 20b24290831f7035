"""Findings as plain facts: what findings.json holds and what the store keeps, nothing rounded.

Scores are {value, unit, se, reason}; a refusal is {refused, values}; ids and moments are text (UTC). Keys of
standings, profile and changes are the fields of norms' types. A table's row is told within its standing.
"""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

import numpy as np

from kiosk.base.canonical_json import canonical_json
from kiosk.scoring.catalogue import KINDS
from kiosk.scoring.trial_scores import BlockScore, Reason, Scored
from kiosk.visits.findings import Findings, TrialFinding
from norms import Refusal


def findings_dict(findings: Findings) -> dict[str, Any]:
    """The findings of one visit as plain facts."""
    return {
        "visit": _visit(findings),
        "versions": plain(findings.versions),
        "age_years": findings.age_years,
        "trials": [_trial(one, findings.visit_number) for one in findings.trials],
        "block_scores": {measure: _block(one) for measure, one in findings.block_scores.items()},
        "standings": plain({**findings.standings, **findings.other_standings}),
        "profile": plain(findings.profile),
        "compared_with": plain(findings.compared_with),
        "changes": plain(findings.changes),
        "change_profile": plain(findings.change_profile),
        "history": plain(findings.history),
        "table": plain(findings.table),
        "table_refusal": plain(findings.table_refusal),
        "observations": plain(findings.observations),
        "cautions": plain(findings.cautions),
    }


def findings_text(findings: Findings) -> str:
    """The findings of one visit as canonical JSON."""
    return canonical_json(findings_dict(findings))


def trial_stem(visit_number: int, trial: TrialFinding) -> str:
    """The name of a trial's file, without folder and ending: v1-02-steady-preferred-1, -r for a repeat."""
    repeat = "-r" if trial.attempt > 1 else ""
    return f"v{visit_number}-{trial.position:02d}-{trial.block}-{trial.hand}-{trial.number}{repeat}"


def plain(value: Any) -> Any:
    """Any value between rooms as JSON can hold it."""
    if isinstance(value, Refusal):
        return {"refused": value.code, "values": plain(value.values)}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): plain(one) for name, one in value.items()}
    if isinstance(value, tuple | list | np.ndarray):
        return [plain(one) for one in value]
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, UUID | date):
        return str(value)
    return value.item() if isinstance(value, np.generic) else value


def _visit(findings: Findings) -> dict[str, Any]:
    end = findings.end
    return dict(plain(findings.visit)) | {
        "number": findings.visit_number, "how": end and end.how, "ended_at": plain(end and end.ended_at),
        "end_reason": end and end.reason, "pain_after": end and end.pain_after}


def _trial(trial: TrialFinding, visit_number: int) -> dict[str, Any]:
    scores = trial.scores
    return {
        "file": f"trials/{trial_stem(visit_number, trial)}.csv", "id": str(trial.id),
        "position": trial.position, "block": trial.block, "hand": trial.hand, "side": trial.hand_side,
        "trial": trial.number, "attempt": trial.attempt, "scored": trial.scored, "outcome": trial.outcome,
        "n_samples": trial.n_samples, "rate_hz": trial.rate_hz,
        "scores": {name: _figure(name, one) for name, one in scores.values.items()},
        "valid": scores.validity.valid, "reasons": [_reason(one) for one in scores.validity.reasons],
        "cautions": [_reason(one) for one in scores.validity.cautions]}


def _figure(name: str, figure: Scored) -> dict[str, Any]:
    unit = KINDS[name].unit if name in KINDS else ""
    return {"value": figure.value, "unit": unit, "se": figure.se, "reason": figure.reason}


def _block(score: BlockScore) -> dict[str, Any]:
    names = ("value", "unit", "se", "scaled", "n_trials", "reason")
    return {name: plain(getattr(score, name)) for name in names}


def _reason(reason: Reason) -> dict[str, Any]:
    return {"code": reason.code, "values": plain(reason.values)}
