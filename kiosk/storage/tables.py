"""The 25 tables of the store, for any engine that SQLAlchemy Core supports, and the triggers that guard them.

Every row holds when, by whom and on which kiosk it was made, and a sha256 over all its other columns.
Structured content is canonical JSON text. Units stand in the column names; a Double is never NaN.

Rows are never changed; a correction is a new row (details, amendment, score_set). Triggers refuse every
update, and every removal without an erasure permit: a row of `erasure_permit` that exists only while a
person's rows are removed, children first, in one transaction. Rows that belong to no person (staff, devices,
tables, audit) are never removed. INSERT OR REPLACE meets the same triggers, as the engine runs with recursive
triggers. Decision architecture-4.
"""

from collections.abc import Iterator
from typing import Final

import sqlalchemy as sa

from kiosk.storage.column_types import Column, UtcTime

SCHEMA_REVISION: Final = 1
MUTABLE: Final = ("trial_chunk", "outbox", "erasure_permit")

metadata: Final = sa.MetaData()


def _id(name: str, refers_to: str | None = None, *, optional: bool = False) -> Column:
    keys = [sa.ForeignKey(f"{refers_to}.id")] if refers_to else []
    return sa.Column(name, sa.Uuid(), *keys, nullable=optional, index=bool(refers_to))


def _text(name: str, *, optional: bool = False) -> Column:
    return sa.Column(name, sa.Text(), nullable=optional)


def _whole(name: str, *, optional: bool = False) -> Column:
    return sa.Column(name, sa.Integer(), nullable=optional)


def _number(name: str, *, optional: bool = False) -> Column:
    return sa.Column(name, sa.Double(), nullable=optional)


def _flag(name: str, *, optional: bool = False) -> Column:
    return sa.Column(name, sa.Boolean(), nullable=optional)


def _bytes(name: str) -> Column:
    return sa.Column(name, sa.LargeBinary(), nullable=False)


def _moment(name: str, *, optional: bool = False) -> Column:
    return sa.Column(name, UtcTime(), nullable=optional)


def _made() -> tuple[Column, ...]:
    return _moment("made_at"), _id("made_by", optional=True), _text("kiosk_id"), _text("sha256")


def _table(name: str, *columns: sa.schema.SchemaItem) -> sa.Table:
    return sa.Table(name, metadata, sa.Column("id", sa.Uuid(), primary_key=True), *columns, *_made())


person = _table("person")
person_details = _table(
    "person_details", _id("person_id", "person"), _id("supersedes", "person_details", optional=True),
    _text("code"), _text("second_identifier"), _text("family_name", optional=True),
    _text("given_name", optional=True), _text("birth_date"), _text("sex"), _text("tool_hand"),
    _number("education_years", optional=True), _text("language"))
staff = _table("staff")
staff_details = _table(
    "staff_details", _id("staff_id", "staff"), _id("supersedes", "staff_details", optional=True),
    _text("display_name"), _text("roles"), _flag("active"))
device = _table(
    "device", _text("device_class"), _text("label"), _text("placement"), _text("protector"),
    _number("input_fuzz", optional=True), _text("serial_sha256", optional=True), _whole("panel_px_w"),
    _whole("panel_px_h"))
calibration = _table(
    "calibration", _id("device_id", "device"), _text("method"), _number("px_per_mm_x"),
    _number("px_per_mm_y"), _text("readings"), _text("display"), _whole("window_px_w"), _whole("window_px_h"))
device_check = _table(
    "device_check", _id("device_id", "device"), _id("calibration_id", "calibration"), _text("verdict"),
    _text("reasons"), _number("rate_hz", optional=True), _number("interval_p95_ms", optional=True),
    _number("refresh_hz", optional=True), _number("dropped_share", optional=True),
    _number("noise_mm", optional=True), _number("field_w_mm", optional=True),
    _number("field_h_mm", optional=True))
device_latency = _table(
    "device_latency", _id("device_id", "device"), _number("latency_ms"), _number("sd_ms", optional=True),
    _text("method"))
