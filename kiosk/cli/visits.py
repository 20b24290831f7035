"""Papers of a visit made again from the store: `kiosk report` and `kiosk leaflet`."""

import argparse
from pathlib import Path

from kiosk import __version__
from kiosk.app.conclusion import PAPER, Imprint, remake
from kiosk.app.leaflet import leaflet_of
from kiosk.app.site_texts import own_sentences, sentences_beside
from kiosk.base.errors import Refused
from kiosk.cli.composition import machine
from kiosk.cli.opening import opened
from kiosk.i18n.language import Language, load_language


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
