"""`kiosk leaflet VISIT`: the half page that a person takes home, made from the store."""

import argparse
from pathlib import Path

from kiosk.app.leaflet import leaflet_of
from kiosk.app.site_texts import own_sentences, sentences_beside
from kiosk.base.errors import Refused
from kiosk.cli.argument_values import PAPERS
from kiosk.cli.store import opened, sign_in_options
from kiosk.i18n.language import Language, load_language


def leaflet_options(parser: argparse.ArgumentParser) -> None:
    """`leaflet`."""
    parser.add_argument("visit", metavar="VISIT")
    parser.add_argument("--out", type=Path, metavar="FILE")
    parser.add_argument("--place", default="", metavar="NAME")
    parser.add_argument("--paper", default=PAPERS[0], choices=PAPERS)
    sign_in_options(parser, _leaflet)


def _leaflet(chosen: argparse.Namespace, language: Language) -> int:
    """In the language of the visit; --place is for a visit that does not keep where it was."""
    archive = opened(chosen, language, read_only=True).store
    visit = archive.find_visit(chosen.visit)
    rights = own_sentences(sentences_beside(chosen.store))
    made = leaflet_of(archive, visit, load_language(visit.language), chosen.place, rights, chosen.paper)
    out = chosen.out or Path(f"{made.words.page_tag}-leaflet.pdf")
    try:
        out.write_bytes(made.pdf)
    except OSError as fault:
        raise Refused("cannot_write", {"file": out.name, "why": fault.strerror or "no access"}) from fault
    print(language.say("Leaflet saved: %(file)s", file=out))
    return 0
