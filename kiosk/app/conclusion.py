"""From an archived visit to its scores, findings and page.

The same for a visit just ended and for one read back: everything is read from the archive, so a page made
again is the page that was made. Decision architecture-2.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from kiosk.base.errors import Refused
from kiosk.i18n.language import Language
from kiosk.pursuit.battery import Battery
from kiosk.report.page import render
from kiosk.report.sheet import Overflow
from kiosk.scoring.block import score_blocks
from kiosk.scoring.block_facts import block_facts
from kiosk.scoring.catalogue import SCORING_VERSION
from kiosk.scoring.score import score_trial
from kiosk.scoring.trial_scores import TrialScores
from kiosk.visits.archive import Archive, StoredReport, StoredTrial
from kiosk.visits.comparison import Seen, make_findings
from kiosk.visits.earlier import earlier_visits_from
from kiosk.visits.findings import Findings
from kiosk.visits.findings_json import findings_text
from kiosk.visits.rebuild import rebuild_findings, seen_from
from kiosk.visits.visit import Visit
from kiosk.wording.measures import trial_label
from kiosk.wording.page_parts import PageContent
from kiosk.wording.page_tag import page_tag
from kiosk.wording.page_words import page_content
from norms import Table

PATH_POINTS: Final = 240
PAPER: Final = "A4"
Points = NDArray[np.float64]


@dataclass(frozen=True)
class Imprint:
    """What stands on a page besides the visit: where and when it was made, and by which kiosk."""

    place: str
    kiosk_name: str
    app_version: str
    made_at: datetime
    audit_head: str = ""
    paper: str = PAPER


@dataclass(frozen=True)
class Conclusion:
    """A visit's findings, and its page in words and as PDF."""

    findings: Findings
    content: PageContent
    pdf: bytes
    report_id: UUID


@dataclass(frozen=True)
class ReferenceTable:
    """A reference table with the bytes of its folder, as the archive keeps it."""

    table: Table
    folder_zip: bytes


def conclude(archive: Archive, visit_id: UUID, battery: Battery, reference: ReferenceTable | None,
             language: Language, imprint: Imprint, new_id: Callable[[], UUID], *,
             compare_with: UUID | None = None, replaces: UUID | None = None) -> Conclusion:
    """Score, compare and print a visit that has ended, and keep score set, findings and page.

    compare_with: the earlier visit chosen, else the latest comparable; replaces: the page this one amends.
    Refused `page_too_full`: score set and findings are kept, the page is not.
    """
    visit = archive.visit(visit_id)
    score_set = _keep_scores(archive, visit, battery)
    seen = seen_from(archive, visit)
    person, device = archive.person(visit.person_id), archive.device(visit.device_id)
    table = None if reference is None else reference.table
    findings = make_findings(
        seen, person, device, table, earlier_visits_from(archive, visit), compare_with=compare_with
    )
    asked = _keep_table(archive, reference)
    findings_id = archive.add_findings(findings, score_set, asked, findings_text(findings))
    report_id = new_id()
    made = _page(archive, findings, seen, language, imprint, report_id)
    tag = page_tag(report_id)
    archive.add_report(StoredReport(report_id, findings_id, language.tag, imprint.paper, made.pdf, tag,
                                    replaces))
    return made


def remake(
    archive: Archive, visit: Visit, language: Language, imprint: Imprint, new_id: Callable[[], UUID]
) -> Conclusion:
    """The page of an archived visit again, by the table asked then; nothing is kept.

    The place is the one the visit keeps; the imprint's only where it keeps none.
    """
    imprint = replace(imprint, place=visit.intake.get("place", imprint.place))
    pages = archive.reports_of(visit.id)
    report_id = pages[-1].id if pages else new_id()
    findings = rebuild_findings(archive, visit.id)
    return _page(archive, findings, seen_from(archive, visit), language, imprint, report_id)


def _keep_scores(archive: Archive, visit: Visit, battery: Battery) -> UUID:
    observations = archive.observations_of(visit.id)
    trials = []
    for trial in archive.trials_of(visit.id):
        own = [one for one in observations if one.trial_id == trial.id]
        trials.append((trial, score_trial(trial.record, own)))
    planned = [(trial.record.plan, scores) for trial, scores in trials]
    blocks = [*score_blocks(planned, battery).values(), *block_facts(planned, battery).values()]
    by_id = [(trial.id, scores) for trial, scores in trials]
    return archive.add_scores(visit.id, SCORING_VERSION, by_id, blocks)


def _keep_table(archive: Archive, reference: ReferenceTable | None) -> str | None:
    if reference is None:
        return None
    table = reference.table
    archive.add_reference_table(table.sha256, table.name, table.version, table.status, reference.folder_zip)
    return table.sha256


def _page(
    archive: Archive, findings: Findings, seen: Seen, language: Language, imprint: Imprint, report_id: UUID
) -> Conclusion:
    visit = findings.visit
    content = page_content(
        findings,
        archive.person(visit.person_id),
        archive.device(visit.device_id),
        [_path(trial, language) for trial in last_attempts(seen)],
        language,
        made_at=imprint.made_at,
        place=imprint.place,
        page_tag=page_tag(report_id),
        report_id=report_id,
        kiosk_name=imprint.kiosk_name,
        app_version=imprint.app_version,
        audit_head=imprint.audit_head,
    )
    return Conclusion(findings, content, page_pdf(content, imprint.paper), report_id)


def page_pdf(content: PageContent, paper: str) -> bytes:
    """The page on its one sheet; Refused `page_too_full` where it would need another."""
    try:
        return render(content, paper)
    except Overflow as overflow:
        raise Refused("page_too_full", {"paper": paper}) from overflow


def last_attempts(seen: Seen) -> list[StoredTrial]:
    """The scored trials in order of testing, of a repeated one the attempt that counts."""
    counted: dict[tuple[str, str, int], tuple[StoredTrial, TrialScores]] = {}
    for trial, scores in seen.trials:
        plan = trial.record.plan
        place = (plan.block, plan.hand, plan.number)
        if plan.scored and (place not in counted or scores.validity.valid):
            counted[place] = (trial, scores)
    return [trial for trial, _ in sorted(counted.values(), key=lambda one: one[0].position)]


def _path(trial: StoredTrial, language: Language) -> tuple[str, Points, Points]:
    """Label, the disc's path and the hand's in the window; a lift breaks the hand's line."""
    plan, samples = trial.record.plan, trial.record.samples
    t_s = plan.run_in_s + np.linspace(0.0, plan.window_s, PATH_POINTS)
    inside = (samples.t_s >= plan.run_in_s) & (samples.t_s < plan.run_in_s + plan.window_s)
    hand = np.column_stack([samples.x_mm, samples.y_mm])[inside]
    hand[~samples.contact[inside]] = np.nan
    return trial_label(plan.block_name, plan.number, language), np.column_stack(plan.position(t_s)), hand
