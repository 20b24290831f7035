"""Scores, findings and pages as rows."""

from collections.abc import Iterable, Sequence
from hashlib import sha256
from json import loads
from typing import Any, Final
from uuid import UUID

import sqlalchemy as sa

from kiosk.pursuit.observation import Observation
from kiosk.scoring.catalogue import KINDS
from kiosk.scoring.trial_scores import BlockScore, Reason, Scored, TrialScores, Validity
from kiosk.storage import tables
from kiosk.storage.audit_chain import Anchor
from kiosk.storage.rows import Row, Writing
from kiosk.visits.archive import StoredFindings, StoredReport, StoredScores
from kiosk.visits.canonical import canonical_json
from kiosk.visits.findings import JudgedBy


def _of_set(table: sa.Table, *names: str) -> sa.Select[Any]:
    """Rows of a score set as they were made; the ids of trials as the engine has them, to be quick."""
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
    """A score set with the scores and validity of every trial and the block scores; its id."""
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
    """The table that judged, as the findings tell it."""
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
    """Which observations were known when the scores were made."""
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
