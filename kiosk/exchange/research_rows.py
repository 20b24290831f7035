"""The rows of one visit in each table of a research package (kiosk.exchange.research_tables)."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from kiosk.exchange.deidentification import DECIMALS
from kiosk.exchange.research_tables import (
    BLOCK_SCORES,
    CHANGES,
    OBSERVATIONS,
    SAMPLES,
    STANDINGS,
    TRIAL_SCORES,
    TRIALS,
    VISITS,
)
from kiosk.pursuit.observation import Observation
from kiosk.pursuit.target import Circle
from kiosk.scoring.catalogue import kind_of
from kiosk.scoring.trial_scores import Reason, TrialScores
from kiosk.visits.archive import StoredScores, StoredTrial
from kiosk.visits.visit import Visit, VisitEnd

Cell = str | int | float | bool | None
Rows = Iterator[tuple[Cell, ...]]


@dataclass(frozen=True)
class ResearchVisit:
    """One visit with all that its rows need. `person` is the running code; `day` counts from the first visit.

    judged: the findings as they were kept (kiosk.visits.findings_json), empty where there are none.
    """

    person: str
    visit: Visit
    age_years: float
    sex: str
    education_years: float | None
    day: float
    device_class: str
    end: VisitEnd | None
    trials: Sequence[StoredTrial]
    scores: StoredScores | None
    judged: Mapping[str, object]
    observations: Sequence[Observation]

    @property
    def id(self) -> str:
        """The visit's name in the package: P00001-02."""
        return f"{self.person}-{self.number:02d}"

    @property
    def number(self) -> int:
        """Which visit of this battery it is for the person, from 1."""
        return self.visit.earlier_visits + 1


def shared(one: ResearchVisit) -> tuple[Cell, ...]:
    """The cells that every row of the visit begins with."""
    return (
        one.id,
        one.person,
        one.number,
        round(one.day, DECIMALS),
        round(one.age_years, DECIMALS),
        one.visit.form,
        one.device_class,
    )


def visit_rows(one: ResearchVisit) -> Rows:
    """The row of the visit."""
    visit, intake, end, judged = one.visit, one.visit.intake, one.end, one.judged
    table, versions = part_of(judged, "table"), part_of(judged, "versions")
    yield (
        *shared(one),
        one.sex,
        one.education_years,
        visit.purpose,
        visit.research_use,
        visit.preferred_hand,
        visit.hands_today,
        visit.hands_reason,
        visit.input,
        visit.placement,
        visit.latency_ms,
        visit.latency_source,
        visit.language,
        visit.adaptation_status,
        visit.delivery,
        intake.get("posture"),
        intake.get("last_dose"),
        intake.get("pain_before"),
        None if end is None else end.pain_after,
        None if end is None else end.how,
        visit.battery,
        visit.battery_version,
        None if one.scores is None else one.scores.scoring_version,
        versions.get("comparison"),
        table.get("name"),
        table.get("version"),
        visit.software.get("kiosk"),
    )


def trial_rows(one: ResearchVisit) -> Rows:
    """A row a trial."""
    for trial in one.trials:
        plan, facts = trial.record.plan, trial.record.facts
        validity = None if (scores := _scores_of(one, trial)) is None else scores.validity
        circle = plan.path if isinstance(plan.path, Circle) else None
        yield (
            *shared(one),
            *_named(trial),
            "wander" if circle is None else "circle",
            None if circle is None else circle.direction,
            plan.path.period_s,
            plan.run_in_s,
            plan.window_s,
            plan.scored,
            facts.outcome,
            None if validity is None else validity.valid,
            None if validity is None else _codes(validity.reasons),
            None if validity is None else _codes(validity.cautions),
            trial.record.samples.t_s.size,
            facts.clock,
            facts.touch_source,
            facts.refresh_hz,
            facts.dropped_frames,
        )


