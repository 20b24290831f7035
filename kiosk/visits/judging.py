"""Standings and changes of one visit by one reference table, or the reason why there are none.

z is always that of the table given here: earlier values are placed anew, never taken from an old page.

Decision norms-19.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kiosk.scoring.catalogue import PRIMARY
from kiosk.visits.earlier import ScoredVisit, days_between, local_date
from kiosk.visits.findings import JudgedBy, TableProvenance
from kiosk.visits.person import Person
from norms import (
    Change,
    ChangeProfile,
    Occasion,
    Profile,
    Refusal,
    Sitting,
    Standing,
    Table,
    change,
    change_profile,
    find_row,
    profile,
    standing,
)

ENOUGH_TRIALS = 2
VALUE_ON_EVERY_SCALE = 1.0


@dataclass(frozen=True)
class Judge:
    """A table and the person whose visits it judges."""

    table: Table
    person: Person

    def refusal(self, today: ScoredVisit) -> Refusal | None:
        """Why the table fits no primary measure of this visit, None where it fits one."""
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

    def others(self, today: ScoredVisit) -> tuple[str, ...]:
        """The scored measures beside the primary ones that the table holds."""
        return tuple(measure for measure, score in today.block_scores.items()
                     if measure not in PRIMARY and score.value is not None
                     and measure in self.table.measure_by_name)

    def changes(self, before: ScoredVisit, today: ScoredVisit) -> dict[str, Change | Refusal]:
        """Each primary measure then and now."""
        return {measure: self._change(before, today, measure) for measure in PRIMARY}

    def z(self, seen: ScoredVisit) -> dict[str, float]:
        """z* of every primary measure that has a standing."""
        found = ((measure, self.standing(seen, measure)) for measure in PRIMARY)
        return {measure: one.z_star for measure, one in found if isinstance(one, Standing)}

    def profile(self, standings: Mapping[str, Standing | Refusal]) -> Profile | Refusal:
        """How many are low, and how common that many are, for the very measures scored."""
        return profile(self.table, [one for one in standings.values() if isinstance(one, Standing)])

    def change_profile(self, changes: Mapping[str, Change | Refusal]) -> ChangeProfile | Refusal:
        """How many changed reliably, and how common that many are, for the very measures compared."""
        return change_profile(self.table, [one for one in changes.values() if isinstance(one, Change)])

    def sitting(self, seen: ScoredVisit) -> Sitting:
        """What the table must fit."""
        visit = seen.visit
        return Sitting(
            purpose=visit.purpose, visit_date=local_date(visit), battery=visit.battery,
            battery_version=visit.battery_version, scoring_version=seen.scoring_version, input=visit.input,
            device_class=seen.device_class, sex=self.person.sex, latency_known=visit.latency_ms is not None,
            language=visit.language, birth_date=self.person.birth_date)

    def provenance(self) -> TableProvenance:
        """Which table this is."""
        table = self.table
        classes = dict.fromkeys(row.device_class for row in table.rows)
        return TableProvenance(
            name=table.name, version=table.version, sha256=table.sha256, status=table.status,
            title=table.title, tested_from=table.tested_from, tested_to=table.tested_to,
            device_class=", ".join(classes), input=table.input)

    def name(self) -> JudgedBy:
        """The table as later visits compare it."""
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


def enough_trials(seen: ScoredVisit, measure: str) -> bool:
    """Whether the score rests on the two valid trials that are the norm."""
    return seen.block_scores[measure].n_trials >= ENOUGH_TRIALS


def unscored(seen: ScoredVisit, measure: str) -> Refusal:
    """The reason of a block without a score."""
    score = seen.block_scores.get(measure)
    reason = None if score is None else score.reason
    return Refusal(reason or "block_not_run", {"measure": measure})
