"""Findings made again from what the archive keeps: by the table asked then, with the visit compared then.

What was corrected since (details of the person, scores, observations) counts.
"""

from json import loads
from uuid import UUID

from kiosk.base.errors import Refused
from kiosk.visits.archive import Archive, StoredFindings
from kiosk.visits.comparison import Seen, make_findings
from kiosk.visits.earlier import earlier_visits_from
from kiosk.visits.findings import Findings
from kiosk.visits.visit import Visit
from norms import Table, read_zip


def rebuild_findings(archive: Archive, visit_id: UUID) -> Findings:
    """The findings of a kept visit.

    Refused: unknown_visit; visit_not_scored where it has no scores.
    """
    visit = archive.visit(visit_id)
    scores, kept = archive.scores_of(visit_id), archive.findings_of(visit_id)
    if scores is None:
        raise Refused("visit_not_scored", {"visit": str(visit_id)})
    return make_findings(
        seen_from(archive, visit), archive.person(visit.person_id), archive.device(visit.device_id),
        _table(archive, kept), earlier_visits_from(archive, visit), scoring_version=scores.scoring_version,
        compare_with=_compared_with(kept))


def seen_from(archive: Archive, visit: Visit) -> Seen:
    """What a kept visit gave, with its latest scores; a trial without scores is left out.

    Refused `visit_not_scored` where it has no scores.
    """
    scores = archive.scores_of(visit.id)
    if scores is None:
        raise Refused("visit_not_scored", {"visit": str(visit.id)})
    trials = tuple((trial, scores.trials[trial.id]) for trial in archive.trials_of(visit.id)
                   if trial.id in scores.trials)
    return Seen(visit, archive.visit_end(visit.id), trials, scores.blocks, archive.observations_of(visit.id))


def _table(archive: Archive, kept: StoredFindings | None) -> Table | None:
    if kept is None or kept.reference_sha256 is None:
        return None
    return read_zip(archive.reference_table(kept.reference_sha256))


def _compared_with(kept: StoredFindings | None) -> UUID | None:
    compared = None if kept is None else loads(kept.content).get("compared_with")
    return None if compared is None else UUID(compared["visit_id"])
