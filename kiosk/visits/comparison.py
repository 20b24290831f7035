"""From a visit's scores to its findings: standings, changes, chances, history and cautions.

A pure function of what it is given; nothing is rounded. Where no reference table fits the visit, the findings
have its values and the reason, and no standing, change or chance. z is always that of the table given: values
of earlier visits are placed in it anew, never taken from an old page. Decision norms-19.

Cautions are codes with values, in the order of the page: synthetic · table_not_stated (missing: names of
norms' Table.not_stated, separated by commas) · draft_language (language, status) · small_n (n) · interval
(days, days_min, days_max) · state_differs (what, before, today, visit), one for each circumstance that
differs from the visit compared with · not_understood · partial (trial, scored, measures, how) · unscored
(block, why, and the values of why), one for each block. `what`, `before` and `today` are the names and
answers of intake, `why` is a code of scoring.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final
from uuid import UUID

import numpy as np

from kiosk.pursuit.observation import Observation
from kiosk.pursuit.samples import Samples
from kiosk.scoring.block import visit_interval
from kiosk.scoring.catalogue import PRIMARY, SCORING_VERSION
from kiosk.scoring.trial_scores import BlockScore, Reason, TrialScores
from kiosk.visits.archive import StoredTrial
from kiosk.visits.device_record import Device
from kiosk.visits.earlier import ScoredVisit, choose, days_between, incomparable, local_date
from kiosk.visits.findings import Findings, HistoryPoint, JudgedBy, TableProvenance, TrialFinding, Versions
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd
from norms import (
    COMPARISON_VERSION,
    Change,
    ChangeProfile,
    MeasurementError,
    Occasion,
    Profile,
    Refusal,
    Sitting,
    Standing,
    Table,
    age_on,
    change,
    change_profile,
    find_row,
    measurement_error,
    profile,
    standing,
)

FINDINGS_FORMAT: Final = 1
ENOUGH_TRIALS: Final = 2
VALUE_ON_EVERY_SCALE: Final = 1.0
CHECKED_LANGUAGE: Final = ("approved", "source", "")
STATES: Final = ("last_dose", "pain_before", "posture", "sees_disc")
NOT_ASKED: Final = "not_asked"
_CONSEQUENCES: Final = ("block_not_run", "lag_needs_both", "latency_unknown")


@dataclass(frozen=True)
class Judge:
    """A table and the person whose visits it judges."""

    table: Table
    person: Person

    def refusal(self, today: ScoredVisit) -> Refusal | None:
        """The first refusal where the table fits no primary measure of this visit, else None."""
        sitting = self.sitting(today)
        rows = [find_row(self.table, measure, VALUE_ON_EVERY_SCALE, sitting) for measure in PRIMARY]
        refusals = [row for row in rows if isinstance(row, Refusal)]
        return refusals[0] if len(refusals) == len(rows) else None

    def standings(self, today: ScoredVisit, measures: Iterable[str]) -> dict[str, Standing | Refusal]:
        """Where each measure falls in its reference group."""
        return {measure: self.standing(today, measure) for measure in measures}

    def standing(self, seen: ScoredVisit, measure: str) -> Standing | Refusal:
        """Where one measure falls; an unscored one keeps the reason of its block."""
        value = seen.value(measure)
        if value is None:
            return unscored(seen, measure)
        return standing(self.table, measure, value, self.sitting(seen), enough_trials(seen, measure))

    def measurement_errors(self, today: ScoredVisit,
                           standings: Mapping[str, Standing | Refusal]) -> dict[str, MeasurementError]:
        """The person's own measurement error of each measure, where it is known."""
        found = {measure: measurement_error(self.table, one, self.person.sex, today.visit.earlier_visits,
                                            visit_interval(today.block_scores[measure]))
                 for measure, one in standings.items() if isinstance(one, Standing)}
        return {measure: one for measure, one in found.items() if one is not None}

    def others(self, today: ScoredVisit) -> tuple[str, ...]:
        """The scored measures beside the primary ones that the table holds."""
        return tuple(measure for measure, score in today.block_scores.items()
                     if measure not in PRIMARY and score.value is not None
                     and measure in self.table.measure_by_name)

    def changes(self, before: ScoredVisit, today: ScoredVisit) -> dict[str, Change | Refusal]:
        """The change of each primary measure, or why there is none."""
        return {measure: self._change(before, today, measure) for measure in PRIMARY}

    def z(self, seen: ScoredVisit) -> dict[str, float]:
        """z* of every primary measure that has a standing."""
        found = ((measure, self.standing(seen, measure)) for measure in PRIMARY)
        return {measure: one.z_star for measure, one in found if isinstance(one, Standing)}

    def profile(self, standings: Mapping[str, Standing | Refusal]) -> Profile | Refusal:
        """How many of the measures scored are low, and how common that many are in the reference group."""
        return profile(self.table, [one for one in standings.values() if isinstance(one, Standing)])

    def change_profile(self, changes: Mapping[str, Change | Refusal]) -> ChangeProfile | Refusal:
        """How many of the measures compared changed reliably, and how common that many are."""
        return change_profile(self.table, [one for one in changes.values() if isinstance(one, Change)])

    def sitting(self, seen: ScoredVisit) -> Sitting:
        """What of the visit and the person the table must fit."""
        visit = seen.visit
        return Sitting(
            purpose=visit.purpose, visit_date=local_date(visit), battery=visit.battery,
            battery_version=visit.battery_version, scoring_version=seen.scoring_version, input=visit.input,
            device_class=seen.device_class, sex=self.person.sex, latency_known=visit.latency_ms is not None,
            language=visit.language, birth_date=self.person.birth_date)

    def provenance(self) -> TableProvenance:
        """The table's origin, for the page."""
        table = self.table
        classes = dict.fromkeys(row.device_class for row in table.rows)
        return TableProvenance(
            name=table.name, version=table.version, sha256=table.sha256, status=table.status,
            title=table.title, tested_from=table.tested_from, tested_to=table.tested_to,
            device_class=", ".join(classes), input=table.input)

    def name(self) -> JudgedBy:
        """The table's name, version and hash, by which later visits compare."""
        return JudgedBy(self.table.name, self.table.version, self.table.sha256)

    def _change(self, before: ScoredVisit, today: ScoredVisit, measure: str) -> Change | Refusal:
        value_before, value_after = before.value(measure), today.value(measure)
        if value_before is None or value_after is None:
            return unscored(today if value_after is None else before, measure)
        return change(
            self.table, measure, self._occasion(before, measure, value_before),
            self._occasion(today, measure, value_after), days_between(before.visit, today.visit),
            before.visit.earlier_visits)

    def _occasion(self, seen: ScoredVisit, measure: str, value: float) -> Occasion:
        return Occasion(value, self.sitting(seen), enough_trials(seen, measure), str(seen.visit.id))


