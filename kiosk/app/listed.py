"""What the archive answers staff's lists: today's persons, earlier visits, intake of last time, tables."""

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Final
from uuid import UUID

from kiosk.app.conclusion import ReferenceTable
from kiosk.staff.intake import OPTIONS, TABLET
from kiosk.staff.observations import Tile
from kiosk.staff.results import VisitRow
from kiosk.staff.tables import TableRow
from kiosk.staff.today import TodayRow, VisitState
from kiosk.visits.archive import StoredTrial
from kiosk.visits.earlier import ScoredVisit, earlier_visits_from, incomparable
from kiosk.visits.person import Person
from kiosk.visits.staff_archive import StaffArchive
from kiosk.visits.visit import Visit
from norms import Table, TableFaults, pack_folder, read_folder, read_zip

SYNTHETIC: Final = "synthetic"


def today_rows(archive: StaffArchive, now_local: datetime) -> tuple[TodayRow, ...]:
    """Everyone seen or added today, the latest first; one row a person."""
    midnight = now_local.replace(hour=0, minute=0, second=0, microsecond=0).astimezone(UTC)
    rows: dict[UUID, TodayRow] = {}
    for person in archive.people_since(midnight):
        rows[person.id] = TodayRow(person.id, None, person.code, person.birth_date, "ready")
    for visit in archive.visits_since(midnight):
        person = archive.person(visit.person_id)
        rows.pop(person.id, None)
        rows[person.id] = TodayRow(person.id, visit.id, person.code, person.birth_date,
                                   visit_state(archive, visit.id))
    return tuple(reversed(rows.values()))


def visit_state(archive: StaffArchive, visit_id: UUID) -> VisitState:
    if archive.is_void(visit_id):
        return "void"
    if archive.visit_end(visit_id) is None:
        return "in_progress"
    reports = archive.reports_of(visit_id)
    if not reports:
        return "not_concluded"
    if archive.sign_off_of(reports[-1].id) is not None:
        return "reviewed"
    return "not_reviewed" if archive.was_put_out(reports[-1].id) else "not_printed"


def left_open(archive: StaffArchive, person_id: UUID) -> UUID | None:
    """The person's visit that has not ended, None where all have."""
    waiting = [visit.id for visit in archive.visits_of(person_id)
               if archive.visit_end(visit.id) is None and not archive.is_void(visit.id)]
    return waiting[-1] if waiting else None


def last_answers(archive: StaffArchive, person: Person) -> Mapping[str, str]:
    """What intake answered at the person's latest visit; nothing at the first."""
    visits = archive.visits_of(person.id)
    if not visits:
        return {}
    last = visits[-1]
    said = {**last.intake, "tool_hand": last.intake.get("tool_hand", person.tool_hand),
            "preferred_hand": last.preferred_hand, "hands_today": last.hands_today,
            "hands_reason": last.hands_reason, "language": last.language, "delivery": last.delivery,
            "purpose": last.purpose, "research_use": last.research_use, "sex": person.sex}
    return {name: value for name, value in said.items() if name in OPTIONS and value}


def tablet_answers(archive: StaffArchive, device_id: UUID) -> Mapping[str, str]:
    """How the tablet stood at its last visit, where that was asked; nothing before its first."""
    last = archive.newest_visit_on(device_id)
    said = {} if last is None else {"placement": last.placement, **last.intake}
    return {name: said[name] for name in TABLET if said.get(name) in OPTIONS[name]}


def tiles_of(trials: tuple[StoredTrial, ...]) -> tuple[Tile, ...]:
    """One tile a trial, the practice too."""
    return tuple(Tile(one.id, one.record.plan.block_name, one.record.plan.number, one.record.plan.attempt)
                 for one in trials)


def earlier_rows(archive: StaffArchive, visit: Visit, device_class: str,
                 chosen: UUID | None) -> tuple[VisitRow, ...]:
    """The earlier visits, newest first, and which can be compared."""
    scores = archive.scores_of(visit.id)
    if scores is None:
        return ()
    today = ScoredVisit(visit, scores.scoring_version, device_class, scores.blocks)
    used = table_in_use(archive)
    table = None if used is None else used.table
    return tuple(VisitRow(one.visit.id, one.number, one.visit.started_at, one.visit.id == chosen,
                            incomparable(one, today, table) is None)
                 for one in reversed(earlier_visits_from(archive, visit)))


def ended_visits(archive: StaffArchive, person: Person) -> tuple[VisitRow, ...]:
    """The person's visits that have ended, newest first."""
    numbered = enumerate(archive.visits_of(person.id), start=1)
    rows = [VisitRow(one.id, number, one.started_at) for number, one in numbered
            if archive.visit_end(one.id) is not None]
    return tuple(reversed(rows))


def table_in_use(archive: StaffArchive) -> ReferenceTable | None:
    """The real reference table kept last, None where none was loaded."""
    real = [one for one in archive.reference_tables() if one.status != SYNTHETIC]
    if not real:
        return None
    folder_zip = archive.reference_table(real[-1].sha256)
    return ReferenceTable(read_zip(folder_zip), folder_zip)


def table_rows(folder: Path, used: ReferenceTable | None) -> tuple[TableRow, ...]:
    """The table in use first, then the folders that hold a table."""
    rows = [] if used is None else [_row(used.table, "", in_use=True)]
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        try:
            table = read_folder(path)
        except (TableFaults, OSError):
            continue
        if used is None or table.sha256 != used.table.sha256:
            rows.append(_row(table, path.name))
    return tuple(rows)


def load_table(folder: Path) -> ReferenceTable:
    return ReferenceTable(read_folder(folder), pack_folder(folder))


def needed_by(table: ReferenceTable | None) -> tuple[str, ...]:
    """What intake asks only because the table's rows differ by it."""
    sexes = set() if table is None else {row.sex for row in table.table.rows}
    return ("sex",) if sexes - {"any"} else ()


def _row(table: Table, folder: str, in_use: bool = False) -> TableRow:
    tested = f"{table.tested_from}–{table.tested_to}"
    return TableRow(table.name, table.version, table.title, table.status, tested, in_use, folder)
