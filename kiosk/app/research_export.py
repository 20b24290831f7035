"""From the archive to what may leave for research: visit by visit, de-identified, of people who agreed."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from math import nan
from uuid import UUID

from kiosk.exchange.deidentification import age_at, day_since, running_code, why_left_out
from kiosk.exchange.fhir import Identity
from kiosk.exchange.research_rows import ResearchVisit
from kiosk.storage.data_subject_rights import RESEARCH, visits_for_research
from kiosk.storage.store import Store
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit


def research_visits(store: Store) -> list[Visit]:
    """Visits of both research purposes whose person agreed, oldest first."""
    found = [visit for purpose in RESEARCH for visit in visits_for_research(store.ledger, purpose)]
    return sorted(found, key=lambda visit: (visit.started_at, visit.id))


def by_person(visits: Iterable[Visit]) -> list[list[Visit]]:
    """The visits of each person, in the order of their first."""
    grouped: dict[UUID, list[Visit]] = {}
    for visit in visits:
        grouped.setdefault(visit.person_id, []).append(visit)
    return list(grouped.values())


def visits_to_export(
    store: Store, visits: Iterable[Visit], left_out: Counter[str]
) -> Iterator[ResearchVisit]:
    """Each visit with all its rows, read when it is asked for; left_out counts why others are not given."""
    for number, of_person in enumerate(by_person(visits), start=1):
        person = store.person(of_person[0].person_id)
        for visit in of_person:
            reason = why_left_out(age_at(person, visit))
            if reason is None:
                yield _to_export(store, person, running_code(number), visit, of_person[0])
            else:
                left_out[reason] += 1


def one_visit(store: Store, visit: Visit) -> ResearchVisit:
    """One visit by itself, under the first running code, whatever the person's age."""
    return _to_export(store, store.person(visit.person_id), running_code(1), visit, visit)


def identity_of(store: Store, visit: Visit) -> Identity:
    """What an identified bundle tells: code, year of birth, the visit's moment, and its newest page."""
    person, pages = store.person(visit.person_id), store.reports_of(visit.id)
    return Identity(
        person.code, person.birth_date[:4], visit.started_at.isoformat(),
        pages[-1].pdf if pages else None, pages[-1].language if pages else visit.language)


def _to_export(store: Store, person: Person, code: str, visit: Visit, first: Visit) -> ResearchVisit:
    """The visit with all its rows; its age is NaN where no birth date is known."""
    age_years = age_at(person, visit)
    return ResearchVisit(
        person=code, visit=visit, age_years=nan if age_years is None else age_years, sex=person.sex,
        education_years=person.education_years,
        day=day_since(first, visit),
        device_class=store.device(visit.device_id).device_class, end=store.visit_end(visit.id),
        trials=store.trials_of(visit.id), scores=store.scores_of(visit.id), judged=_judged(store, visit),
        observations=store.observations_of(visit.id))


def _judged(store: Store, visit: Visit) -> Mapping[str, object]:
    kept = store.findings_of(visit.id)
    content: Mapping[str, object] = {} if kept is None else json.loads(kept.content)
    return content
