"""The tables of a research package: every column with its meaning, and the rows of one visit.

De-identified: persons bear running codes, dates are days since the person's first visit, ages have two
decimals, and no note, name, serial number or moment of a clock is in any row. Every table begins with the
columns of SHARED, so that a row says by itself whose it is. Units are in the names of columns; an empty cell
is a value that is not known, or does not apply.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from kiosk.pursuit.observation import CODES, Observation
from kiosk.pursuit.target import Circle
from kiosk.scoring.catalogue import KINDS, kind_of
from kiosk.scoring.trial_scores import Reason, TrialScores
from kiosk.visits.archive import StoredScores, StoredTrial
from kiosk.visits.visit import Visit, VisitEnd

Cell = str | int | float | bool | None
Rows = Iterator[tuple[Cell, ...]]
AGE_DECIMALS: Final = 2
CAPPED_AT_YEARS: Final = 90.0  # so high an age tells who someone is: such people are left out


@dataclass(frozen=True)
class Column:
    """One column: its Table Schema type, meaning, unit, the values it may take, and where it comes from."""

    name: str
    type: Literal["string", "integer", "number", "boolean"]
    meaning: str
    unit: str = ""
    values: tuple[str, ...] = ()
    source: str = "visit"
    required: bool = False


@dataclass(frozen=True)
class TableDescription:
    """One table: its name, what a row is, its columns and the columns that together name a row."""

    name: str
    meaning: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]


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


SHARED: Final = (
    Column("visit_id", "string", "Name of the visit in this package", required=True),
    Column("person", "string", "Running code of the person in this package", required=True),
    Column("visit", "integer", "Which visit of this battery it was for the person, from 1", required=True),
    Column("day", "number", "Days since the person's first visit in this package", "d", required=True),
    Column("age_years", "number", "Age at the visit, two decimals", "a", required=True),
    Column("form", "string", "Which pair of wandering paths was shown", values=("A", "B"), required=True),
    Column("device_class", "string", "Kind of panel, as the site names it", required=True),
)
_HAND: Final = (
    Column(
        "hand", "string", "Which hand moved", values=("preferred", "other"), source="trial", required=True
    ),
    Column(
        "side", "string", "Which side that hand is", values=("right", "left"), source="trial", required=True
    ),
)
_TRIAL: Final = (
    Column("position", "integer", "Place of the trial in the visit, from 1", source="trial", required=True),
    Column("block", "string", "Block of the battery", source="trial", required=True),
    *_HAND,
    Column("trial", "integer", "Number of the trial in its block, from 1", source="trial", required=True),
    Column("attempt", "integer", "2 where the trial was repeated", source="trial", required=True),
)

VISITS: Final = TableDescription(
    "visits",
    "One row a visit",
    (
        *SHARED,
        Column("sex", "string", "Sex as the person gave it", values=("female", "male", "other", "not_asked")),
        Column("education_years", "number", "Years of education, where the site asks for them", "a"),
        Column(
            "purpose",
            "string",
            "What the visit was for",
            values=("care", "reference", "retest", "training", "demo"),
        ),
        Column(
            "research_use",
            "string",
            "Whether the person agreed to research use",
            values=("yes", "no", "not_asked"),
        ),
        Column("preferred_hand", "string", "Preferred hand as of that day", values=("right", "left")),
        Column("hands_today", "string", "Hands that could be used", values=("both", "right", "left")),
        Column("hands_reason", "string", "Why only one hand could be used (code)"),
        Column("input", "string", "What was used to point", values=("finger", "stylus", "mouse")),
        Column("placement", "string", "How the tablet lay"),
        Column(
            "latency_ms",
            "number",
            "Latency of the tablet, picture and touch together; taken off lag and delay",
            "ms",
        ),
        Column("latency_source", "string", "How the latency was measured"),
        Column("language", "string", "Language of the instructions (BCP 47)"),
        Column("adaptation_status", "string", "Status of that translation"),
        Column("delivery", "string", "Who gave the instructions"),
        Column("posture", "string", "Posture"),
        Column("last_dose", "string", "Time since the last dose of a medicine for movement (code)"),
        Column("pain_before", "string", "Pain in the hand or arm before"),
        Column("pain_after", "string", "Pain in the hand or arm after"),
        Column(
            "how",
            "string",
            "How the visit ended",
            values=("completed", "stopped_by_person", "stopped_by_staff", "abandoned"),
        ),
        Column("battery", "string", "Battery"),
        Column("battery_version", "integer", "Version of the battery"),
        Column("scoring_version", "integer", "Version of the scoring", source="scores"),
        Column("comparison_version", "integer", "Version of the rules of comparison", source="findings"),
        Column("table", "string", "Reference table that was asked", source="findings"),
        Column("table_version", "string", "Version of that table", source="findings"),
        Column("software", "string", "Version of the kiosk that recorded the visit"),
    ),
    ("visit_id",),
)

TRIALS: Final = TableDescription(
    "trials",
    "One row a trial, repeated ones too",
    (
        *SHARED,
        *_TRIAL,
        Column("path", "string", "Shape of the path", values=("circle", "wander"), source="trial"),
        Column("direction", "integer", "Circles: 1 counter-clockwise, -1 clockwise", source="trial"),
        Column(
            "period_s",
            "number",
            "Time of one turn, or of one period of the wandering path",
            "s",
            source="trial",
        ),
        Column(
            "run_in_s", "number", "Time that is not scored, from the start of the disc", "s", source="trial"
        ),
        Column("window_s", "number", "Time that is scored", "s", source="trial"),
        Column("scored", "boolean", "Whether the block is scored (practice is not)", source="trial"),
        Column(
            "outcome",
            "string",
            "How the trial ended",
            values=("complete", "interrupted", "stopped"),
            source="trial",
        ),
        Column("valid", "boolean", "Whether the recording is fit to be scored", source="scores"),
        Column("reasons", "string", "Why it is not fit: codes, joined by a space", source="scores"),
        Column("cautions", "string", "What to mind: codes, joined by a space", source="scores"),
        Column("n_samples", "integer", "Touch samples recorded", source="trial"),
        Column("clock", "string", "Clock of the samples", source="trial"),
        Column("touch_source", "string", "Where the samples came from", source="trial"),
        Column("refresh_hz", "number", "New pictures due a second", "Hz", source="trial"),
        Column("dropped_frames", "integer", "Pictures that were due and did not come", source="trial"),
    ),
    ("visit_id", "position"),
)

TRIAL_SCORES: Final = TableDescription(
    "trial_scores",
    "One row a trial and score",
    (
        *SHARED,
        *_TRIAL,
        Column("score", "string", "Score", values=tuple(KINDS), source="scores", required=True),
        Column("value", "number", "Value in its unit; empty where not scored", source="scores"),
        Column("unit", "string", "Unit of the value and of its standard error", source="scores"),
        Column("se", "number", "Standard error of the value within the trial", source="scores"),
        Column("reason", "string", "Why there is no value (code)", source="scores"),
    ),
    ("visit_id", "position", "score"),
)

BLOCK_SCORES: Final = TableDescription(
    "block_scores",
    "One row a visit and measure",
    (
        *SHARED,
        Column("measure", "string", "Measure, as BLOCK.HAND.SCORE", source="scores", required=True),
        Column(
            "block", "string", "Block, or `circles` for both circles together", source="scores", required=True
        ),
        Column("hand", "string", "Which hand moved", source="scores", required=True),
        Column("score", "string", "Score", values=tuple(KINDS), source="scores", required=True),
        Column("value", "number", "Value in its unit; empty where not scored", source="scores"),
        Column("unit", "string", "Unit of the value", source="scores"),
        Column(
            "scale",
            "string",
            "Scale on which trials are averaged and people compared",
            values=("log", "identity", "logit"),
            source="scores",
        ),
        Column("scaled", "number", "The value on that scale: mean of the valid trials", source="scores"),
        Column("se", "number", "Standard error on that scale", source="scores"),
        Column("trial_variance", "number", "Variance of the trials on that scale", source="scores"),
        Column("n_trials", "integer", "Valid trials behind the value", source="scores"),
        Column("reason", "string", "Why there is no value (code)", source="scores"),
    ),
    ("visit_id", "measure"),
)

STANDINGS: Final = TableDescription(
    "standings",
    "One row a visit and measure that a reference table was asked for",
    (
        *SHARED,
        Column("measure", "string", "Measure, as BLOCK.HAND.SCORE", source="findings", required=True),
        Column("z", "number", "z in the reference group; below 0 is poorer", source="findings"),
        Column("z_star", "number", "Inverse normal of the percentile", source="findings"),
        Column("percentile", "number", "Percentage of the reference group below", "%", source="findings"),
        Column("percentile_low", "number", "Lower end of its 95 % interval", "%", source="findings"),
        Column("percentile_high", "number", "Upper end of its 95 % interval", "%", source="findings"),
        Column("standard_score", "integer", "100 + 15 z*, rounded", source="findings"),
        Column("label", "string", "Label of the standard score (AACN 2020)", source="findings"),
        Column("n", "integer", "People in the reference group", source="findings"),
        Column("refused", "string", "Why there is no standing (code)", source="findings"),
    ),
    ("visit_id", "measure"),
)

CHANGES: Final = TableDescription(
    "changes",
    "One row a visit and measure compared with an earlier visit",
    (
        *SHARED,
        Column("measure", "string", "Measure, as BLOCK.HAND.SCORE", source="findings", required=True),
        Column("days", "number", "Days between the two visits", "d", source="findings"),
        Column("value_before", "number", "Value at the earlier visit", source="findings"),
        Column("value_after", "number", "Value at this visit", source="findings"),
        Column("z_before", "number", "z at the earlier visit", source="findings"),
        Column("z_after", "number", "z at this visit", source="findings"),
        Column("expected_z", "number", "z to be expected without a change", source="findings"),
        Column("limit_low_z", "number", "Lower limit of no change", source="findings"),
        Column("limit_high_z", "number", "Upper limit of no change", source="findings"),
        Column("reliable", "string", "Verdict", values=("better", "worse", "none"), source="findings"),
        Column("refused", "string", "Why no change was judged (code)", source="findings"),
    ),
    ("visit_id", "measure"),
)

OBSERVATIONS: Final = TableDescription(
    "observations",
    "One row a thing that staff saw; notes are left out",
    (
        *SHARED,
        Column("number", "integer", "Running number within the visit", source="observation", required=True),
        Column("position", "integer", "Trial it belongs to; empty for the whole visit", source="observation"),
        Column("code", "string", "What was seen", values=CODES, source="observation", required=True),
    ),
    ("visit_id", "number"),
)

SAMPLES: Final = TableDescription(
    "samples",
    "One row a touch sample",
    (
        *SHARED,
        *_TRIAL,
        Column("sample", "integer", "Running number within the trial, from 1", source="trial", required=True),
        Column("t_s", "number", "Time since the disc set off", "s", source="trial", required=True),
        Column(
            "x_mm",
            "number",
            "Finger, to the right of the field's centre",
            "mm",
            source="trial",
            required=True,
        ),
        Column("y_mm", "number", "Finger, above the field's centre", "mm", source="trial", required=True),
        Column("contact", "integer", "1 in contact, 0 lifted", source="trial", required=True),
        Column(
            "target_x_mm", "number", "Disc at that time, to the right of the centre", "mm", source="battery"
        ),
        Column("target_y_mm", "number", "Disc at that time, above the centre", "mm", source="battery"),
    ),
    ("visit_id", "position", "sample"),
)

TABLES: Final = (VISITS, TRIALS, TRIAL_SCORES, BLOCK_SCORES, STANDINGS, CHANGES, OBSERVATIONS, SAMPLES)


def shared(one: ResearchVisit) -> tuple[Cell, ...]:
    """The cells that every row of the visit begins with."""
    return (
        one.id,
        one.person,
        one.number,
        round(one.day, AGE_DECIMALS),
        round(one.age_years, AGE_DECIMALS),
        one.visit.form,
        one.device_class,
    )


def visit_rows(one: ResearchVisit) -> Rows:
    """The row of the visit."""
    visit, intake, end, judged = one.visit, one.visit.intake, one.end, one.judged
    table, versions = _part(judged, "table"), _part(judged, "versions")
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


def _part(judged: Mapping[str, object], name: str) -> Mapping[str, Any]:
    """One part of the findings; empty where there is none, or it was refused as a whole."""
    part = judged.get(name)
    return part if isinstance(part, Mapping) else {}


def _parts(judged: Mapping[str, object], name: str) -> Iterator[tuple[str, Mapping[str, object]]]:
    for measure, found in _part(judged, name).items():
        if isinstance(found, Mapping):
            yield measure, found


def _cells(found: Mapping[str, object], *names: str) -> tuple[Cell, ...]:
    return tuple(value if isinstance(value := found.get(name), str | int | float) else None for name in names)


def _pair(value: object) -> tuple[Cell, Cell]:
    return (value[0], value[1]) if isinstance(value, list | tuple) and len(value) == 2 else (None, None)
