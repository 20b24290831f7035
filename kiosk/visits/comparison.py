"""From a visit's scores to its findings: standings, changes, chances, history and cautions.

Pure: everything it needs is given, and nothing is rounded. Where no reference table fits the visit, the
findings hold its values and the reason, and no standing, change or chance.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final
from uuid import UUID

import numpy as np

from kiosk.pursuit.observation import Observation
from kiosk.pursuit.samples import Samples
from kiosk.scoring.catalogue import PRIMARY, SCORING_VERSION
from kiosk.scoring.trial_scores import BlockScore, TrialScores
from kiosk.visits.archive import StoredTrial
from kiosk.visits.cautions import cautions_of
from kiosk.visits.device_record import Device
from kiosk.visits.earlier import ScoredVisit, choose, incomparable, local_date
from kiosk.visits.findings import Findings, HistoryPoint, TrialFinding, Versions
from kiosk.visits.judging import Judge
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd
from norms import COMPARISON_VERSION, Change, Refusal, Table, age_on

FINDINGS_FORMAT: Final = 1


@dataclass(frozen=True)
class Seen:
    """What one visit gave: its trials with their scores in order of testing, block scores, what staff saw."""

    visit: Visit
    end: VisitEnd | None
    trials: Sequence[tuple[StoredTrial, TrialScores]]
    block_scores: Mapping[str, BlockScore]
    observations: Sequence[Observation] = ()


def make_findings(seen: Seen, person: Person, device: Device, table: Table | None,
                  earlier: Sequence[ScoredVisit] = (), *, scoring_version: int = SCORING_VERSION,
                  compare_with: UUID | None = None) -> Findings:
    """The findings of a visit.

    `earlier` are the person's scored visits before this one, oldest first; the latest comparable one is
    compared with unless `compare_with` names another.
    """
    today = ScoredVisit(seen.visit, scoring_version, device.device_class, seen.block_scores,
                        device_label=device.label)
    judge = None if table is None else Judge(table, person)
    refusal = _no_judgement(judge, person, today)
    if judge is None or refusal is not None:
        plain = _values_only(seen, person, today, earlier)
        return _with_cautions(replace(plain, table_refusal=refusal), today, None)
    today = replace(today, table=judge.name())
    plain = replace(_values_only(seen, person, today, earlier), table=judge.provenance())
    return _compared(_placed(plain, judge, today, earlier), judge, today, earlier, compare_with)


def _no_judgement(judge: Judge | None, person: Person, today: ScoredVisit) -> Refusal | None:
    """Why no table judges the visit, None where one does."""
    if judge is None:
        return Refusal("no_table_loaded")
    return judge.refusal(today) if person.birth_date else Refusal("birth_not_known")


def _values_only(seen: Seen, person: Person, today: ScoredVisit, earlier: Sequence[ScoredVisit]) -> Findings:
    """What is known without any table."""
    versions = Versions(seen.visit.battery_version, today.scoring_version, COMPARISON_VERSION,
                        FINDINGS_FORMAT)
    return Findings(
        format=FINDINGS_FORMAT, visit=seen.visit, end=seen.end, visit_number=today.number,
        versions=versions,
        age_years=age_on(person.birth_date, local_date(seen.visit)).years if person.birth_date else None,
        trials=tuple(_trial_finding(*one) for one in seen.trials), block_scores=dict(seen.block_scores),
        standings={}, profile=None, compared_with=None, changes={}, change_profile=None,
        history=tuple(_point(one, {}) for one in _same_kind(earlier, today)),
        observations=tuple(seen.observations), table=None, table_refusal=None, cautions=())


def _placed(plain: Findings, judge: Judge, today: ScoredVisit, earlier: Sequence[ScoredVisit]) -> Findings:
    """With the standings of today and of the person's own history."""
    standings = judge.standings(today, PRIMARY)
    return replace(
        plain, standings=standings, other_standings=judge.standings(today, judge.others(today)),
        profile=judge.profile(standings),
        history=tuple(_point(one, judge.z(one)) for one in _same_kind(earlier, today)))


def _compared(placed: Findings, judge: Judge, today: ScoredVisit, earlier: Sequence[ScoredVisit],
              wanted: UUID | None) -> Findings:
    """With the changes since the earlier visit chosen, or why none can be compared."""
    before = choose(earlier, today, wanted, judge.table)
    if before is None:
        why = _why_none(earlier, today, wanted, judge.table)
        return _with_cautions(replace(placed, changes=why), today, None, judge.table)
    changes = judge.changes(before, today)
    judged = replace(
        placed, compared_with=_point(before, judge.z(before)), changes=changes,
        change_profile=judge.change_profile(changes), earlier_intake=before.visit.intake)
    return _with_cautions(judged, today, before, judge.table)


def _why_none(earlier: Sequence[ScoredVisit], today: ScoredVisit, wanted: UUID | None,
              table: Table) -> dict[str, Change | Refusal]:
    """Where there are earlier visits but none to compare with: why, of the latest or of the one wanted."""
    asked = [one for one in earlier if wanted in (None, one.visit.id)]
    if not asked:
        return {}
    why = incomparable(max(asked, key=lambda one: one.visit.started_at), today, table)
    return {} if why is None else {measure: why for measure in PRIMARY}


def _with_cautions(findings: Findings, today: ScoredVisit, compared: ScoredVisit | None,
                   table: Table | None = None) -> Findings:
    not_stated = () if table is None else table.not_stated
    return replace(findings, cautions=cautions_of(findings, today, compared, not_stated))


def _same_kind(earlier: Sequence[ScoredVisit], today: ScoredVisit) -> list[ScoredVisit]:
    """The visits of the person's history: same battery and version, no training; today's is the last."""
    kind = (today.visit.battery, today.visit.battery_version)
    before = [one for one in earlier if one.visit.purpose != "training"
              and (one.visit.battery, one.visit.battery_version) == kind]
    return [*sorted(before, key=lambda one: one.visit.started_at), today]


def _point(seen: ScoredVisit, z: Mapping[str, float]) -> HistoryPoint:
    values = {measure: score.value for measure, score in seen.block_scores.items()
              if score.value is not None}
    return HistoryPoint(seen.visit.id, seen.number, seen.visit.started_at, values, z)


def _trial_finding(trial: StoredTrial, scores: TrialScores) -> TrialFinding:
    plan, facts, samples = trial.record.plan, trial.record.facts, trial.record.samples
    return TrialFinding(
        id=trial.id, position=trial.position, block=plan.block, hand=plan.hand, hand_side=plan.hand_side,
        number=plan.number, attempt=plan.attempt, scored=plan.scored, outcome=facts.outcome,
        n_samples=len(samples.t_s), rate_hz=_rate_hz(samples), scores=scores)


def _rate_hz(samples: Samples) -> float | None:
    """Touches a second while the finger moves: one over the median interval; None below two samples."""
    moving = samples.contact[1:] & ((np.diff(samples.x_mm) != 0) | (np.diff(samples.y_mm) != 0))
    intervals = np.diff(samples.t_s)[moving]
    return None if intervals.size == 0 else float(1 / np.median(intervals))
