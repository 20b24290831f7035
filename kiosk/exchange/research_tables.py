"""The tables of a research package, described: every column with its meaning, unit, values and source.

De-identified: persons bear running codes, dates are days since the person's first visit, ages have two
decimals, and no note, name, serial number or moment of a clock is in any row. Every table begins with the
columns of SHARED, so that a row says by itself whose it is. Units are in the names of columns; an empty cell
is a value that is not known, or does not apply.
"""

from dataclasses import dataclass
from typing import Final, Literal

from kiosk.pursuit.observation import CODES
from kiosk.scoring.catalogue import KINDS


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
        Column("purpose", "string", "What the visit was for",
               values=("care", "reference", "retest", "training", "demo")),
        Column("research_use", "string", "Whether the person agreed to research use",
               values=("yes", "no", "not_asked")),
        Column("preferred_hand", "string", "Preferred hand as of that day", values=("right", "left")),
        Column("hands_today", "string", "Hands that could be used", values=("both", "right", "left")),
        Column("hands_reason", "string", "Why only one hand could be used (code)"),
        Column("input", "string", "What was used to point", values=("finger", "stylus", "mouse")),
        Column("placement", "string", "How the tablet lay"),
        Column("latency_ms", "number",
               "Latency of the tablet, picture and touch together; taken off lag and delay", "ms"),
        Column("latency_source", "string", "How the latency was measured"),
        Column("language", "string", "Language of the instructions (BCP 47)"),
        Column("adaptation_status", "string", "Status of that translation"),
        Column("delivery", "string", "Who gave the instructions"),
        Column("posture", "string", "Posture"),
        Column("last_dose", "string", "Time since the last dose of a medicine for movement (code)"),
        Column("pain_before", "string", "Pain in the hand or arm before"),
        Column("pain_after", "string", "Pain in the hand or arm after"),
        Column("how", "string", "How the visit ended",
               values=("completed", "stopped_by_person", "stopped_by_staff", "abandoned")),
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
        Column("period_s", "number", "Time of one turn, or of one period of the wandering path", "s",
               source="trial"),
        Column(
            "run_in_s", "number", "Time that is not scored, from the start of the disc", "s", source="trial"
        ),
        Column("window_s", "number", "Time that is scored", "s", source="trial"),
        Column("scored", "boolean", "Whether the block is scored (practice is not)", source="trial"),
        Column("outcome", "string", "How the trial ended", values=("complete", "interrupted", "stopped"),
               source="trial"),
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
        Column("scale", "string", "Scale on which trials are averaged and people compared",
               values=("log", "identity", "logit"), source="scores"),
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
        Column("x_mm", "number", "Finger, to the right of the field's centre", "mm", source="trial",
               required=True),
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