def trial_score_rows(one: ResearchVisit) -> Rows:
    """A row a trial and score."""
    for trial in one.trials:
        scores = _scores_of(one, trial)
        for name, figure in ({} if scores is None else scores.values).items():
            yield (
                *shared(one),
                *_named(trial),
                name,
                figure.value,
                kind_of(name).unit,
                figure.se,
                figure.reason,
            )


def block_score_rows(one: ResearchVisit) -> Rows:
    """A row a measure."""
    for measure, block in ({} if one.scores is None else one.scores.blocks).items():
        name, hand, score = measure.split(".")
        yield (
            *shared(one),
            measure,
            name,
            hand,
            score,
            block.value,
            block.unit,
            kind_of(measure).scale,
            block.scaled,
            block.se,
            block.trial_variance,
            block.n_trials,
            block.reason,
        )


def standing_rows(one: ResearchVisit) -> Rows:
    """A row a measure that a table was asked for."""
    for measure, found in _parts(one.judged, "standings"):
        low, high = _pair(found.get("interval_95"))
        yield (
            *shared(one),
            measure,
            *_cells(found, "z", "z_star", "percentile"),
            low,
            high,
            *_cells(found, "standard_score", "label", "n", "refused"),
        )


def change_rows(one: ResearchVisit) -> Rows:
    """A row a measure compared with an earlier visit."""
    for measure, found in _parts(one.judged, "changes"):
        yield (
            *shared(one),
            measure,
            *_cells(found, "days", "value_before", "value_after", "z_before", "z_after", "expected"),
            *_pair(found.get("limits")),
            *_cells(found, "reliable", "refused"),
        )


def observation_rows(one: ResearchVisit) -> Rows:
    """A row an observation, without its note."""
    place = {trial.id: trial.position for trial in one.trials}
    for number, seen in enumerate(one.observations, start=1):
        yield (*shared(one), number, None if seen.trial_id is None else place.get(seen.trial_id), seen.code)


def sample_rows(one: ResearchVisit) -> Rows:
    """A row a touch sample, with where the disc was."""
    for trial in one.trials:
        samples, head = trial.record.samples, (*shared(one), *_named(trial))
        target_x, target_y = trial.record.plan.position(samples.t_s)
        columns = (
            samples.t_s.tolist(),
            samples.x_mm.tolist(),
            samples.y_mm.tolist(),
            samples.contact.astype(int).tolist(),
            target_x.tolist(),
            target_y.tolist(),
        )
        for number, cells in enumerate(zip(*columns, strict=True), start=1):
            yield (*head, number, *cells)


ROWS_OF: Final = {
    VISITS: visit_rows,
    TRIALS: trial_rows,
    TRIAL_SCORES: trial_score_rows,
    BLOCK_SCORES: block_score_rows,
    STANDINGS: standing_rows,
    CHANGES: change_rows,
    OBSERVATIONS: observation_rows,
    SAMPLES: sample_rows,
}


def _named(trial: StoredTrial) -> tuple[Cell, ...]:
    plan = trial.record.plan
    return trial.position, plan.block, plan.hand, plan.hand_side, plan.number, plan.attempt


def _scores_of(one: ResearchVisit, trial: StoredTrial) -> TrialScores | None:
    return None if one.scores is None else one.scores.trials.get(trial.id)


def _codes(reasons: Sequence[Reason]) -> str:
    return " ".join(reason.code for reason in reasons)


def part_of(judged: Mapping[str, object], name: str) -> Mapping[str, Any]:
    """One part of the findings; empty where there is none, or it was refused as a whole."""
    part = judged.get(name)
    return part if isinstance(part, Mapping) else {}


def _parts(judged: Mapping[str, object], name: str) -> Iterator[tuple[str, Mapping[str, object]]]:
    for measure, found in part_of(judged, name).items():
        if isinstance(found, Mapping):
            yield measure, found


def _cells(found: Mapping[str, object], *names: str) -> tuple[Cell, ...]:
    return tuple(value if isinstance(value := found.get(name), str | int | float) else None for name in names)


def _pair(value: object) -> tuple[Cell, Cell]:
    return (value[0], value[1]) if isinstance(value, list | tuple) and len(value) == 2 else (None, None)
