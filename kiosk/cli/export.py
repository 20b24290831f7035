"""What leaves the store: `kiosk export all|VISIT --to sample|csv|bids|fhir`.

All: visits whose people agreed to research use, de-identified, for a site lead. One visit goes out as a FHIR
bundle alone: de-identified where the person agreed to research use, or with --identified for whoever may
read and sign pages. Beside an exported SAMPLE.csv stands SAMPLE.questions.json, the template of `kiosk norms
build` with the dates of testing and the languages filled in; the clinic answers the rest.
"""

import argparse
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from io import StringIO
from pathlib import Path

from kiosk import __version__
from kiosk.app.research_export import by_person, identity_of, one_visit, research_visits, visits_to_export
from kiosk.app.store_opening import Opened
from kiosk.base.errors import Refused, WrongUsage
from kiosk.cli.composition import machine
from kiosk.cli.opening import opened
from kiosk.cli.progress import with_progress
from kiosk.exchange.bids import write_bids
from kiosk.exchange.fhir import Release, visit_bundle, write_bundles
from kiosk.exchange.new_folder import json_text
from kiosk.exchange.research_package import write_package
from kiosk.exchange.research_rows import ResearchVisit
from kiosk.exchange.sample_csv import SampleCount, SampleVisit, write_header, write_person
from kiosk.i18n.language import Language
from kiosk.storage.accounts import require
from kiosk.storage.key_file import write_private
from kiosk.storage.store import Store
from kiosk.visits.earlier import local_date
from kiosk.visits.visit import Visit
from kiosk.wording.store_words import left_out_line
from norms.build.template import QUESTIONS

ALL = "all"


def export(chosen: argparse.Namespace, language: Language) -> int:
    """All visits for research, or one visit as a FHIR bundle."""
    if chosen.what != ALL:
        return _export_one(chosen, language)
    if chosen.identified:
        raise WrongUsage("identified_is_for_one_visit", {})
    this = opened(chosen, language)
    require(this.account, "site_lead")
    if chosen.to == "sample":
        return _export_sample(this, chosen, language)
    return _export_research(this, chosen, language)


def _export_one(chosen: argparse.Namespace, language: Language) -> int:
    if chosen.to != "fhir":
        raise WrongUsage("one_visit_goes_out_as_fhir", {"to": chosen.to})
    this = opened(chosen, language)
    require(this.account, "interpret" if chosen.identified else "site_lead")
    visit = this.store.find_visit(chosen.what)
    if chosen.identified:
        told, identity = one_visit(this.store, visit), identity_of(this.store, visit)
    else:
        told, identity = _for_research(this.store, visit, chosen.what, language), None
    bundle = visit_bundle(told, chosen.release, identity)
    write_private(chosen.out, json_text(bundle))
    action = "export_visit_identified" if chosen.identified else "export_visit"
    _note(this, action, "package", str(visit.id))
    print(language.say("The visit is in %(file)s.", file=chosen.out.name))
    return 0


def _for_research(store: Store, visit: Visit, named: str, language: Language) -> ResearchVisit:
    """One visit as it leaves among all: of a person who agreed, and not where the age tells who it is."""
    if visit not in research_visits(store):
        raise Refused("not_agreed_to_research", {"visit": named})
    left_out: Counter[str] = Counter()
    found = next(visits_to_export(store, [visit], left_out), None)
    if found is None:
        _say_left_out(left_out, language)
        raise Refused("nothing_for_research", {})
    return found


def _export_research(this: Opened, chosen: argparse.Namespace, language: Language) -> int:
    """The archive visit by visit, with a line of progress."""
    visits = research_visits(this.store)
    left_out: Counter[str] = Counter()
    exported = visits_to_export(this.store, visits, left_out)
    found = with_progress(exported, len(visits), language, machine().now)
    count, people = _write(chosen.to, found, chosen.out, chosen.release)
    _note(this, "export_package", "package", chosen.out.name)
    print(language.say("%(visits)s visits of %(people)s people are in %(folder)s.", visits=count,
                       people=people, folder=chosen.out.name))
    _say_left_out(left_out, language)
    return 0


def _write(kind: str, found: Iterator[ResearchVisit], out: Path, release: Release) -> tuple[int, int]:
    """How many visits of how many people were written."""
    if kind == "csv":
        contents = write_package(found, out, __version__)
        return contents.visits, contents.people
    return write_bids(found, out, __version__) if kind == "bids" else write_bundles(found, out, release)


def _say_left_out(left_out: Mapping[str, int], language: Language) -> None:
    for code, count in left_out.items():
        print(left_out_line(code, count, language))


def _note(this: Opened, action: str, kind: str, what: str) -> None:
    with this.store.ledger.writing() as writing:
        writing.note_of(action, kind, what)


def _export_sample(this: Opened, chosen: argparse.Namespace, language: Language) -> int:
    out, written, visits = StringIO(), SampleCount(0, 0, {}), research_visits(this.store)
    write_header(out)
    for number, of_person in enumerate(by_person(visits), start=1):
        write_person(
            this.store.person(of_person[0].person_id), number, _scored(this.store, of_person), out, written
        )
    if not written.lines:
        raise Refused("nothing_for_research", {})
    write_private(chosen.out, out.getvalue())
    write_private(chosen.out.with_suffix(".questions.json"), questions(visits))
    _note(this, "export_sample", "sample", chosen.out.name)
    _tell(written, chosen.out, language)
    return 0


def questions(visits: Iterable[Visit]) -> str:
    """The template file, with what the visits themselves say."""
    days = sorted(local_date(visit).isoformat() for visit in visits)
    asked = {**QUESTIONS}
    reference = asked["reference_table"]
    known = {
        "tested_from": days[0],
        "tested_to": days[-1],
        "languages": sorted({visit.language for visit in visits}),
    }
    asked["reference_table"] = {**(reference if isinstance(reference, dict) else {}), **known}
    return json_text(asked)


def _scored(store: Store, visits: Iterable[Visit]) -> list[SampleVisit]:
    found = []
    for visit in visits:
        scores = store.scores_of(visit.id)
        found.append(
            SampleVisit(visit, store.device(visit.device_id).device_class,
                        scores.scoring_version if scores else 0, scores.blocks if scores else {})
        )
    return found


def _tell(written: SampleCount, out: Path, language: Language) -> None:
    print(
        language.say("%(lines)s lines of %(people)s people are in %(file)s.", lines=written.lines,
                     people=written.people, file=out.name)
    )
    _say_left_out(written.left_out, language)
