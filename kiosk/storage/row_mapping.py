"""Records as rows and back: persons, tablets, calibrations, visits, trials, scores, findings, pages.

A person's details are versions, of which the newest counts. A trial's row has its plan, the facts of its
recording and the container of its raw touch (kiosk.storage.trial_container). Its samples in mm are not kept:
they are computed again from raw touch and calibration, bit for bit, which is checked before a trial is kept.
"""

from collections.abc import Iterable, Sequence
from dataclasses import fields
from hashlib import sha256
from json import loads
from typing import TYPE_CHECKING, Final
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.canonical_json import JsonObject, canonical_json
from kiosk.base.errors import Refused
from kiosk.pursuit.observation import Observation
from kiosk.pursuit.samples import RawTouch, Samples
from kiosk.pursuit.target import Circle, Line, Path, Wander
from kiosk.pursuit.trial import TrialFacts, TrialPlan, TrialRecord
from kiosk.scoring.catalogue import KINDS
from kiosk.scoring.trial_scores import BlockScore, Reason, Scored, TrialScores, Validity
from kiosk.storage import tables
from kiosk.storage.audit_chain import Anchor
from kiosk.storage.column_types import Query, Row
from kiosk.storage.rows import Ledger, Writing, latest
from kiosk.storage.trial_container import FORMAT, Packed, pack, unpack
from kiosk.touch.calibration import Calibration
from kiosk.touch.slide import METHOD as BY_SLIDE
from kiosk.touch.verdict import DeviceReason, Verdict
from kiosk.visits.archive import StoredFindings, StoredReport, StoredScores, StoredTrial
from kiosk.visits.device_record import CalibrationRecord, Device, KeptLatency, latency_that_counts
from kiosk.visits.findings import JudgedBy
from kiosk.visits.passport import MeasuredBy
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit, VisitEnd

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

_LATENCY = ("latency_ms", "latency_sd_ms", "latency_method")


def add_person(writing: Writing, person: Person) -> None:
    """Add the person if new, and a version of their details."""
    if not writing.exists(tables.person, person.id):
        writing.add(tables.person, {"id": person.id})
    before = writing.connection.execute(_details_of(person.id).limit(1)).mappings().first()
    details = {name: value for name, value in _facts(person).items() if name != "id"}
    row = writing.add(tables.person_details, {
        **details, "person_id": person.id, "supersedes": None if before is None else before["id"]})
    writing.note("add_person", tables.person_details, row)


def read_person(ledger: Ledger, person_id: UUID) -> Person:
    """The person with the newest details; Refused `unknown_person`."""
    row = ledger.one(_details_of(person_id))
    if row is None:
        raise Refused("unknown_person", {"person": str(person_id)})
    return Person(**{**_same_named(Person, row), "id": person_id})


def add_device(writing: Writing, device: Device) -> None:
    """Add the tablet if new, and its latency if known.

    Refused `device_known_otherwise` where the store has this tablet with other properties.
    """
    facts = {name: value for name, value in _facts(device).items() if name not in _LATENCY}
    query = latest(tables.device, tables.device.c.id == device.id)
    known = writing.connection.execute(query).mappings().first()
    if known is not None and any(known[name] != value for name, value in facts.items()):
        raise Refused("device_known_otherwise", {"device": str(device.id)})
    row: Row = writing.add(tables.device, facts) if known is None else dict(known)
    if device.latency_ms is not None:
        writing.add(tables.device_latency, {
            "device_id": device.id, "latency_ms": device.latency_ms, "sd_ms": device.latency_sd_ms,
            "method": device.latency_method or ""})
    writing.note("add_device", tables.device, row)


def read_device(ledger: Ledger, device_id: UUID) -> Device:
    """The tablet with the latency that counts; Refused `unknown_device`."""
    row = ledger.one(latest(tables.device, tables.device.c.id == device_id))
    if row is None:
        raise Refused("unknown_device", {"device": str(device_id)})
    known = latency_that_counts(latencies_of(ledger, device_id))
    latency = {} if known is None else dict(
        zip(_LATENCY, (known.latency_ms, known.sd_ms, known.method or None), strict=True))
    return Device(**{**_same_named(Device, row), **latency})


def latencies_of(ledger: Ledger, device_id: UUID) -> tuple[KeptLatency, ...]:
    """The newest latency of a slide and of anything else."""
    table = tables.device_latency
    rows = (ledger.one(latest(table, table.c.device_id == device_id, which))
            for which in (table.c.method == BY_SLIDE, table.c.method != BY_SLIDE))
    return tuple(KeptLatency(row["latency_ms"], row["sd_ms"], row["method"]) for row in rows if row)


