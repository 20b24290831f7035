"""From an archived visit to the person's leaflet: the same bytes for the same visit, place and sentences.

It needs the visit's page, whose tag it bears, and nothing that the page says.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from kiosk.app.conclusion import PAPER
from kiosk.base.errors import Refused
from kiosk.i18n.language import Language
from kiosk.report import leaflet
from kiosk.report.sheet import Overflow
from kiosk.visits.archive import Archive
from kiosk.visits.earlier import local_date
from kiosk.visits.visit import Visit
from kiosk.wording.leaflet_words import LeafletWords, leaflet_words


@dataclass(frozen=True)
class Leaflet:
    """The leaflet in words and as PDF, and the page it belongs to."""

    report_id: UUID
    words: LeafletWords
    pdf: bytes


def leaflet_of(archive: Archive, visit: Visit, language: Language, place: str,
               rights: Mapping[str, str], paper: str = PAPER) -> Leaflet:
    """The leaflet of a visit, in the language the person was instructed in.

    place: where the visit keeps none; rights: the site's own last sentence by language. Refused:
    `visit_not_scored` where it has no page yet, `leaflet_too_long`, `characters_not_in_font`.
    """
    pages = archive.reports_of(visit.id)
    if not pages:
        raise Refused("visit_not_scored", {"visit": str(visit.id)})
    where, own = visit.intake.get("place", place), rights.get(language.tag, "")
    words = leaflet_words(local_date(visit), where, pages[-1].page_tag, language, own)
    try:
        return Leaflet(pages[-1].id, words, leaflet.leaflet(words, paper))
    except Overflow as overflow:
        raise Refused("leaflet_too_long") from overflow
