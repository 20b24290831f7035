"""What leaves the store about visits: `kiosk report`, `leaflet`, and `export all --to sample`.

Beside an exported SAMPLE.csv stands SAMPLE.questions.json, the template of `kiosk norms build` with the dates
of testing and the languages filled in; the clinic answers the rest.
"""

import argparse
import json
from collections import Counter
from collections.abc import Iterable
from io import StringIO
from pathlib import Path

from kiosk import __version__
from kiosk.app.conclusion import PAPER, Imprint, remake
from kiosk.app.leaflet import leaflet_of
from kiosk.app.research_export import by_person, research_visits, visits_to_export
from kiosk.app.site_texts import own_sentences, sentences_beside
from kiosk.app.store_opening import Opened
from kiosk.base.errors import Refused
from kiosk.cli.composition import machine
from kiosk.cli.opening import opened
from kiosk.cli.progress import with_progress
from kiosk.exchange.research_package import write_package
from kiosk.exchange.sample_csv import SampleVisit, Written, write_header, write_person
from kiosk.i18n.language import Language, load_language
from kiosk.storage.accounts import require
from kiosk.storage.key_file import write_private
from kiosk.storage.store import Store
from kiosk.visits.earlier import local_date
from kiosk.visits.visit import Visit
from kiosk.wording.store_words import left_out_line
from norms.build.template import QUESTIONS


def report(chosen: argparse.Namespace, language: Language) -> int:
    """The page of a visit (id or page tag) made again, on its own paper where none is named.

    --place is for a visit that does not keep where it was.
    """
    page_language = load_language(chosen.language)
    archive = opened(chosen, language, read_only=True).store
    visit, here = archive.find_visit(chosen.visit), machine()
    kept = archive.reports_of(visit.id)
    paper = chosen.paper or (kept[-1].paper if kept else PAPER)
    imprint = Imprint(chosen.place, archive.kiosk_id, __version__, here.now(), archive.audit_head(), paper)
    made = remake(archive, visit, page_language, imprint, here.new_id)
    out = chosen.out or Path(f"{made.content.page_tag}.pdf")
    _save(made.pdf, out)
    print(language.say("Page saved: %(file)s", file=out))
    return 0


def leaflet(chosen: argparse.Namespace, language: Language) -> int:
    """In the language of the visit; --place is for a visit that does not keep where it was."""
    archive = opened(chosen, language, read_only=True).store
    visit = archive.find_visit(chosen.visit)
    rights = own_sentences(sentences_beside(chosen.store))
    made = leaflet_of(archive, visit, load_language(visit.language), chosen.place, rights, chosen.paper)
    out = chosen.out or Path(f"{made.words.page_tag}-leaflet.pdf")
    _save(made.pdf, out)
    print(language.say("Leaflet saved: %(file)s", file=out))
    return 0


def _save(pdf: bytes, place: Path) -> None:
    try:
        place.write_bytes(pdf)
    except OSError as fault:
        raise Refused("cannot_write", {"file": place.name, "why": fault.strerror or "no access"}) from fault


def export(chosen: argparse.Namespace, language: Language) -> int:
    """Visits whose people agreed to research use: a sample for a reference table, or a research package."""
    this = opened(chosen, language)
    require(this.account, "site_lead")
    return {"sample": _export_sample, "csv": _export_package}[chosen.to](this, chosen, language)


def _export_package(this: Opened, chosen: argparse.Namespace, language: Language) -> int:
    """The whole archive as a Data Package, written visit by visit with a line of progress."""
    visits = research_visits(this.store)
    left_out: Counter[str] = Counter()
    exported = visits_to_export(this.store, visits, left_out)
    found = with_progress(exported, len(visits), language, machine().now)
    contents = write_package(found, chosen.out, __version__)
    with this.store.ledger.writing() as writing:
        writing.note_of("export_package", "package", chosen.out.name)
    print(language.say("%(visits)s visits of %(people)s people are in %(folder)s.", visits=contents.visits,
                       people=contents.people, folder=chosen.out.name))
    for code, count in left_out.items():
        print(left_out_line(code, count, language))
    return 0


def _export_sample(this: Opened, chosen: argparse.Namespace, language: Language) -> int:
    out, written, visits = StringIO(), Written(0, 0, {}), research_visits(this.store)
    write_header(out)
    for number, of_person in enumerate(by_person(visits), start=1):
        write_person(
            this.store.person(of_person[0].person_id), number, _scored(this.store, of_person), out, written
        )
    if not written.lines:
        raise Refused("nothing_for_research", {})
    write_private(chosen.out, out.getvalue())
    write_private(chosen.out.with_suffix(".questions.json"), questions(visits))
    with this.store.ledger.writing() as writing:
        writing.note_of("export_sample", "sample", chosen.out.name)
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
    return json.dumps(asked, indent=1, ensure_ascii=False) + "\n"


def _scored(store: Store, visits: Iterable[Visit]) -> list[SampleVisit]:
    found = []
    for visit in visits:
        scores = store.scores_of(visit.id)
        found.append(
            SampleVisit(
                visit,
                store.device(visit.device_id).device_class,
                scores.scoring_version if scores else 0,
                scores.blocks if scores else {},
            )
        )
    return found


def _tell(written: Written, out: Path, language: Language) -> None:
    print(
        language.say(
            "%(lines)s lines of %(people)s people are in %(file)s.",
            lines=written.lines,
            people=written.people,
            file=out.name,
        )
    )
    for code, count in written.left_out.items():
        print(left_out_line(code, count, language))