def measured(table: str, row: Row) -> tuple[MeasuredBy, dict[str, float], Verdict | None,
                                            tuple[DeviceReason, ...]]:
    """How a row's measurement was made, its figures that are known, its verdict and reasons."""
    if table == tables.calibration.name:
        return MeasuredBy.CARD, _known(row, "px_per_mm_x", "px_per_mm_y"), None, ()
    if table == tables.device_latency.name:
        by = MeasuredBy.SLIDE if row["method"] == BY_SLIDE else MeasuredBy.FILM
        return by, _known(row, "latency_ms", "sd_ms"), None, ()
    told = loads(row["reasons"])
    more = told if isinstance(told, dict) else {"reasons": told}
    reasons = tuple(DeviceReason(**one) for one in more["reasons"])
    if row["rate_hz"] is not None:
        names = ("rate_hz", "interval_p95_ms", "noise_mm", "refresh_hz", "dropped_share", "field_w_mm",
                 "field_h_mm")
        return MeasuredBy.PANEL, _known(row, *names), row["verdict"], reasons
    if row["noise_mm"] is None:
        return MeasuredBy.CROSSES, _known(more, "mean_mm", "worst_mm", "sd_mm"), row["verdict"], reasons
    of_lines = {f"{one['line']}.{name}": one[name] for one in more["lines"]
                for name in ("jitter_mm", "bow_mm", "edge_mm", "smoothing_ms") if one[name] is not None}
    return MeasuredBy.LINES, _known(row, "noise_mm") | of_lines, row["verdict"], reasons


def _known(row: Row, *names: str) -> dict[str, float]:
    return {name: row[name] for name in names if row[name] is not None}


def add_calibration(writing: Writing, calibration: CalibrationRecord) -> None:
    """Add a calibration of a tablet."""
    facts = _facts(calibration) | {"readings": canonical_json([float(one) for one in calibration.readings])}
    writing.note("add_calibration", tables.calibration, writing.add(tables.calibration, facts))


def calibration_from(row: Row) -> CalibrationRecord:
    """The calibration of a row."""
    facts = _same_named(CalibrationRecord, row)
    return CalibrationRecord(**{**facts, "readings": tuple(loads(row["readings"]))})


def _details_of(person_id: UUID) -> Query:
    return latest(tables.person_details, tables.person_details.c.person_id == person_id)


def _facts(record: "DataclassInstance") -> JsonObject:
    return {field.name: getattr(record, field.name) for field in fields(record)}


def _same_named(kind: type["DataclassInstance"], row: Row) -> JsonObject:
    return {field.name: row[field.name] for field in fields(kind) if field.name in row}


_AS_JSON = ("intake", "software")


def visit_row(visit: Visit) -> Row:
    """A visit's columns; the two mappings as canonical JSON."""
    facts = _facts(visit)
    return facts | {name: canonical_json(dict(facts[name])) for name in _AS_JSON}


def visit_from(row: Row) -> Visit:
    """The visit of a row."""
    facts = _same_named(Visit, row)
    return Visit(**{**facts, **{name: loads(row[name]) for name in _AS_JSON}})


def end_row(end: VisitEnd) -> Row:
    """An end's columns."""
    return _facts(end)


def end_from(row: Row) -> VisitEnd:
    """The end of a row."""
    return VisitEnd(**_same_named(VisitEnd, row))


def observation_from(row: Row) -> Observation:
    """The observation of a row."""
    return Observation(row["code"], row["trial_id"], row["note"])


_FACTS_IN_COLUMNS: Final = ("outcome", "outcome_reason", "clock", "touch_source", "refresh_hz",
                            "dropped_frames", "other_touches", "lost_events")
_FACTS_IN_PLAN: Final = ("latency_ms", "latency_source")
_FACTS_IN_HEADER: Final = ("calibrated", "other_contact_s", "identity_lost", "input_fuzz", "lost_spans_s",
                            "smoothing_ms")
_PLAN_IN_COLUMNS: Final = ("block", "hand", "hand_side", "number", "attempt", "scored")


