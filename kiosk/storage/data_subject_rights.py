"""What data protection asks for: all data about a person, what is kept too long, who agreed to research.

Purpose and research use belong to each visit: only visits of the right purpose whose person agreed, and did
not withdraw that, are given out for research or go into a reference table. Decision storage-8.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Final
from uuid import UUID

import sqlalchemy as sa

from kiosk.base.errors import Refused
from kiosk.storage import row_mapping
from kiosk.storage import tables as t
from kiosk.storage.column_types import Row
from kiosk.storage.erasure import rows_of_person
from kiosk.storage.rows import Ledger, latest
from kiosk.visits.visit import Visit

LEFT_OUT: Final = ("trial_chunk",)  # parts of the running trial
RESEARCH: Final = ("reference", "retest")


def person_coded(ledger: Ledger, code_or_id: str) -> UUID:
    """The person with this code or id; Refused `unknown_code` or `code_on_several`."""
    rows = ledger.all(latest(t.person_details))
    wanted = code_or_id.strip().casefold()
    found = {row["person_id"] for row in rows if wanted in (row["code"].casefold(), str(row["person_id"]))}
    if len(found) > 1:
        raise Refused("code_on_several", {"code": code_or_id, "count": len(found)})
    if not found:
        raise Refused("unknown_code", {"code": code_or_id})
    return UUID(str(found.pop()))


def everything_of(ledger: Ledger, person_id: UUID) -> Mapping[str, list[Row]]:
    """Every row about a person, by table, and the lines of the audit about any of these rows."""
    found: dict[str, list[Row]] = {}
    for table, of_person in rows_of_person(person_id):
        if table.name not in LEFT_OUT:
            found[table.name] = [dict(row) for row in ledger.all(sa.select(table).where(of_person))]
    if not found["person"]:
        raise Refused("unknown_person", {"person": str(person_id)})
    ids = {str(row["id"]) for rows in found.values() for row in rows}
    lines = ledger.all(sa.select(t.audit).order_by(t.audit.c.kiosk_id, t.audit.c.seq))
    return found | {"audit": [dict(line) for line in lines if line["object_id"] in ids]}


def kept_too_long(ledger: Ledger, before: datetime) -> tuple[UUID, ...]:
    """Persons without a visit or new details since a moment (the retention period's), longest ago first."""
    last = sa.func.max(t.visit.c.started_at)
    visits = sa.select(t.visit.c.person_id, last.label("last")).group_by(t.visit.c.person_id).subquery()
    known = sa.func.max(t.person_details.c.made_at)
    details = sa.select(t.person_details.c.person_id, known.label("known")).group_by(
        t.person_details.c.person_id).subquery()
    newest = sa.func.coalesce(visits.c.last, details.c.known)
    query = sa.select(details.c.person_id, newest.label("newest")).outerjoin(
        visits, visits.c.person_id == details.c.person_id).order_by(newest)
    return tuple(row["person_id"] for row in ledger.all(query) if _moment(row["newest"]) < before)


def visits_for_research(ledger: Ledger, purpose: str) -> tuple[Visit, ...]:
    """Visits of this purpose (reference, retest) whose person agreed and that are not void; oldest first.

    A "no" at a later visit of any purpose withdraws the agreement for all earlier ones; a later "yes" applies
    to later visits only. A visit whose date is in doubt is left out, as the age is in doubt too.
    """
    if purpose not in RESEARCH:
        return ()
    void, answered = _void(ledger), t.visit.c.research_use.in_(("yes", "no"))
    rows = [row for row in ledger.all(sa.select(t.visit).where(answered).order_by(
        t.visit.c.started_at, t.visit.c.id)) if not {row["id"], row["person_id"]} & void]
    last_answer = {row["person_id"]: row["research_use"] for row in rows}
    agreed = [row_mapping.visit_from(row) for row in rows if row["purpose"] == purpose
              and row["research_use"] == "yes" and last_answer[row["person_id"]] == "yes"]
    confirmed = {row["target_id"] for row in ledger.all(
        sa.select(t.amendment.c.target_id).where(t.amendment.c.action == "confirm_date"))}
    return tuple(visit for visit in agreed if not visit.date_doubted or visit.id in confirmed)


def _void(ledger: Ledger) -> set[UUID]:
    rows = ledger.all(sa.select(t.amendment).order_by(t.amendment.c.made_at, t.amendment.c.id))
    turned = {row["target_id"]: row["action"] for row in rows if row["action"] in ("void", "restore")}
    return {target for target, action in turned.items() if action == "void"}


def _moment(value: object) -> datetime:
    """SQLite gives the greatest moment back as the text in which it is kept."""
    return value if isinstance(value, datetime) else datetime.fromisoformat(str(value))