reference_table = sa.Table(
    "reference_table", metadata, sa.Column("sha256", sa.Text(), primary_key=True), _text("name"),
    _text("version"), _text("status"), _bytes("folder"), _moment("made_at"), _id("made_by", optional=True),
    _text("kiosk_id"), _text("row_sha256"))
visit = _table(
    "visit", _id("person_id", "person"), _text("purpose"), _text("research_use"),
    _id("device_id", "device"), _id("calibration_id", "calibration", optional=True),
    _id("device_check_id", "device_check", optional=True), _text("battery"),
    _whole("battery_version"), _text("form"), _whole("earlier_visits"), _text("input"),
    _text("preferred_hand"), _text("hands_today"), _text("hands_reason"), _text("placement"), _text("theme"),
    _number("latency_ms", optional=True), _text("latency_source", optional=True), _text("language"),
    _text("delivery"), _text("catalogue_sha256"), _text("adaptation_status"), _moment("started_at"),
    _text("time_zone"), _whole("utc_offset_min"), _text("intake"), _text("software"),
    _id("identity_confirmed_by", optional=True))
visit_end = _table(
    "visit_end", _id("visit_id", "visit"), _text("how"), _text("reason"), _text("pain_after"),
    _moment("ended_at"), sa.UniqueConstraint("visit_id"))
trial = _table(
    "trial", _id("visit_id", "visit"), _whole("position"), _text("block"), _text("hand"), _text("hand_side"),
    _whole("number"), _whole("attempt"), _id("repeat_of", "trial", optional=True), _flag("scored"),
    _text("plan"), _id("calibration_id", "calibration", optional=True), _text("clock", optional=True),
    _text("touch_source", optional=True), _text("outcome"), _text("outcome_reason", optional=True),
    _whole("n_samples"), _whole("n_frames"), _number("refresh_hz", optional=True),
    _whole("dropped_frames", optional=True), _whole("other_touches", optional=True),
    _whole("lost_events", optional=True), _whole("samples_format"), _bytes("samples"),
    sa.UniqueConstraint("visit_id", "block", "hand", "number", "attempt"),
    sa.UniqueConstraint("visit_id", "position"))
trial_chunk = _table(
    "trial_chunk", _id("trial_id"), _id("visit_id", "visit"), _whole("seq"), _text("header"), _bytes("bytes"),
    sa.UniqueConstraint("trial_id", "seq"))
observation = _table(
    "observation", _id("visit_id", "visit"), _id("trial_id", "trial", optional=True), _text("code"),
    _text("note"), _id("withdraws", "observation", optional=True))
score_set = _table(
    "score_set", _id("visit_id", "visit"), _whole("scoring_version"), _text("observations_sha256"),
    _text("software"))
trial_score = _table(
    "trial_score", _id("score_set_id", "score_set"), _id("trial_id", "trial"), _text("score"),
    _number("value", optional=True), _number("se", optional=True), _text("unit"),
    _text("reason", optional=True), sa.UniqueConstraint("score_set_id", "trial_id", "score"))
trial_validity = _table(
    "trial_validity", _id("score_set_id", "score_set"), _id("trial_id", "trial"), _flag("valid"),
    _text("reasons"), _text("cautions"), sa.UniqueConstraint("score_set_id", "trial_id"))
block_score = _table(
    "block_score", _id("score_set_id", "score_set"), _text("measure"), _number("value", optional=True),
    _number("scaled", optional=True), _number("se", optional=True), _whole("n_trials"), _text("unit"),
    _text("reason", optional=True), _number("trial_variance", optional=True),
    sa.UniqueConstraint("score_set_id", "measure"))
findings = _table(
    "findings", _id("visit_id", "visit"), _id("score_set_id", "score_set"),
    sa.Column("reference_sha256", sa.Text(), sa.ForeignKey("reference_table.sha256"), nullable=True),
    _whole("comparison_version"), _number("age_years", optional=True), _whole("content_format"),
    _text("content"))
report = _table(
    "report", _id("findings_id", "findings"), _text("language"), _text("paper"), _text("page_tag"),
    _bytes("pdf"), _text("pdf_sha256"), _whole("audit_seq"), _text("audit_head"),
    _id("replaces", "report", optional=True))
