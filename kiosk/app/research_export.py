"""From the archive to what may leave for research: visit by visit, de-identified, of people who agreed."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from uuid import UUID

from kiosk.exchange.fhir import Identity
from kiosk.exchange.research_rows import CAPPED_AT_YEARS, ResearchVisit
from kiosk.storage.data_subject_rights import RESEARCH, visits_for_research
from kiosk.storage.store import Store
from kiosk.visits.earlier import days_between, local_date
from kiosk.visits.person import Person
from kiosk.visits.visit import Visit
from norms import age_on


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
            age_years = age_on(person.birth_date, local_date(visit)).years if person.birth_date else None
            if age_years is None or age_years >= CAPPED_AT_YEARS:
                left_out["age_not_known" if age_years is None else "age_tells_who"] += 1
                continue
            yield _to_export(store, person, f"P{number:05d}", visit, of_person[0], age_years)


def one_visit(store: Store, visit: Visit) -> ResearchVisit:
    """One visit by itself, under the first running code; its age is NaN where no birth date is known."""
    person, age_years = store.person(visit.person_id), float("nan")
    if person.birth_date:
        age_years = age_on(person.birth_date, local_date(visit)).years
    return _to_export(store, person, "P00001", visit, visit, age_years)


def identity_of(store: Store, visit: Visit) -> Identity:
    """What an identified bundle tells: code, year of birth, the visit's moment, and its newest page."""
    person, pages = store.person(visit.person_id), store.reports_of(visit.id)
    return Identity(
        person.code, person.birth_date[:4], visit.started_at.isoformat(),
        pages[-1].pdf if pages else None, pages[-1].language if pages else visit.language)


def _to_export(
    store: Store, person: Person, code: str, visit: Visit, first: Visit, age: float
) -> ResearchVisit:
    return ResearchVisit(
        person=code, visit=visit, age_years=age, sex=person.sex, education_years=person.education_years,
        day=0.0 if visit.id == first.id else days_between(first, visit),
        device_class=store.device(visit.device_id).device_class, end=store.visit_end(visit.id),
        trials=store.trials_of(visit.id), scores=store.scores_of(visit.id), judged=_judged(store, visit),
        observations=store.observations_of(visit.id))


def _judged(store: Store, visit: Visit) -> Mapping[str, object]:
    kept = store.findings_of(visit.id)
    content: Mapping[str, object] = {} if kept is None else json.loads(kept.content)
    return content