@dataclass(frozen=True)
class Seen:
    """One visit: its trials with their scores in order of testing, its block scores and observations."""

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
    """Why no table judges the visit; None where one does."""
    if judge is None:
        return Refusal("no_table_loaded")
    if today.visit.date_doubted:
        return Refusal("date_doubted")
    return judge.refusal(today) if person.birth_date else Refusal("birth_not_known")


def _values_only(seen: Seen, person: Person, today: ScoredVisit, earlier: Sequence[ScoredVisit]) -> Findings:
    """Findings without any table."""
    versions = Versions(seen.visit.battery_version, today.scoring_version, COMPARISON_VERSION,
                        FINDINGS_FORMAT)
    return Findings(
        format=FINDINGS_FORMAT, visit=seen.visit, end=seen.end, visit_number=today.number,
        versions=versions,
        age_years=_age_years(person, seen.visit),
        trials=tuple(_trial_finding(*one) for one in seen.trials), block_scores=dict(seen.block_scores),
        standings={}, profile=None, compared_with=None, changes={}, change_profile=None,
        history=tuple(_point(one, {}) for one in _same_kind(earlier, today)),
        observations=tuple(seen.observations), table=None, table_refusal=None, cautions=())


def _age_years(person: Person, visit: Visit) -> float | None:
    """The age on the day of the visit; None where birth date or day is not known."""
    if visit.date_doubted or not person.birth_date:
        return None
    return age_on(person.birth_date, local_date(visit)).years


def _placed(plain: Findings, judge: Judge, today: ScoredVisit, earlier: Sequence[ScoredVisit]) -> Findings:
    """The findings with the standings of today and of the person's earlier visits."""
    standings = judge.standings(today, PRIMARY)
    return replace(
        plain, standings=standings, other_standings=judge.standings(today, judge.others(today)),
        measurement_errors=judge.measurement_errors(today, standings),
        profile=judge.profile(standings),
        history=tuple(_point(one, judge.z(one)) for one in _same_kind(earlier, today)))


