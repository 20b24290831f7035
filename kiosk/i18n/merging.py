"""Bringing a catalogue up to date with the source: nothing that was translated is lost.

A message that is new is empty; one whose English changed a little keeps its old translation, marked fuzzy,
and is shown in English until a translator has looked at it; one that is said no more is kept at the end.
When every message is there again, the catalogue takes on the mark of the source; what was approved before
is then a draft of the next version, since nobody has reviewed the new words. Decision languages-6.
"""

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Catalog, Message
from babel.messages.plurals import get_plural

from kiosk.base.errors import Refused
from kiosk.i18n.adaptation import back_to_draft, new_record
from kiosk.i18n.catalogue_file import catalogue_path, forms_of, header, read_catalogue
from kiosk.i18n.extraction import SourceMessage, own_messages, revision
from kiosk.i18n.template import catalogue_text, source_catalogue

ALIKE = 0.75  # how like each other two English messages must be, 0 to 1


@dataclass(frozen=True)
class Merged:
    """What an update left: messages in all, those without words yet, those to be looked at again."""

    path: Path
    messages: int
    missing: int
    fuzzy: int


def update(tag: str, folder: Path, messages: tuple[SourceMessage, ...] | None = None) -> Merged:
    """Merge the source into the catalogue of a tag; a new catalogue where there is none."""
    messages = own_messages() if messages is None else messages
    path = catalogue_path(tag, folder)
    if not path.exists():
        _begin(tag, path)
    note, record = note_of(path), header(path)
    catalogue = read_catalogue(path)
    catalogue.update(source_catalogue(messages), no_fuzzy_matching=True)
    _offer_what_was_said_before(catalogue)
    missing, fuzzy = _missing(catalogue), sum(message.fuzzy for message in catalogue if message.id)
    if not missing and not fuzzy and record.get("X-Source-Revision") != revision(messages):
        record = {**back_to_draft(record), "X-Source-Revision": revision(messages)}
    path.write_text(catalogue_text(catalogue, record, note), "utf-8")
    return Merged(path, len(messages), missing, fuzzy)


def _offer_what_was_said_before(catalogue: Catalog) -> None:
    """A message without words gets its own of earlier, or, marked fuzzy, those of the most similar gone."""
    gone = {_said(old): (key, old) for key, old in catalogue.obsolete.items() if is_translated(old)}
    for message in catalogue:
        if not message.id or is_translated(message):
            continue
        for near in get_close_matches(_said(message), gone, n=1, cutoff=ALIKE):
            key, old = gone[near]
            message.string = old.string
            if near == _said(message):
                del catalogue.obsolete[key]
            else:
                message.previous_id = list(forms_of(old.id))
                message.flags.add("fuzzy")


def _said(message: Message) -> str:
    """Context and texts in one; the signs between keep a plural from looking like a single form."""
    return "\n\n\n\n".join((message.context or "", *forms_of(message.id)))


def _missing(catalogue: Catalog) -> int:
    return sum(not is_translated(message) for message in catalogue if message.id and not message.fuzzy)


def is_translated(message: Message) -> bool:
    """Whether every form of a message has words."""
    return all(forms_of(message.string))


def _begin(tag: str, path: Path) -> None:
    try:
        locale = Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError) as unknown:
        raise Refused("language_unknown", {"tag": tag}) from unknown
    record = new_record(tag, get_plural(locale).plural_forms)
    path.parent.mkdir(parents=True)
    path.write_text(catalogue_text(Catalog(), record, f"# {locale.english_name}\n"), "utf-8")


def note_of(path: Path) -> str:
    """The lines of comment above a catalogue's header."""
    lines = path.read_text("utf-8").splitlines(keepends=True)
    return "".join(lines[: next(n for n, line in enumerate(lines) if not line.startswith("#"))])