def trial_row(trial: StoredTrial, calibration: CalibrationRecord | None) -> Row:
    """A trial's columns.

    Refused `trial_without_raw_touch`, `trial_without_calibration` or `samples_not_from_raw` where the
    samples could not be made again from what is kept.
    """
    record, facts = trial.record, trial.record.facts
    packed = _packed(record)
    _check_samples(record, packed, calibration)
    plan = record.plan.describe() | {name: getattr(facts, name) for name in _FACTS_IN_PLAN}
    return {
        "id": trial.id, "visit_id": trial.visit_id, "position": trial.position, "repeat_of": trial.repeat_of,
        **{name: getattr(record.plan, name) for name in _PLAN_IN_COLUMNS},
        **{name: getattr(facts, name) for name in _FACTS_IN_COLUMNS},
        "plan": canonical_json(plan), "calibration_id": record.calibration_id,
        "n_samples": len(record.samples.t_s), "n_frames": len(facts.flip_t_s), "samples_format": FORMAT,
        "samples": pack(packed)}


def trial_from(row: Row, calibration: CalibrationRecord) -> StoredTrial:
    """The trial of a row, its samples made again from the raw touch."""
    packed, plan = unpack(row["samples"]), loads(row["plan"])
    facts = TrialFacts(
        **{name: row[name] for name in _FACTS_IN_COLUMNS},
        **{name: plan.pop(name) for name in _FACTS_IN_PLAN}, **with_spans(packed.facts),
        flip_t_s=packed.flip_t_s)
    record = TrialRecord(
        plan=TrialPlan(**{**plan, "path": path_from(plan["path"])}),
        samples=samples_of(packed.raw, packed.set_off_ns, calibration), facts=facts, raw=packed.raw,
        set_off_ns=packed.set_off_ns, calibration_id=row["calibration_id"])
    return StoredTrial(row["id"], row["visit_id"], row["position"], record, row["repeat_of"])


def samples_of(raw: RawTouch, set_off_ns: int, calibration: CalibrationRecord) -> Samples:
    """Samples (t_s from when the disc set off, x_mm, y_mm, contact) from a raw touch and its calibration."""
    return Calibration(calibration.px_per_mm_x, calibration.px_per_mm_y, calibration.window_px_w,
                       calibration.window_px_h).samples(raw, set_off_ns)


def path_from(described: JsonObject) -> Path:
    """The path from its description in a plan (TrialPlan.describe)."""
    kind, facts = described["kind"], {name: value for name, value in described.items() if name != "kind"}
    if kind == "circle":
        return Circle(**facts)
    axes = {axis: tuple(Line(*line) for line in facts[axis]) for axis in ("x", "y")}
    return Wander(facts["name"], facts["period_s"], **axes)


def with_spans(facts: JsonObject) -> JsonObject:
    """Facts from JSON, their lost spans tuples again; None where an older container has no lost spans."""
    spans = facts.get("lost_spans_s")
    return facts | {"lost_spans_s": None if spans is None else tuple(tuple(span) for span in spans)}


def _packed(record: TrialRecord) -> Packed:
    if record.raw is None or record.set_off_ns is None:
        raise Refused("trial_without_raw_touch",
                      {"block": record.plan.block_name, "trial": record.plan.number})
    facts = {name: getattr(record.facts, name) for name in _FACTS_IN_HEADER}
    return Packed(record.raw, record.set_off_ns, record.facts.flip_t_s, facts)


def _check_samples(record: TrialRecord, packed: Packed, calibration: CalibrationRecord | None) -> None:
    place = {"block": record.plan.block_name, "trial": record.plan.number}
    if calibration is None:
        raise Refused("trial_without_calibration", place)
    again = samples_of(packed.raw, packed.set_off_ns, calibration)
    columns = ("t_s", "x_mm", "y_mm", "contact")
    if any(getattr(again, one).tobytes() != getattr(record.samples, one).tobytes() for one in columns):
        raise Refused("samples_not_from_raw", place)


def _of_set(table: sa.Table, *names: str) -> Query:
    """Rows of a score set in the order they were made; trial_id as the driver gives it, which is quicker."""
    wanted = (sa.type_coerce(table.c[name], sa.types.NULLTYPE).label(name) if name == "trial_id"
              else table.c[name] for name in names)
    of_set = table.c.score_set_id == sa.bindparam("set_id", type_=sa.Uuid())
    return sa.select(*wanted).where(of_set).order_by(table.c.made_at, table.c.id)


LATEST: Final = sa.select(tables.score_set.c.id, tables.score_set.c.scoring_version).where(
    tables.score_set.c.visit_id == sa.bindparam("visit", type_=sa.Uuid())).order_by(
    tables.score_set.c.made_at.desc(), tables.score_set.c.id.desc()).limit(1)
