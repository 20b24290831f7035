"""Guards of the store: rows are never changed, and removed only under an erasure permit of their person.

A permit is a row of erasure_permit that stands while a person's rows are removed, children first, in one
transaction. Rows that belong to no person (staff, devices, tables, audit) are never removed. INSERT OR
REPLACE meets the same guards, as the engine runs with recursive triggers.
"""

from collections.abc import Iterator
from typing import Final

from kiosk.storage.tables import MUTABLE, metadata

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
"""The person an immutable row belongs to, as SQL over the row about to go."""


def sqlite_triggers() -> Iterator[str]:
    """The statements that guard every immutable table."""
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
