"""A person's earlier visits: how many count, which can be compared with today's, and which one is.

An earlier visit counts where it used the same battery and has at least one scored trial that was completed,
whatever its purpose; one that was taken out does not. A change is judged only between visits of equal
battery, scoring, input, device class and hand, and, where tables judged them, of the same table (equal
sha256, or equal name and major version); a training visit is never compared with. Decision norms-18.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from kiosk.scoring.catalogue import PRIMARY
from kiosk.scoring.trial_scores import BlockScore
from kiosk.visits.archive import Archive
from kiosk.visits.findings import JudgedBy
from kiosk.visits.visit import Visit
from norms import Refusal, Table, visits_bridged

S_IN_DAY = 86400.0
BRIDGED = ("input", "device class")


@dataclass(frozen=True)
class ScoredVisit:
    """A visit with what comparing it needs. `table` judged it then (None: none did)."""

    visit: Visit
    scoring_version: int
    device_class: str
    block_scores: Mapping[str, BlockScore]
    table: JudgedBy | None = None
    device_label: str = ""

    @property
    def number(self) -> int:
        """Which visit of this battery it is, from 1."""
        return self.visit.earlier_visits + 1

    def value(self, measure: str) -> float | None:
        """The block's value in the unit, None where it is not scored."""
        score = self.block_scores.get(measure)
        return None if score is None else score.value


def local_date(visit: Visit) -> date:
    """The day of a visit where it took place."""
    return (visit.started_at + timedelta(minutes=visit.utc_offset_min)).date()


def days_between(before: Visit, after: Visit) -> float:
    """Whole calendar days; within one day, the share of a day that lies between."""
    days = (local_date(after) - local_date(before)).days
    return float(days) if days else (after.started_at - before.started_at).total_seconds() / S_IN_DAY


def incomparable(before: ScoredVisit, today: ScoredVisit, table: Table | None = None) -> Refusal | None:
    """Why a change between two visits is not judged at all, None where it can be.

    Another input or device class can be where a bridging statement of today's table carries visits over.
    """
    if before.visit.purpose == "training":
        return Refusal("earlier_was_training", {})
    if before.visit.date_doubted:
        return Refusal("earlier_date_doubted", {})
    bridged = table is not None and visits_bridged(table, _panel(before), _panel(today))
    for what, first, second in _must_be_equal(before, today):
        if first != second and not (bridged and what in BRIDGED):
            return Refusal("not_comparable", {"what": what, "before": first, "after": second})
    return None


def choose(earlier: Sequence[ScoredVisit], today: ScoredVisit, wanted: UUID | None = None,
           table: Table | None = None) -> ScoredVisit | None:
    """The visit to compare with: the one wanted, else the latest that is comparable and shares a measure."""
    fit = [one for one in earlier
           if incomparable(one, today, table) is None and _shares_a_measure(one, today)]
    if wanted is not None:
        fit = [one for one in fit if one.visit.id == wanted]
    return max(fit, key=lambda one: one.visit.started_at, default=None)


def count_earlier(archive: Archive, person_id: UUID, battery: str) -> int:
    """How many visits of the person count so far."""
    return sum(visit.battery == battery and not archive.is_void(visit.id)
               and _has_scored_trial(archive, visit.id) for visit in archive.visits_of(person_id))


def earlier_visits_from(archive: Archive, today: Visit) -> tuple[ScoredVisit, ...]:
    """The scored visits of the same person that began before today's, oldest first."""
    before = [visit for visit in archive.visits_of(today.person_id)
              if visit.started_at < today.started_at and visit.id != today.id
              and not archive.is_void(visit.id)]
    return tuple(found for visit in before if (found := _scored_visit(archive, visit)) is not None)


def _scored_visit(archive: Archive, visit: Visit) -> ScoredVisit | None:
    scores = archive.scores_of(visit.id)
    if scores is None:
        return None
    device = archive.device(visit.device_id)
    return ScoredVisit(visit, scores.scoring_version, device.device_class, scores.blocks,
                       archive.table_that_judged(visit.id), device.label)


def _must_be_equal(before: ScoredVisit, today: ScoredVisit) -> tuple[tuple[str, object, object], ...]:
    """What must be equal, with its value at both visits."""
    first, second = before.visit, today.visit
    return (
        ("battery", first.battery, second.battery),
        ("battery version", first.battery_version, second.battery_version),
        ("scoring version", before.scoring_version, today.scoring_version),
        ("input", first.input, second.input),
        ("device class", before.device_class, today.device_class),
        ("hand", first.preferred_hand, second.preferred_hand),
        ("reference table", *_tables(before.table, today.table)),
    )


def _panel(seen: ScoredVisit) -> tuple[str, str]:
    return seen.visit.input, seen.device_class


def _tables(before: JudgedBy | None, today: JudgedBy | None) -> tuple[str, str]:
    """Names of two tables, equal where they may judge a change together."""
    if before is None or today is None or before.sha256 == today.sha256:
        return "", ""
    first, second = (f"{one.name} {one.version.partition('.')[0]}" for one in (before, today))
    return first, second


def _shares_a_measure(before: ScoredVisit, today: ScoredVisit) -> bool:
    return any(before.value(measure) is not None and today.value(measure) is not None for measure in PRIMARY)


def _has_scored_trial(archive: Archive, visit_id: UUID) -> bool:
    return any(trial.record.plan.scored and trial.record.facts.outcome == "complete"
               for trial in archive.trials_of(visit_id))
