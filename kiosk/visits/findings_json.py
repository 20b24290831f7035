"""Findings as JSON: the content of findings.json and of the store's row, nothing rounded.

Scores are {value, unit, se, reason}; a refusal is {refused, values}; ids and moments are text (UTC). Keys of
standings, profile and changes are the fields of norms' types. A table's row is given within its standing.
"""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from uuid import UUID

import numpy as np

from kiosk.base.canonical_json import JsonObject, canonical_json
from kiosk.scoring.catalogue import KINDS
from kiosk.scoring.trial_scores import BlockScore, Reason, Scored
from kiosk.visits.findings import Findings, TrialFinding
from norms import Refusal


def findings_dict(findings: Findings) -> JsonObject:
    """The findings of one visit as as_json facts."""
    return {
        "visit": _visit(findings),
        "versions": as_json(findings.versions),
        "age_years": findings.age_years,
        "trials": [_trial(one, findings.visit_number) for one in findings.trials],
        "block_scores": {measure: _block(one) for measure, one in findings.block_scores.items()},
        "standings": as_json({**findings.standings, **findings.other_standings}),
        "measurement_errors": as_json(findings.measurement_errors),
        "profile": as_json(findings.profile),
        "compared_with": as_json(findings.compared_with),
        "changes": as_json(findings.changes),
        "change_profile": as_json(findings.change_profile),
        "history": as_json(findings.history),
        "table": as_json(findings.table),
        "table_refusal": as_json(findings.table_refusal),
        "observations": as_json(findings.observations),
        "cautions": as_json(findings.cautions),
    }


def findings_text(findings: Findings) -> str:
    """The findings of one visit as canonical JSON."""
    return canonical_json(findings_dict(findings))


def trial_stem(visit_number: int, trial: TrialFinding) -> str:
    """The name of a trial's file, without folder and ending: v1-02-steady-preferred-1, -r for a repeat."""
    repeat = "-r" if trial.attempt > 1 else ""
    return f"v{visit_number}-{trial.position:02d}-{trial.block}-{trial.hand}-{trial.number}{repeat}"


def as_json(value: object) -> object:
    """A value of findings as JSON holds it: dataclasses and mappings as objects, moments as text in UTC."""
    if isinstance(value, Refusal):
        return {"refused": value.code, "values": as_json(value.values)}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: as_json(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): as_json(one) for name, one in value.items()}
    if isinstance(value, tuple | list | np.ndarray):
        return [as_json(one) for one in value]
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, UUID | date):
        return str(value)
    return value.item() if isinstance(value, np.generic) else value


def _visit(findings: Findings) -> JsonObject:
    end = findings.end
    return {field.name: as_json(getattr(findings.visit, field.name)) for field in fields(findings.visit)} | {
        "number": findings.visit_number, "how": end and end.how, "ended_at": as_json(end and end.ended_at),
        "end_reason": end and end.reason, "pain_after": end and end.pain_after}


def _trial(trial: TrialFinding, visit_number: int) -> JsonObject:
    scores = trial.scores
    return {
        "file": f"trials/{trial_stem(visit_number, trial)}.csv", "id": str(trial.id),
        "position": trial.position, "block": trial.block, "hand": trial.hand, "side": trial.hand_side,
        "trial": trial.number, "attempt": trial.attempt, "scored": trial.scored, "outcome": trial.outcome,
        "n_samples": trial.n_samples, "rate_hz": trial.rate_hz,
        "scores": {name: _figure(name, one) for name, one in scores.values.items()},
        "valid": scores.validity.valid, "reasons": [_reason(one) for one in scores.validity.reasons],
        "cautions": [_reason(one) for one in scores.validity.cautions]}


def _figure(name: str, figure: Scored) -> JsonObject:
    unit = KINDS[name].unit if name in KINDS else ""
    return {"value": figure.value, "unit": unit, "se": figure.se, "reason": figure.reason}


def _block(score: BlockScore) -> JsonObject:
    names = ("value", "unit", "se", "scaled", "n_trials", "reason")
    return {name: as_json(getattr(score, name)) for name in names}


def _reason(reason: Reason) -> JsonObject:
    return {"code": reason.code, "values": as_json(reason.values)}
