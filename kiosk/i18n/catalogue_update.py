"""The template (locales/kiosk.pot), and updating a catalogue to it without losing any translation.

The template has the source's messages in the order of the modules, without lines or dates, so that the same
messages give the same bytes. Its header has the revision of the source.

Updating: a new message is empty; one whose English changed a little keeps its old translation, marked fuzzy,
and is shown in English until a translator has looked at it; one that is no longer in the source is kept at
the end. Once every message is there again, the catalogue takes over the revision of the source; what was
approved before is then a draft of the next version, since nobody has reviewed the new words.

Decision languages-6.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from io import BytesIO
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Catalog, Message
from babel.messages.plurals import get_plural
from babel.messages.pofile import write_po

from kiosk.base.errors import Refused
from kiosk.i18n.adaptation import back_to_draft, new_record
from kiosk.i18n.catalogue_file import ENCODING, catalogue_path, forms_of, header, read_catalogue
from kiosk.i18n.extraction import SourceMessage, own_messages, revision

TEMPLATE = "kiosk.pot"
WIDTH = 100
_NOTE = """# Messages of the pursuit kiosk. Made by `languages template`; do not edit.
# Keep every %(name)s as it stands. Short sentences for the person: at most 63 characters where the
# English has no more. Never an ordinal number; digits are 0 to 9.
"""


def template_text(messages: tuple[SourceMessage, ...] | None = None) -> str:
    """The template's text, from the package's own source unless messages are given."""
    messages = own_messages() if messages is None else messages
    fields = {"Project-Id-Version": "pursuit-kiosk", **ENCODING, "X-Source-Revision": revision(messages)}
    return catalogue_text(source_catalogue(messages), fields, _NOTE)


def write_template(folder: Path) -> Path:
    path = folder / TEMPLATE
    path.write_text(template_text(), "utf-8")
    return path


def source_catalogue(messages: tuple[SourceMessage, ...]) -> Catalog:
    """The messages as an empty catalogue."""
    catalogue = Catalog(fuzzy=False)
    for message in messages:
        catalogue.add((message.one, message.many) if message.many else message.one,
                      context=message.context or None, locations=[(file, 0) for file in message.files])
    return catalogue


def catalogue_text(catalogue: Catalog, fields: Mapping[str, str], note: str) -> str:
    """A catalogue as a file holds it: its note, its header with every field given, its messages."""
    body = BytesIO()
    write_po(body, catalogue, width=WIDTH, omit_header=True, include_lineno=False, include_previous=True)
    head = "".join(f'"{name}: {value}\\n"\n' for name, value in fields.items())
    return f'{note}msgid ""\nmsgstr ""\n{head}\n{body.getvalue().decode("utf-8").strip()}\n'


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