PARTS: Final = (
    _of_set(tables.trial_validity, "trial_id", "valid", "reasons", "cautions"),
    _of_set(tables.trial_score, "trial_id", "score", "value", "se", "reason"),
    _of_set(tables.block_score, *BlockScore.__dataclass_fields__))


def add_scores(writing: Writing, visit_id: UUID, scoring_version: int,
               trials: Sequence[tuple[UUID, TrialScores]], blocks: Sequence[BlockScore], software: str,
               observations: Sequence[Observation]) -> UUID:
    """Add a score set: the scores and validity of every trial, and the block scores; returns its id."""
    row = writing.add(tables.score_set, {
        "visit_id": visit_id, "scoring_version": scoring_version, "software": software,
        "observations_sha256": observations_sha256(observations)})
    set_id: UUID = row["id"]
    for trial_id, scores in trials:
        writing.add(tables.trial_validity, {
            "score_set_id": set_id, "trial_id": trial_id, "valid": scores.validity.valid,
            "reasons": _reasons_json(scores.validity.reasons),
            "cautions": _reasons_json(scores.validity.cautions)})
        for score, figure in scores.values.items():
            writing.add(tables.trial_score, _score_row(set_id, trial_id, score, figure))
    for block in blocks:
        writing.add(tables.block_score, {"score_set_id": set_id} | {
            name: getattr(block, name) for name in BlockScore.__dataclass_fields__})
    writing.note("add_scores", tables.score_set, row)
    return set_id


def scores_from(row: Row, validity: Iterable[Row], scores: Iterable[Row],
                blocks: Iterable[Row]) -> StoredScores:
    """A score set from its rows."""
    figures: dict[UUID | str, dict[str, Scored]] = {}
    for one in scores:
        figures.setdefault(one["trial_id"], {})[one["score"]] = Scored(one["value"], one["se"], one["reason"])
    trials = {_as_uuid(one["trial_id"]): TrialScores(figures.get(one["trial_id"], {}), _validity(one))
              for one in validity}
    by_measure = {one["measure"]: _block_from(one) for one in blocks}
    return StoredScores(row["id"], row["scoring_version"], trials, by_measure)


def _as_uuid(key: UUID | str) -> UUID:
    return key if isinstance(key, UUID) else UUID(hex=key)


def findings_from(row: Row) -> StoredFindings:
    """Findings of a row."""
    return StoredFindings(row["id"], row["visit_id"], row["score_set_id"], row["reference_sha256"],
                          row["content"])


def judged_by(kept: StoredFindings) -> JudgedBy | None:
    """The table that judged, as the findings name it; None where none did."""
    table = loads(kept.content).get("table")
    return None if table is None else JudgedBy(table["name"], table["version"], table["sha256"])


def report_row(report: StoredReport, head: Anchor) -> Row:
    """A page's columns, with the head of the audit at that time."""
    return {"id": report.id, "findings_id": report.findings_id, "language": report.language,
            "paper": report.paper, "page_tag": report.page_tag, "pdf": report.pdf,
            "pdf_sha256": sha256(report.pdf).hexdigest(), "audit_seq": head.seq, "audit_head": head.mac,
            "replaces": report.replaces}


def report_from(row: Row) -> StoredReport:
    """The page of a row."""
    return StoredReport(row["id"], row["findings_id"], row["language"], row["paper"], row["pdf"],
                        row["page_tag"], row["replaces"])


def observations_sha256(observations: Sequence[Observation]) -> str:
    """A hash that tells which observations were known when the scores were computed."""
    plain = [[one.code, None if one.trial_id is None else str(one.trial_id), one.note]
             for one in observations]
    return sha256(canonical_json(plain).encode()).hexdigest()


def _score_row(set_id: UUID, trial_id: UUID, score: str, figure: Scored) -> Row:
    unit = KINDS[score].unit if score in KINDS else ""
    return {"score_set_id": set_id, "trial_id": trial_id, "score": score, "value": figure.value,
            "se": figure.se, "unit": unit, "reason": figure.reason}


def _block_from(row: Row) -> BlockScore:
    return BlockScore(**{name: row[name] for name in BlockScore.__dataclass_fields__})


def _validity(row: Row) -> Validity:
    return Validity(row["valid"], _reasons(row["reasons"]), _reasons(row["cautions"]))


def _reasons_json(reasons: Iterable[Reason]) -> str:
    return canonical_json([[one.code, dict(one.values)] for one in reasons])


def _reasons(text: str) -> tuple[Reason, ...]:
    return tuple(Reason(code, values) for code, values in loads(text))