def _compared(placed: Findings, judge: Judge, today: ScoredVisit, earlier: Sequence[ScoredVisit],
              wanted: UUID | None) -> Findings:
    """The findings with the changes since the earlier visit chosen, or why none can be compared with."""
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
    """Why none of the earlier visits can be compared with: the reason of the latest, or of the one wanted."""
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
    values = {measure: score.value for measure, score in seen.block_scores.items() if score.value is not None}
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


def enough_trials(seen: ScoredVisit, measure: str) -> bool:
    """Whether the score rests on the two valid trials that are the norm."""
    return seen.block_scores[measure].n_trials >= ENOUGH_TRIALS


def unscored(seen: ScoredVisit, measure: str) -> Refusal:
    """The reason of a block without a score."""
    score = seen.block_scores.get(measure)
    reason = None if score is None else score.reason
    return Refusal(reason or "block_not_run", {"measure": measure})


def cautions_of(findings: Findings, today: ScoredVisit, compared: ScoredVisit | None,
                not_stated: tuple[str, ...] = ()) -> tuple[Reason, ...]:
    """Every caution of a visit; `compared` is the earlier visit of its changes, `not_stated` of its table."""
    return (*_of_table(findings, not_stated), *_of_interval(findings), *_of_state(today, compared),
            *_of_course(findings), *_of_blocks(findings))


def _of_table(findings: Findings, not_stated: tuple[str, ...]) -> Iterator[Reason]:
    if findings.table is not None and findings.table.status == "synthetic":
        yield Reason("synthetic")
    if not_stated:
        yield Reason("table_not_stated", {"missing": ",".join(not_stated)})
    status = findings.visit.adaptation_status
    if status not in CHECKED_LANGUAGE:
        yield Reason("draft_language", {"language": findings.visit.language, "status": status})
    small = [one.n_mean for one in findings.standings.values()
             if isinstance(one, Standing) and "small_n" in one.warnings]
    if small:
        yield Reason("small_n", {"n": min(small)})


def _of_interval(findings: Findings) -> Iterator[Reason]:
    outside = [one.values for one in findings.changes.values()
               if isinstance(one, Refusal) and one.code == "interval_outside_study"]
    if outside:
        days = {name: float(str(outside[0][name])) for name in ("days", "days_min", "days_max")}
        yield Reason("interval", days)


def _of_state(today: ScoredVisit, compared: ScoredVisit | None) -> Iterator[Reason]:
    if compared is None:
        return
    before, now = _circumstances(compared), _circumstances(today)
    for what in before:
        if before[what] != now[what]:
            yield Reason("state_differs", {"what": what, "before": before[what], "today": now[what],
                                           "visit": compared.number})


def _circumstances(seen: ScoredVisit) -> Mapping[str, str]:
    """State and set-up, which the page names where they differ between two visits."""
    visit = seen.visit
    states = {name: visit.intake.get(name, NOT_ASKED) for name in STATES}
    return states | {"language": visit.language, "delivery": visit.delivery, "placement": visit.placement,
                     "protector": visit.intake.get("protector", NOT_ASKED), "device": seen.device_label}


def _of_course(findings: Findings) -> Iterator[Reason]:
    if any(one.code == "not_understood" for one in findings.observations):
        yield Reason("not_understood")
    if findings.end is not None and findings.end.how != "completed":
        scored = sum(_is_scored(findings, measure) for measure in PRIMARY)
        ended = len({(one.block, one.hand, one.number) for one in findings.trials
                     if one.scored and one.outcome == "complete"})
        yield Reason("partial", {"trial": ended, "scored": scored, "measures": len(PRIMARY),
                                 "how": findings.end.how})


def _of_blocks(findings: Findings) -> Iterator[Reason]:
    named = set()
    for measure in PRIMARY:
        score = findings.block_scores.get(measure)
        if score is None or score.value is not None or score.reason in _CONSEQUENCES:
            continue
        block = measure.rpartition(".")[0]
        if block not in named:
            named.add(block)
            yield _unscored(block, score.reason or "too_few_valid_trials", findings.trials)


def _unscored(block: str, reason: str, trials: tuple[TrialFinding, ...]) -> Reason:
    """Why a block has no score: the first reason of its unfit trials where too few were fit."""
    own = (why for one in trials if f"{one.block}.{one.hand}" == block for why in one.scores.validity.reasons)
    first = next(own, None) if reason == "too_few_valid_trials" else None
    if first is None:
        return Reason("unscored", {"block": block, "why": reason})
    return Reason("unscored", {**first.values, "block": block, "why": first.code})


def _is_scored(findings: Findings, measure: str) -> bool:
    score = findings.block_scores.get(measure)
    return score is not None and score.value is not None