sign_off = _table("sign_off", _id("report_id", "report"), _id("staff_id", "staff"), _text("statement"))
amendment = _table(
    "amendment", _text("target_kind"), _id("target_id"), _text("action"),
    _id("replacement_id", optional=True), _text("reason"))
audit = sa.Table(
    "audit", metadata, sa.Column("kiosk_id", sa.Text(), primary_key=True),
    sa.Column("seq", sa.BigInteger(), primary_key=True, autoincrement=False), _id("staff_id", optional=True),
    _text("action"), _text("object_kind"), _text("object_id"), _text("object_sha256"), _text("previous_mac"),
    _text("mac"), _moment("made_at"), _id("made_by", optional=True), _text("sha256"))
outbox = _table(
    "outbox", _text("table_name"), _text("row_key"), _whole("tries"), _moment("pushed_at", optional=True))
erasure_permit = _table("erasure_permit", _id("person_id"), _text("reason"))

# Without these, lists by time would read whole tables.
sa.Index("visit_by_start", visit.c.started_at, visit.c.id)
sa.Index("audit_by_moment", audit.c.made_at)


_OF_VISIT: Final = "(SELECT person_id FROM visit WHERE id = OLD.visit_id)"
_OF_SCORE_SET: Final = ("(SELECT visit.person_id FROM score_set JOIN visit ON visit.id = score_set.visit_id "
                        "WHERE score_set.id = OLD.score_set_id)")
_OF_FINDINGS: Final = ("(SELECT visit.person_id FROM findings JOIN visit ON visit.id = findings.visit_id "
                       "WHERE findings.id = {})")
_OF_REPORT: Final = "(SELECT findings_id FROM report WHERE report.id = OLD.report_id)"
_OF_TARGET: Final = (
    "COALESCE((SELECT person_id FROM visit WHERE id = OLD.target_id), "
    "(SELECT person_id FROM person_details WHERE id = OLD.target_id), "
    "(SELECT visit.person_id FROM trial JOIN visit ON visit.id = trial.visit_id "
    "WHERE trial.id = OLD.target_id), "
    "(SELECT visit.person_id FROM observation JOIN visit ON visit.id = observation.visit_id "
    "WHERE observation.id = OLD.target_id), "
    "(SELECT visit.person_id FROM report JOIN findings ON findings.id = report.findings_id "
    "JOIN visit ON visit.id = findings.visit_id WHERE report.id = OLD.target_id))")

PERSON_OF: Final = {
    "person": "OLD.id",
    "person_details": "OLD.person_id",
    "visit": "OLD.person_id",
    "visit_end": _OF_VISIT,
    "trial": _OF_VISIT,
    "observation": _OF_VISIT,
    "score_set": _OF_VISIT,
    "findings": _OF_VISIT,
    "trial_score": _OF_SCORE_SET,
    "trial_validity": _OF_SCORE_SET,
    "block_score": _OF_SCORE_SET,
    "report": _OF_FINDINGS.format("OLD.findings_id"),
    "sign_off": _OF_FINDINGS.format(_OF_REPORT),
    "amendment": _OF_TARGET,
}
"""The person to whom an immutable row belongs, as SQL over OLD, the row about to be removed."""


def sqlite_triggers() -> Iterator[str]:
    """The statements that make the triggers of every immutable table, for SQLite."""
    for table in metadata.sorted_tables:
        if table.name not in MUTABLE:
            yield _refuse("UPDATE", table.name)
            yield _refuse("DELETE", table.name, PERSON_OF.get(table.name))


def _refuse(event: str, table: str, person: str | None = None) -> str:
    unless = ""
    if person is not None:
        unless = f"WHEN NOT EXISTS (SELECT 1 FROM erasure_permit WHERE person_id = {person}) "
    return (f"CREATE TRIGGER immutable_{table}_{event.lower()} BEFORE {event} ON {table} {unless}"
            f"BEGIN SELECT RAISE(ABORT, 'immutable: {table}'); END")
