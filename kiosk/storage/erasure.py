"""Erasing one person's data, under an erasure permit: the only way in which rows are ever removed.

One transaction adds the permit, removes the person's rows (children first), writes a line in the audit (who,
when, whose id, why: the tombstone) and removes the permit. Afterwards the person's id is in the audit and
nowhere else. Decision storage-2.
"""

from collections.abc import Iterator
from typing import Final
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import tables as t
from kiosk.storage.column_types import Query
from kiosk.storage.rows import Ledger, Writing

REASONS: Final = ("asked", "retention_over", "entered_in_error", "erased_elsewhere")
TOMBSTONE: Final = "erase_person_"  # the audit's action, followed by the reason


def erase_person(ledger: Ledger, person_id: UUID, reason: str) -> int:
    """Remove a person and everything of theirs; returns the number of rows removed.

    Refused: unknown_person, erasure_reason_unknown.
    """
    if reason not in REASONS:
        raise Refused("erasure_reason_unknown", {"reason": reason, "known": ", ".join(REASONS)})
    with ledger.writing() as writing:
        if not writing.exists(t.person, person_id):
            raise Refused("unknown_person", {"person": str(person_id)})
        return _erase(writing, person_id, reason)


def _erase(writing: Writing, person_id: UUID, reason: str) -> int:
    permit = writing.add(t.erasure_permit, {"person_id": person_id, "reason": reason})
    removed = 0
    for table, of_person in rows_of_person(person_id):
        _unqueue(writing, table, of_person)
        removed += writing.connection.execute(table.delete().where(of_person)).rowcount
    writing.note_of(TOMBSTONE + reason, "person", str(person_id))
    writing.connection.execute(t.erasure_permit.delete().where(t.erasure_permit.c.id == permit["id"]))
    return removed


def rows_of_person(person_id: UUID) -> Iterator[tuple[sa.Table, sa.ColumnElement[bool]]]:
    """Each table with rows of a person, children first, and the condition that selects these rows."""
    visits = sa.select(t.visit.c.id).where(t.visit.c.person_id == person_id)
    sets = sa.select(t.score_set.c.id).where(t.score_set.c.visit_id.in_(visits))
    found = sa.select(t.findings.c.id).where(t.findings.c.visit_id.in_(visits))
    pages = sa.select(t.report.c.id).where(t.report.c.findings_id.in_(found))
    yield t.amendment, t.amendment.c.target_id.in_(_targets(person_id, visits, pages))
    yield t.sign_off, t.sign_off.c.report_id.in_(pages)
    yield t.report, t.report.c.findings_id.in_(found)
    yield t.findings, t.findings.c.visit_id.in_(visits)
    for table in (t.trial_score, t.trial_validity, t.block_score):
        yield table, table.c.score_set_id.in_(sets)
    for table in (t.score_set, t.observation, t.trial_chunk, t.trial, t.visit_end):
        yield table, table.c.visit_id.in_(visits)
    yield t.visit, t.visit.c.person_id == person_id
    yield t.person_details, t.person_details.c.person_id == person_id
    yield t.person, t.person.c.id == person_id


def _targets(person_id: UUID, visits: Query, pages: Query) -> sa.CompoundSelect[tuple[UUID]]:
    """The ids of everything of a person that an amendment may be about."""
    return sa.union_all(
        visits, pages,
        sa.select(t.person_details.c.id).where(t.person_details.c.person_id == person_id),
        sa.select(t.trial.c.id).where(t.trial.c.visit_id.in_(visits)),
        sa.select(t.observation.c.id).where(t.observation.c.visit_id.in_(visits)))


def _unqueue(writing: Writing, table: sa.Table, of_person: sa.ColumnElement[bool]) -> None:
    """Take these rows out of the queue for the server."""
    waiting = sa.select(t.outbox.c.id).where(t.outbox.c.table_name == table.name).limit(1)
    if writing.connection.execute(waiting).first() is None:
        return
    keys = [str(row.id) for row in writing.connection.execute(sa.select(table.c.id).where(of_person))]
    for start in range(0, len(keys), 500):
        writing.connection.execute(t.outbox.delete().where(
            t.outbox.c.table_name == table.name, t.outbox.c.row_key.in_(keys[start:start + 500])))
