"""`kiosk export all --to sample`: the reference and retest visits of those who agreed, for building a table.

Beside SAMPLE.csv stands SAMPLE.questions.json, the template of `kiosk norms build` with the dates of testing
and the languages filled in; the clinic answers the rest.
"""

import argparse
import json
from collections.abc import Iterable
from io import StringIO
from pathlib import Path
from uuid import UUID

from kiosk.base.errors import Refused
from kiosk.cli.store import opened, sign_in_options
from kiosk.exchange.sample_csv import SampleVisit, Written, write_header, write_person
from kiosk.i18n.language import Language
from kiosk.storage.key_file import write_private
from kiosk.storage.rights import RESEARCH, visits_for_research
from kiosk.storage.staff import require
from kiosk.storage.store import Store
from kiosk.visits.earlier import local_date
from kiosk.visits.visit import Visit
from kiosk.wording.store_words import left_out_line
from norms.build.template import QUESTIONS


def export_options(parser: argparse.ArgumentParser) -> None:
    """`export`."""
    parser.add_argument("what", choices=("all",), metavar="all")
    parser.add_argument("--to", choices=("sample",), required=True)
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.csv")
    sign_in_options(parser, _export)


def _export(chosen: argparse.Namespace, language: Language) -> int:
    this = opened(chosen, language)
    require(this.account, "site_lead")
    out, written, visits = StringIO(), Written(0, 0, {}), research_visits(this.store)
    write_header(out)
    for number, of_person in enumerate(_by_person(visits), start=1):
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


def research_visits(store: Store) -> list[Visit]:
    """Visits of both purposes whose person agreed, oldest first."""
    found = [visit for purpose in RESEARCH for visit in visits_for_research(store.ledger, purpose)]
    return sorted(found, key=lambda visit: (visit.started_at, visit.id))


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


def _by_person(visits: Iterable[Visit]) -> Iterable[list[Visit]]:
    grouped: dict[UUID, list[Visit]] = {}
    for visit in visits:
        grouped.setdefault(visit.person_id, []).append(visit)
    return grouped.values()


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
